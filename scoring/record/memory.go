package record

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"maps"
	"slices"
	"strings"
	"sync"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// Memory is a book that is gone when the program ends: for tests, and for
// trying the trainer without leaving a trace.
type Memory struct {
	mu       sync.RWMutex
	learners map[scoring.LearnerID]scoring.Learner
	sheets   map[string]*tabs.Sheet
	sittings map[scoring.SittingID]*memorySitting
	panels   []Panel
	forms    []Form
	classes  map[scoring.ClassID]*memoryClass
	doors    memoryDoors

	former map[scoring.LearnerID]scoring.LearnerID // who has that identifier now; empty for nobody
	deeds  []Deed

	assignments []scoring.Assignment         // by number
	numbers     map[int]scoring.AssignmentID // every one that was ever given
}

type memorySitting struct {
	scoring.Sitting
	attempts []scoring.Attempt // by ordinal
}

var _ Store = (*Memory)(nil)

// NewMemory returns an empty book.
func NewMemory() *Memory {
	return &Memory{
		learners: map[scoring.LearnerID]scoring.Learner{},
		sheets:   map[string]*tabs.Sheet{},
		sittings: map[scoring.SittingID]*memorySitting{},
		classes:  map[scoring.ClassID]*memoryClass{},
		numbers:  map[int]scoring.AssignmentID{},
		former:   map[scoring.LearnerID]scoring.LearnerID{},
		doors:    newDoors(),
	}
}

// ID is the same for every book in memory: none outlives its program.
func (m *Memory) ID() string { return "memory" }

// Whole is always so: nobody else can reach the memory.
func (m *Memory) Whole(context.Context, Filter) error { return nil }

// Chains computes the chains anew: nobody else can reach the memory.
func (m *Memory) Chains(_ context.Context, f Filter) iter.Seq2[Chain, error] {
	return func(yield func(Chain, error) bool) {
		m.mu.RLock()
		var list []Chain
		for _, s := range m.ordered(f) {
			list = append(list, ChainOf(s.Sitting, s.attempts))
		}
		m.mu.RUnlock()
		for _, c := range list {
			if !yield(c, nil) {
				return
			}
		}
	}
}

// Close does nothing.
func (m *Memory) Close() error { return nil }

func (m *Memory) AddLearner(_ context.Context, l scoring.Learner) (scoring.Learner, error) {
	l, err := CheckLearner(l)
	if err != nil {
		return l, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, err := m.who(l.ID); err == nil {
		return l, fmt.Errorf("learner %s: %w", l.ID, ErrTaken)
	} else if errors.Is(err, ErrErased) {
		return l, err
	}
	if err := m.clashes(l); err != nil {
		return l, err
	}
	m.learners[l.ID] = l
	return l, nil
}

func (m *Memory) Learners(context.Context) ([]scoring.Learner, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	var list []scoring.Learner
	for _, l := range m.learners {
		list = append(list, l)
	}
	byName(list)
	return list, nil
}

func (m *Memory) Learner(_ context.Context, id scoring.LearnerID) (scoring.Learner, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	return m.who(id)
}

func (m *Memory) PutSheet(_ context.Context, s *tabs.Sheet) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.sheets[s.Fingerprint()] = s
	return nil
}

func (m *Memory) Sheet(_ context.Context, fingerprint string) (*tabs.Sheet, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	s, ok := m.sheets[fingerprint]
	if !ok {
		return nil, fmt.Errorf("sheet %s: %w", fingerprint, ErrNotFound)
	}
	return s, nil
}

func (m *Memory) StartSitting(_ context.Context, s scoring.Sitting) error {
	s, err := CheckSitting(s)
	if err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	who, err := m.who(s.Learner)
	if err != nil {
		return err
	}
	s.Learner = who.ID
	if _, ok := m.sheets[s.Setup.SheetID]; !ok && s.Setup.SheetID != "" {
		return fmt.Errorf("sheet %s: %w", s.Setup.SheetID, ErrNotFound)
	}
	if _, taken := m.sittings[s.ID]; taken {
		return fmt.Errorf("sitting %s: %w", s.ID, ErrTaken)
	}
	s.Origin = Here(s.Origin, m.ID(), who.Simulated)
	m.sittings[s.ID] = &memorySitting{Sitting: cloneSitting(s)}
	return nil
}

func (m *Memory) EndSitting(_ context.Context, id scoring.SittingID, at time.Time, left bool) error {
	if err := CheckMoment("the end of a sitting", at); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	s, ok := m.sittings[id]
	if !ok {
		return fmt.Errorf("sitting %s: %w", id, ErrNotFound)
	}
	if s.Ended.IsZero() {
		s.Ended, s.Left = moment(at), left
	}
	return nil
}

func (m *Memory) Sitting(_ context.Context, id scoring.SittingID) (scoring.Sitting, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	s, ok := m.sittings[id]
	if !ok {
		return scoring.Sitting{}, fmt.Errorf("sitting %s: %w", id, ErrNotFound)
	}
	return cloneSitting(s.Sitting), nil
}

