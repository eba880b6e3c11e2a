package record

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
)

// Drill joins a run of an exercise to the book: it is the one road from an
// answer to its feedback, and the answer is on the disk before the mark comes
// back.
type Drill struct {
	book    Book
	run     exercises.Run
	sitting scoring.Sitting
	clock   func() time.Time
	given   int
	latest  time.Time // of what is in the book of it
	marking scoring.Marking
}

// Begin starts a drill and enters its sitting in the book. The sitting's ID,
// Started and Setup.Version are filled in here.
func Begin(ctx context.Context, book Book, s scoring.Sitting, clock func() time.Time) (*Drill, error) {
	kind, err := exercises.ByID(s.Setup.Kind)
	if err != nil {
		return nil, err
	}
	s.Setup.Version = kind.Version()
	if s.Setup.Sheet != nil {
		s.Setup.SheetID = s.Setup.Sheet.Fingerprint()
		if err := book.PutSheet(ctx, s.Setup.Sheet); err != nil {
			return nil, err
		}
	}
	s.Setup.Experience = latest(s.Setup.Experience)
	run, err := exercises.NewRun(s.Setup)
	if err != nil {
		return nil, err
	}
	if s.Setup.Stream == exercises.TestStream {
		if s.Set().Print == "" {
			return nil, errors.New("the items of a form are asked in the form alone")
		}
		s.Setup.Seed = 0 // the form alone keeps it
	}
	s.Started = moment(clock())
	if s.ID == "" {
		s.ID = NewSittingID(s.Started)
	}
	if err := book.StartSitting(ctx, s); err != nil {
		return nil, err
	}
	return &Drill{book: book, run: run, sitting: s, clock: clock, latest: s.Started}, nil
}

// latest keeps the last outcomes of the list, rounded to 0.01: that steers
// practice as well as all digits of all of them, and the book keeps it.
func latest(list []exercises.Outcome) []exercises.Outcome {
	list = slices.Clone(list[max(0, len(list)-MostExperience):])
	for i := range list {
		d := &list[i].Difference
		for _, v := range []*float64{&d.E, &d.L, &d.C, &d.H, &d.Rotation} {
			*v = math.Round(*v*100) / 100
		}
	}
	return list
}

// Resume takes up a drill that was broken off: the answers in the book are
// given to a new run, which goes on from there. One that was broken off after its
// last answer is ended.
func Resume(ctx context.Context, book Book, id scoring.SittingID, clock func() time.Time) (*Drill, error) {
	s, err := book.Sitting(ctx, id)
	if err != nil {
		return nil, err
	}
	if !s.Ended.IsZero() {
		return nil, fmt.Errorf("sitting %s has ended and cannot be resumed", id)
	}
	kind, err := exercises.ByID(s.Setup.Kind)
	if err != nil {
		return nil, err
	}
	if kind.Version() != s.Setup.Version {
		return nil, fmt.Errorf("the rules of %q have changed since this drill began (version %d, now %d): it can be kept but not resumed",
			s.Setup.Kind, s.Setup.Version, kind.Version())
	}
	setup, err := SetupOf(ctx, book, s)
	if err != nil {
		return nil, err
	}
	s.Setup.Sheet = setup.Sheet
	run, err := exercises.NewRun(setup)
	if err != nil {
		return nil, err
	}
	d := &Drill{book: book, run: run, sitting: s, clock: clock, latest: s.Started}
	for a, err := range book.Attempts(ctx, Filter{Sitting: id, Silent: true}) {
		if err != nil {
			return nil, err
		}
		run.Take(a.Trial, a.Answer)
		d.marking.Mark(a, s.Setup.Sheet)
		d.given++
		d.latest = later(d.latest, a.At)
	}
	if _, more := run.Next(); !more { // broken off after the last answer
		if err := d.End(ctx, false); err != nil {
			return nil, fmt.Errorf("the end of the drill could not be written to the book: %w", err)
		}
	}
	return d, nil
}

// Sitting tells which sitting this is.
func (d *Drill) Sitting() scoring.Sitting { return d.sitting }

// Given is how many answers the sitting has, Planned how many it will have at most.
func (d *Drill) Given() int   { return d.given }
func (d *Drill) Planned() int { return d.run.Planned() }

// Trial is the question to ask now; ok is false when the drill is over.
func (d *Drill) Trial() (exercises.Trial, bool) { return d.run.Next() }

// ErrOver is returned for an answer after the last trial.
var ErrOver = errors.New("the drill is over")

// Answer records the answer to the current trial and then marks it. On an
// error the answer is not in the book and the trial is still the current one.
func (d *Drill) Answer(ctx context.Context, answer exercises.Answer) (scoring.Attempt, scoring.Mark, error) {
	trial, ok := d.run.Next()
	if !ok {
		return scoring.Attempt{}, scoring.Mark{}, ErrOver
	}
	a := scoring.Attempt{Sitting: d.sitting.ID, Learner: d.sitting.Learner, At: later(d.latest, moment(d.clock())), Trial: trial, Answer: answer}
	if err := d.book.Append(ctx, a); err != nil {
		return scoring.Attempt{}, scoring.Mark{}, err
	}
	d.given++
	d.latest = a.At
	d.run.Take(trial, answer)
	return a, d.marking.Mark(a, d.sitting.Setup.Sheet), nil
}

// End closes the sitting; left says that trials were still to come. Ending
// twice is no error, and an end that could not be written is written when it is tried
// again.
func (d *Drill) End(ctx context.Context, left bool) error {
	return d.book.EndSitting(ctx, d.sitting.ID, later(d.latest, d.clock()), left)
}

// later keeps the times of a sitting in order where somebody sets the clock back
// while it is under way.
func later(before, now time.Time) time.Time {
	if now.Before(before) {
		return before
	}
	return now
}

// NewSittingID makes an identifier that sorts by time.
func NewSittingID(at time.Time) scoring.SittingID {
	return scoring.SittingID(newID(at))
}

// NewLearnerID makes a stable identifier for a person.
func NewLearnerID(at time.Time) scoring.LearnerID {
	return scoring.LearnerID(newID(at))
}
