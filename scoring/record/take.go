package record

import (
	"context"
	"fmt"
	"strings"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// Refused says why somebody may not take a set: no trouble with the book, and
// nothing that another try would mend.
type Refused struct{ error }

// Unwrap returns the refusal with its hint.
func (r Refused) Unwrap() error { return r.error }

func refused(advice, what string, args ...any) error {
	return Refused{fault.New(fmt.Sprintf(what, args...), advice)}
}

// Take begins what is next of a set for a person, or goes on with what was broken
// off: the one road into a set. What it asks is asked, and nothing else; see
// [MayTake].
func Take(ctx context.Context, book Book, set scoring.Set, who scoring.Learner, display scoring.DisplayCheck, clock func() time.Time) (*Drill, error) {
	progress, err := MayTake(ctx, book, set, who)
	if err != nil {
		return nil, err
	}
	next := progress.Next()
	if part := progress.Parts[next]; part.begun() {
		return Resume(ctx, book, part.Sitting.ID, clock)
	}
	setup := set.SetupFor(next, who.ID)
	kind, err := exercises.ByID(setup.Kind)
	if err != nil {
		return nil, err
	}
	if words := set.Ref.Kind.Words(); kind.Version() != setup.Version {
		return nil, refused(words.Anew, "the rules of %q have changed since %s %s (version %d, now %d)",
			setup.Kind, set.Name(), words.Made, setup.Version, kind.Version())
	}
	if setup.Sheet == nil && setup.SheetID != "" {
		if setup.Sheet, err = book.Sheet(ctx, setup.SheetID); err != nil {
			return nil, err
		}
	}
	return Begin(ctx, book, scoring.Sitting{Learner: who.ID, Within: progress.Ref.String(), Setup: setup, Display: display}, clock)
}

// MayTake finds how far a person has come with a set, and says why they cannot
// begin it or go on: Refused, or nil. One that is overdue can still be taken.
func MayTake(ctx context.Context, book Book, set scoring.Set, who scoring.Learner) (Progress, error) {
	if set.Class != "" {
		enrolled, err := onRoster(ctx, book, set.Class, who.ID)
		if err != nil {
			return Progress{}, err
		}
		if !enrolled {
			return Progress{}, refused("ask whoever leads the class to enrol you, under this name",
				"%s is not in the class that %s was given to", who.Name, set.Name())
		}
	}
	progress, err := ProgressOf(ctx, book, set, who.ID)
	if err == nil {
		err = Refusal(set, progress, who.Name)
	}
	return progress, err
}

// Refusal says why somebody who has come so far cannot go on; nil when they can.
func Refusal(set scoring.Set, p Progress, name string) error {
	day := func(t time.Time) string { return t.Local().Format("2 January 2006") }
	words := set.Ref.Kind.Words()
	switch {
	case set.Stated && len(p.Others) > 0:
		return refused("take it with the same library, exercises and items, or under another name",
			"%s was taken before with %s", set.Name(), other(p.Others[0]))
	case p.Over() && p.Parts[0].Sitting.Left:
		return refused("what was given counts, and nobody takes it twice; "+words.Anew,
			"%s ended %s on %s after %d answers", name, set.Name(), day(p.Parts[0].Sitting.Ended), p.Given())
	case p.Over():
		return refused(words.Once, "%s %s %s on %s", name, words.Did, set.Name(), day(p.Parts[0].Sitting.Ended))
	case !set.Closed.IsZero() && !p.Parts[p.Next()].begun():
		return refused(words.Another, "%s was %s on %s and takes nobody new", set.Name(), words.Closed, day(set.Closed))
	}
	return nil
}

func other(s exercises.Setup) string {
	kind, err := exercises.ByID(s.Kind)
	if err != nil {
		return "another exercise"
	}
	return fmt.Sprintf("%d items of %s from library fingerprint %s", s.Count, strings.ToLower(kind.Title()), s.SheetID)
}

// OpenSet is a set of the book that a person may begin or go on with.
type OpenSet struct {
	scoring.Set
	Progress Progress
}

// OpenSets lists what a person finds to take: assignments by number, then sessions
// by time. Leads and instructors are not asked for what their class is given; they
// may take it all the same.
func OpenSets(ctx context.Context, book Book, who scoring.LearnerID) ([]OpenSet, error) {
	person, err := book.Learner(ctx, who)
	if err != nil {
		return nil, err
	}
	var sets []scoring.Set
	if person.Role == scoring.RoleLearner {
		if sets, err = classSets(ctx, book, who); err != nil {
			return nil, err
		}
	}
	panels, err := book.Panels(ctx)
	if err != nil {
		return nil, err
	}
	for _, p := range panels {
		mine, err := mayBe(ctx, book, p.Class, who)
		if err != nil {
			return nil, err
		}
		if mine {
			sets = append(sets, p.Set())
		}
	}
	return openOf(ctx, book, sets, person)
}

// OpenForms lists the forms of the test that a person may begin or go on with, the one
// laid down first before the others.
func OpenForms(ctx context.Context, book Book, who scoring.LearnerID) ([]OpenSet, error) {
	person, err := book.Learner(ctx, who)
	if err != nil {
		return nil, err
	}
	forms, err := FormsFor(ctx, book, who)
	if err != nil {
		return nil, err
	}
	var sets []scoring.Set
	for _, f := range forms {
		sets = append(sets, f.Set())
	}
	return openOf(ctx, book, sets, person)
}

// FormsFor lists the forms of the test that are for a person: those for everybody and
// those of their classes, whether they may still be taken or not.
func FormsFor(ctx context.Context, book Book, who scoring.LearnerID) (list []Form, err error) {
	forms, err := book.Forms(ctx)
	if err != nil {
		return nil, err
	}
	for _, f := range forms {
		mine, err := mayBe(ctx, book, f.Class, who)
		if err != nil {
			return nil, err
		}
		if mine {
			list = append(list, f)
		}
	}
	return list, nil
}

func openOf(ctx context.Context, book Book, sets []scoring.Set, person scoring.Learner) (open []OpenSet, err error) {
	for _, set := range sets {
		p, err := ProgressOf(ctx, book, set, person.ID)
		if err != nil {
			return nil, err
		}
		if Refusal(set, p, person.Name) == nil {
			open = append(open, OpenSet{set, p})
		}
	}
	return open, nil
}

// classSets are what the classes of a person were given.
func classSets(ctx context.Context, book Book, who scoring.LearnerID) (sets []scoring.Set, err error) {
	given, err := book.Assignments(ctx, "")
	mine := map[scoring.ClassID]bool{}
	for _, a := range given {
		if _, asked := mine[a.Class]; !asked {
			if mine[a.Class], err = onRoster(ctx, book, a.Class, who); err != nil {
				return nil, err
			}
		}
		if mine[a.Class] && !a.Excuses(who) {
			sets = append(sets, a.SetFor(who))
		}
	}
	return sets, err
}

// mayBe reports whether a set that is for a class, or with "" for everybody, is for a person.
func mayBe(ctx context.Context, book Classes, class scoring.ClassID, who scoring.LearnerID) (bool, error) {
	if class == "" {
		return true, nil
	}
	return onRoster(ctx, book, class, who)
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