func (m *Memory) Sittings(_ context.Context, f Filter) ([]scoring.Sitting, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	var list []scoring.Sitting
	for _, s := range m.ordered(f) {
		if f.Kind != "" && string(s.Setup.Kind) != f.Kind || !f.takes(s.Started) {
			continue
		}
		c := cloneSitting(s.Sitting)
		c.Setup.Experience = nil
		list = append(list, c)
	}
	return list, nil
}

// ordered lists the sittings that the filter takes, but for kind and time.
func (m *Memory) ordered(f Filter) []*memorySitting {
	if l, err := m.who(f.Learner); err == nil {
		f.Learner = l.ID
	}
	var list []*memorySitting
	for _, s := range m.sittings {
		if f.Learner != "" && s.Learner != f.Learner || f.Sitting != "" && s.ID != f.Sitting ||
			f.Within != "" && s.Within != f.Within || f.Unfinished && !s.Ended.IsZero() {
			continue
		}
		list = append(list, s)
	}
	slices.SortFunc(list, func(a, b *memorySitting) int {
		if c := a.Started.Compare(b.Started); c != 0 {
			return c
		}
		return strings.Compare(string(a.ID), string(b.ID))
	})
	return list
}

// takes reports From ≤ at < To.
func (f Filter) takes(at time.Time) bool {
	return (f.From.IsZero() || !at.Before(f.From)) && (f.To.IsZero() || at.Before(f.To))
}

func (m *Memory) Append(_ context.Context, a scoring.Attempt) error {
	a, err := CheckAttempt(a)
	if err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	s, ok := m.sittings[a.Sitting]
	if !ok {
		return fmt.Errorf("sitting %s: %w", a.Sitting, ErrNotFound)
	}
	if who, err := m.who(a.Learner); err != nil || s.Learner != who.ID {
		return WrongLearner(a)
	}
	a.Learner = s.Learner
	i, found := slices.BinarySearchFunc(s.attempts, a.Trial.Ordinal, func(x scoring.Attempt, n int) int { return x.Trial.Ordinal - n })
	if found {
		if SameAttempt(s.attempts[i], a) {
			return nil
		}
		return fmt.Errorf("attempt %s: %w", a.ID(), ErrTaken)
	}
	if !s.Ended.IsZero() {
		return fmt.Errorf("sitting %s: %w", a.Sitting, ErrEnded)
	}
	s.attempts = slices.Insert(s.attempts, i, a)
	return nil
}

// WrongLearner is the error for an answer given in another person's sitting.
func WrongLearner(a scoring.Attempt) error {
	return fmt.Errorf("attempt %s: the sitting is not that of learner %s", a.ID(), a.Learner)
}

// SameAttempt reports whether two checked attempts are equal in every part.
func SameAttempt(a, b scoring.Attempt) bool {
	if a.Sitting != b.Sitting || a.Learner != b.Learner || !a.At.Equal(b.At) {
		return false
	}
	// Both hold finite numbers and plain text only, so neither fails to marshal.
	x, _ := json.Marshal([]any{a.Trial, a.Answer})
	y, _ := json.Marshal([]any{b.Trial, b.Answer})
	return string(x) == string(y)
}

func (m *Memory) Attempts(ctx context.Context, f Filter) iter.Seq2[scoring.Attempt, error] {
	return func(yield func(scoring.Attempt, error) bool) {
		for _, a := range m.matching(f) {
			if err := ctx.Err(); err != nil {
				yield(scoring.Attempt{}, err)
				return
			}
			if a = cloneAttempt(a); f.Light {
				a = Lighten(a)
			}
			if !yield(a, nil) {
				return
			}
		}
	}
}

// matching copies the list, so that the loop over it may write to the book.
func (m *Memory) matching(f Filter) []scoring.Attempt {
	m.mu.RLock()
	defer m.mu.RUnlock()
	var list []scoring.Attempt
	var silenced map[scoring.SittingID]bool
	if !f.Silent {
		var silent []Heard
		for _, s := range m.ordered(Filter{}) {
			if s.Setup.Silent {
				silent = append(silent, Heard{s.Sitting, len(s.attempts) > 0})
			}
		}
		silenced = Silenced(silent, m.forms)
	}
	for _, s := range m.ordered(f) {
		if silenced[s.ID] {
			continue
		}
		for _, a := range s.attempts {
			if (f.Kind == "" || string(a.Trial.Kind) == f.Kind) && f.takes(a.At) {
				list = append(list, a)
			}
		}
	}
	return list
}

func cloneSitting(s scoring.Sitting) scoring.Sitting {
	s.Setup = cloneSetup(s.Setup)
	return s
}

func cloneSetup(s exercises.Setup) exercises.Setup {
	s.Experience, s.Options = slices.Clone(s.Experience), maps.Clone(s.Options)
	s.Again = slices.Clone(s.Again) // whose trials nobody writes into
	return s
}
