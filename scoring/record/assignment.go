package record

import (
	"context"
	"fmt"
	"reflect"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// Work is how far a person has come with an assignment. The first try that was
// done to its end is the one that counts; a later one would be of trials whose
// answers are known.
type Work struct {
	Done scoring.Sitting // its ID is empty while there is none
	Open scoring.Sitting // one that can be gone on with, if any
	Left int             // tries that were ended early
}

// IsDone reports whether the assignment was done to its end.
func (w Work) IsDone() bool { return w.Done.ID != "" }

// Take counts a further sitting, the next one begun, if it asked what the
// assignment asks.
func (w *Work) Take(a scoring.Assignment, s scoring.Sitting) {
	switch {
	case s.Within != a.Within() || !asks(a.Setup, s.Setup):
	case s.Ended.IsZero():
		w.Open = s
	case s.Left:
		w.Left++
	case !w.IsDone():
		w.Done = s
	}
}

// asks reports whether two setups ask the same: a sitting may come from another
// book, and there bear the assignment's name over other trials.
func asks(a, b exercises.Setup) bool {
	for _, s := range []*exercises.Setup{&a, &b} {
		if s.Sheet != nil {
			s.SheetID = s.Sheet.Fingerprint()
		}
		s.Sheet, s.Experience = nil, nil
		if len(s.Options) == 0 {
			s.Options = nil
		}
	}
	return reflect.DeepEqual(a, b)
}

// WorkOn finds how far a person has come with an assignment.
func WorkOn(ctx context.Context, book Sittings, a scoring.Assignment, who scoring.LearnerID) (Work, error) {
	var w Work
	list, err := book.Sittings(ctx, Filter{Learner: who, Within: a.Within()})
	for _, s := range list {
		w.Take(a, s)
	}
	return w, err
}

// MayTake says why somebody cannot do an assignment, or do it again: a [fault.Error],
// or nil. One that is overdue can still be done.
func MayTake(ctx context.Context, book Book, a scoring.Assignment, who scoring.Learner) error {
	_, err := mayTake(ctx, book, a, who)
	return err
}

func mayTake(ctx context.Context, book Book, a scoring.Assignment, who scoring.Learner) (Work, error) {
	enrolled, err := onRoster(ctx, book, a.Class, who.ID)
	if err != nil {
		return Work{}, err
	}
	if !enrolled {
		return Work{}, fault.New(fmt.Sprintf("%s is not in the class that assignment %d was given to", who.Name, a.Number), "ask whoever leads the class to enrol you, under this name")
	}
	work, err := WorkOn(ctx, book, a, who.ID)
	if err == nil && work.IsDone() {
		err = fault.New(fmt.Sprintf("%s did assignment %d on %s", who.Name, a.Number, work.Done.Ended.Local().Format("2 January 2006")), "an assignment is done once: whoever has seen its answers would have an easier time")
	}
	return work, err
}

// TakeAssignment begins an assignment for a person, or goes on with what was
// broken off. What was assigned is asked, and nothing else; see [MayTake].
func TakeAssignment(ctx context.Context, book Book, a scoring.Assignment, who scoring.Learner, display scoring.DisplayCheck, clock func() time.Time) (*Drill, error) {
	work, err := mayTake(ctx, book, a, who)
	if err != nil {
		return nil, err
	}
	if work.Open.ID != "" {
		return Resume(ctx, book, work.Open.ID, clock)
	}
	kind, err := exercises.ByID(a.Setup.Kind)
	if err != nil {
		return nil, err
	}
	if kind.Version() != a.Setup.Version {
		return nil, fault.New(fmt.Sprintf("the rules of %q have changed since assignment %d was given (version %d, now %d)",
			a.Setup.Kind, a.Number, a.Setup.Version, kind.Version()), "let the instructor assign it anew")
	}
	if a.Setup.SheetID != "" {
		if a.Setup.Sheet, err = book.Sheet(ctx, a.Setup.SheetID); err != nil {
			return nil, err
		}
	}
	return Begin(ctx, book, scoring.Sitting{Learner: who.ID, Within: a.Within(), Setup: a.Setup, Display: display}, clock)
}

func onRoster(ctx context.Context, book Classes, class scoring.ClassID, who scoring.LearnerID) (bool, error) {
	roster, err := book.Roster(ctx, class)
	for _, l := range roster {
		if l.ID == who {
			return true, nil
		}
	}
	return false, err
}

// OpenAssignments lists what a person has still to do, by number: nothing for leads
// and instructors, who are not graded. They may take an assignment all the same.
func OpenAssignments(ctx context.Context, book Book, who scoring.LearnerID) ([]scoring.Assignment, error) {
	person, err := book.Learner(ctx, who)
	if err != nil || person.Role != scoring.RoleLearner {
		return nil, err
	}
	all, err := book.Assignments(ctx, "")
	if err != nil {
		return nil, err
	}
	var open []scoring.Assignment
	mine := map[scoring.ClassID]bool{}
	for _, a := range all {
		if _, asked := mine[a.Class]; !asked {
			if mine[a.Class], err = onRoster(ctx, book, a.Class, who); err != nil {
				return nil, err
			}
		}
		if !mine[a.Class] {
			continue
		}
		work, err := WorkOn(ctx, book, a, who)
		if err != nil {
			return nil, err
		}
		if !work.IsDone() {
			open = append(open, a)
		}
	}
	return open, nil
}
