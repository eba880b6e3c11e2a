package transfer

import (
	"context"
	"errors"
	"fmt"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// merging puts rows into a book, one after the other.
type merging struct {
	into     record.Book
	done     *Imported
	rules    Rules
	learners map[scoring.LearnerID]bool
	who      map[scoring.LearnerID]scoring.LearnerID // who has an identifier of the file here; gone for who was erased
	owners   map[scoring.SittingID]scoring.LearnerID // of sittings that are another's here than in the file
	people   []scoring.Learner                       // of the book, and new ones; nil before they were read
	sittings map[scoring.SittingID]*sittingData      // told by the file
	current  scoring.SittingID
	known    map[int]bool // ordinals of the current sitting that the book had before

	chains   map[scoring.SittingID]*following // of sittings of the file whose links travel
	followed []scoring.SittingID
	rows     map[scoring.SittingID]int
	sheets   map[string]*tabs.Sheet
	setup    exercises.Setup // of the current sitting
	own      bool            // it was begun in this book, and has not ended

	unclear    bool // a line cannot be read at all: it may have told of anything
	formatTold bool // a line said which format those of classes are in
	classes    map[scoring.ClassID]*classMerging
	order      []scoring.ClassID
	given      map[scoring.AssignmentID]scoring.Assignment // in the book; nil before they were read
	named      map[scoring.LearnerID]bool                  // of whom it was said that they are called otherwise here
	tried      map[string]int                              // the last number tried for a name that was taken
}

func newMerging(into record.Book, done *Imported, rules Rules) *merging {
	return &merging{into: into, done: done, rules: rules, sittings: map[scoring.SittingID]*sittingData{}, learners: map[scoring.LearnerID]bool{},
		chains: map[scoring.SittingID]*following{}, rows: map[scoring.SittingID]int{}, sheets: map[string]*tabs.Sheet{},
		who: map[scoring.LearnerID]scoring.LearnerID{}, owners: map[scoring.SittingID]scoring.LearnerID{},
		classes: map[scoring.ClassID]*classMerging{}, named: map[scoring.LearnerID]bool{}, tried: map[string]int{}}
}

// bookError is a failure of the book itself rather than of a line.
type bookError struct{ err error }

func (e *bookError) Error() string { return e.err.Error() }

// broken keeps an error apart from the faults of a line.
func broken(err error) error {
	if err == nil {
		return nil
	}
	return &bookError{err}
}

func (m *merging) row(ctx context.Context, w whole) error {
	if w.sheet != nil {
		if err := m.into.PutSheet(ctx, w.sheet); err != nil {
			return fmt.Errorf("sheet_data: %w", err)
		}
	}
	if err := m.notFuture("at", w.attempt.At); err != nil {
		return err
	}
	if err := m.follow(w); err != nil {
		return err
	}
	here, err := m.resolve(ctx, w.attempt.Learner)
	switch {
	case err != nil:
		return err
	case here == gone:
		m.done.Left++
		return nil
	}
	if w.sitting != nil {
		if err := m.sitting(ctx, w); err != nil {
			return err
		}
	}
	if w.attempt.Learner = here; m.owners[w.attempt.Sitting] != "" {
		w.attempt.Learner = m.owners[w.attempt.Sitting]
	}
	if err := m.turnTo(ctx, w.attempt); err != nil {
		return err
	}
	if err := m.markAgrees(ctx, w); err != nil {
		return err
	}
	if m.known[w.attempt.Trial.Ordinal] {
		m.done.Known++
	} else if m.own {
		m.done.Own++
		return nil
	} else {
		m.done.Added++
	}
	err = m.into.Append(ctx, w.attempt)
	switch {
	case errors.Is(err, record.ErrTaken):
		return errors.New("the book holds another answer under the same identifier")
	case errors.Is(err, record.ErrEnded):
		return errors.New("the book holds this sitting as ended, without this answer")
	case err != nil:
		return err
	}
	m.known[w.attempt.Trial.Ordinal] = true
	return nil
}

// salvage enters what a bad line tells for the lines after it, so that these are
// not blamed for its fault. All of it is rolled back.
func (m *merging) salvage(ctx context.Context, p parsed) {
	w := p.row
	switch {
	case p.of != nil:
		m.salvageRecord(ctx, p.of)
		return
	case p.unreadable:
		m.unclear = true
	default:
		m.unfollow(w.attempt.Sitting)
	}
	if w.sheet != nil {
		_ = m.into.PutSheet(ctx, w.sheet)
	}
	if w.sitting != nil {
		_ = m.sitting(ctx, w)
	}
}

// sitting enters a sitting and its person where the book does not know them.
func (m *merging) sitting(ctx context.Context, w whole) error {
	a, d := w.attempt, *w.sitting
	for what, t := range map[string]time.Time{"entered": d.Entered, "role_at": d.RoleAt, "started": d.Started, "ended": d.Ended} {
		if err := m.notFuture(what, t); err != nil {
			return fmt.Errorf("sitting_data: %w", err)
		}
	}
	there := a.Learner
	var err error
	if a.Learner, err = m.resolve(ctx, there); err != nil || a.Learner == gone {
		return err
	}
	if d.BegunAs == "" && a.Learner != there {
		d.BegunAs = there
	}
	if !d.Ended.IsZero() {
		if err := record.CheckMoment("the end of a sitting", d.Ended); err != nil {
			return fmt.Errorf("sitting_data: %w", err)
		}
	}
	if _, err := m.learner(ctx, d.learner(a.Learner)); err != nil {
		return fmt.Errorf("sitting_data: %w", err)
	}
	have, err := m.into.Sitting(ctx, a.Sitting)
	switch {
	case errors.Is(err, record.ErrNotFound):
		s, err := record.CheckSitting(d.asSitting(a, m.rules.At))
		if err != nil {
			return fmt.Errorf("sitting_data: %w", err)
		}
		if err := m.into.StartSitting(ctx, s); err != nil {
			return fmt.Errorf("sitting_data: %w", err)
		}
	case err != nil:
		return broken(err)
	case have.Learner != a.Learner && have.Learner == d.BegunAs: // two people there are one, here not
		m.owners[a.Sitting] = have.Learner
	case have.Learner != a.Learner:
		return errors.New("the book holds this sitting as somebody else's")
	}
	m.sittings[a.Sitting] = &d
	return nil
}

// learner enters a person where the book does not know them. A name that belongs
// to somebody else in this book gets a number.
func (m *merging) learner(ctx context.Context, l scoring.Learner) (scoring.Learner, error) {
	if m.learners[l.ID] {
		return l, nil
	}
	_, err := m.into.Learner(ctx, l.ID)
	switch {
	case err == nil:
		m.learners[l.ID] = true
		return l, nil
	case !errors.Is(err, record.ErrNotFound):
		return l, broken(err)
	}
	if err := m.strange(ctx, &l); err != nil {
		return l, err
	}
	name, err := m.unused(l.Name, func(name string) (err error) {
		as := l
		as.Name = name
		as, err = m.into.AddLearner(ctx, as)
		return err
	})
	if err != nil {
		return l, err
	}
	if name != l.Name {
		m.done.Renamed = append(m.done.Renamed, name)
	}
	l.Name = name
	m.people = append(m.people, l)
	m.done.Learners++
	m.learners[l.ID] = true
	return l, nil
}

// turnTo makes the attempt's sitting the current one.
func (m *merging) turnTo(ctx context.Context, a scoring.Attempt) error {
	if a.Sitting == m.current && m.known != nil {
		return nil
	}
	have, err := m.into.Sitting(ctx, a.Sitting)
	if errors.Is(err, record.ErrNotFound) {
		return errors.New("its sitting is not in the book and no line before tells of it: keep the lines in the order of the export")
	}
	if err != nil {
		return broken(err)
	}
	if have.Learner != a.Learner {
		return errors.New("learner_id is not the person of this sitting")
	}
	known := map[int]bool{}
	for old, err := range m.into.Attempts(ctx, record.Filter{Sitting: a.Sitting, Silent: true}) {
		if err != nil {
			return broken(err)
		}
		known[old.Trial.Ordinal] = true
	}
	m.current, m.known, m.setup = a.Sitting, known, have.Setup
	m.own = goesOnHere(have)
	return nil
}

// goesOnHere reports whether a sitting was begun in this book and has not ended. Gone on with in
// two books it would be two, and what another book says of it would pass for taken here.
func goesOnHere(s scoring.Sitting) bool {
	return s.Ended.IsZero() && (s.Origin.Road == scoring.RoadHere || s.Origin.Road == scoring.RoadServer)
}

// end closes the sittings that the file tells as ended. One of which not all answers are in
// the book stays open for the others.
func (m *merging) end(ctx context.Context) error {
	for id, d := range m.sittings {
		if d.Ended.IsZero() {
			continue
		}
		have, err := m.into.Sitting(ctx, id)
		if err != nil {
			return err
		}
		if goesOnHere(have) {
			continue
		}
		if f := m.chains[id]; f != nil && !f.whole() && have.Ended.IsZero() {
			n := 0
			for _, err := range m.into.Attempts(ctx, record.Filter{Sitting: id, Light: true, Silent: true}) {
				if err != nil {
					return err
				}
				n++
			}
			if n < f.told.Answers {
				m.done.Short++
				continue
			}
		}
		if err := m.into.EndSitting(ctx, id, d.Ended, d.Left); err != nil {
			return err
		}
	}
	return m.sets(ctx)
}
