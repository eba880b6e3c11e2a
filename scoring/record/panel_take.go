package record

import (
	"context"
	"fmt"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// Part is how far one person has come with a calibration session.
type Part struct {
	// Sitting is the one that counts: the first with an answer, or one that was
	// begun and can be gone on with. Begun is false when there is none.
	Sitting scoring.Sitting
	Begun   bool
	Given   int // answers
}

// Over reports that nothing more is to be answered.
func (p Part) Over() bool { return p.Begun && !p.Sitting.Ended.IsZero() }

// PartOf finds how far a person has come. Sittings that asked something else
// under the session's name, as another book's might, do not count.
func PartOf(ctx context.Context, book Book, p Panel, who scoring.LearnerID) (Part, error) {
	var part Part
	sittings, err := book.Sittings(ctx, Filter{Learner: who, Within: p.Within()})
	if err != nil {
		return part, err
	}
	for _, s := range sittings {
		if !p.Asks(s.Setup) {
			continue
		}
		given := 0
		for _, err := range book.Briefs(ctx, Filter{Sitting: s.ID}) {
			if err != nil {
				return part, err
			}
			given++
		}
		if given > 0 {
			return Part{Sitting: s, Begun: true, Given: given}, nil
		}
		if s.Ended.IsZero() && !part.Begun {
			part = Part{Sitting: s, Begun: true}
		}
	}
	return part, nil
}

// TakePanel begins a session for a person, or goes on with what was broken off.
// What was laid down is asked, and nothing else. A session that is over for this
// person, or closed before they began, is a [fault.Error].
func TakePanel(ctx context.Context, book Book, p Panel, who scoring.Learner, display scoring.DisplayCheck, clock func() time.Time) (*Drill, error) {
	part, err := PartOf(ctx, book, p, who.ID)
	if err != nil {
		return nil, err
	}
	if err := p.Refusal(part, who.Name); err != nil {
		return nil, err
	}
	if part.Begun {
		return Resume(ctx, book, part.Sitting.ID, clock)
	}
	kind, err := exercises.ByID(p.Setup.Kind)
	if err != nil {
		return nil, err
	}
	if kind.Version() != p.Setup.Version {
		return nil, fault.New(fmt.Sprintf("the rules of %q have changed since %q was laid down (version %d, now %d)",
			p.Setup.Kind, p.Name, p.Setup.Version, kind.Version()), "let the lead lay down a new calibration session")
	}
	setup := p.SetupFor(who.ID)
	if setup.SheetID != "" {
		if setup.Sheet, err = book.Sheet(ctx, setup.SheetID); err != nil {
			return nil, err
		}
	}
	return Begin(ctx, book, scoring.Sitting{Learner: who.ID, Within: p.Within(), Setup: setup, Display: display}, clock)
}

// Refusal says why somebody who has come so far cannot begin or go on, nil when
// they can.
func (p Panel) Refusal(part Part, name string) error {
	day := func(t time.Time) string { return t.Local().Format("2 January 2006") }
	switch {
	case part.Over() && part.Sitting.Left:
		return fault.New(fmt.Sprintf("%s ended the calibration session %q on %s after %d answers", name, p.Name, day(part.Sitting.Ended), part.Given), "a session is taken once, and what was given counts; the lead can lay down another")
	case part.Over():
		return fault.New(fmt.Sprintf("%s took the calibration session %q on %s", name, p.Name, day(part.Sitting.Ended)), "a session is taken once: whoever has seen its end would have an easier time")
	case !part.Begun && !p.Closed.IsZero():
		return fault.New(fmt.Sprintf("the calibration session %q was closed on %s and takes nobody new", p.Name, day(p.Closed)), "ask the lead to lay down another")
	}
	return nil
}
