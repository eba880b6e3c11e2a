package record

import (
	"context"
	"fmt"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// Panel is a calibration session as its lead laid it down: what everybody who
// takes it is asked, and how it is looked at. Nobody who takes it can change it.
type Panel struct {
	Name string // cleaned; no two of a book are called alike
	// Setup is the drill: shared items (Repeats > 0), no adaptation, no feedback
	// before the end. Its OrderSeed is 0: everybody has their own, see [scoring.Set].
	Setup exercises.Setup
	By    scoring.LearnerID // who laid it down; may be empty
	Class scoring.ClassID   // whose members alone may take it; empty for everybody
	At    time.Time         // when
	// Closed is zero as long as people may begin it.
	Closed time.Time
}

// panels are the calibration sessions of a book.
type panels interface {
	// AddPanel enters a session. The name is cleaned (see CleanName); a name
	// already taken, ignoring case, is ErrTaken. Its sheet, and the person who laid
	// it down and the class if they are named, must be in the book.
	AddPanel(context.Context, Panel) (Panel, error)
	// Panels lists the sessions, the one laid down first before the others.
	Panels(context.Context) ([]Panel, error)
	// PanelByName finds a session, ignoring case; ErrNotFound.
	PanelByName(context.Context, string) (Panel, error)
	// ClosePanel says that nobody is to begin the session any more. Closing it
	// again changes nothing and is no error; ErrNotFound.
	ClosePanel(ctx context.Context, name string, at time.Time) error
}

// Set is the session as people take it: once, in an order of their own, and until
// it is closed.
func (p Panel) Set() scoring.Set {
	return scoring.Set{Ref: scoring.SetRef{Kind: scoring.PanelSet, Name: p.Name}, Parts: []exercises.Setup{p.Setup}, Class: p.Class, Closed: p.Closed, Order: TitleKey(p.Name)}
}

// CheckPanel brings a session into the form in which a book keeps it, or says
// what is wrong with it.
func CheckPanel(p Panel) (Panel, error) {
	const what = "a calibration session"
	if err := CheckMoment(what, p.At); err != nil {
		return p, err
	}
	if !p.Closed.IsZero() {
		if err := CheckMoment("the end of "+what, p.Closed); err != nil {
			return p, err
		}
	}
	p.At, p.Closed = moment(p.At), moment(p.Closed)
	name, err := CleanName(p.Name)
	if err != nil {
		return p, err
	}
	p.Name = name
	if p.By != "" {
		if err := checkID(what+"'s lead", string(p.By)); err != nil {
			return p, err
		}
	}
	if p.Class != "" {
		if err := checkID(what+"'s class", string(p.Class)); err != nil {
			return p, err
		}
	}
	if p.Setup, err = checkSetup(what, p.Setup); err != nil {
		return p, err
	}
	switch s := p.Setup; {
	case s.Seed == 0:
		return p, fmt.Errorf("%s needs a seed other than 0: it decides the items of everybody", what)
	case s.Count < 1 || s.Repeats < 1:
		return p, fmt.Errorf("%s of %d items, each shown %d times, asks nothing", what, s.Count, s.Repeats)
	case s.OrderSeed != 0 || s.Adaptive || len(s.Experience) > 0:
		return p, fmt.Errorf("%s asks everybody the same and adapts to nobody", what)
	}
	return p, nil
}

// PanelTaken is the error for a second session of one name.
func PanelTaken(name string) error {
	return fault.Wrap(fmt.Errorf("the name %q of a calibration session is taken: %w", name, ErrTaken), "choose another name: what was laid down once is not changed")
}

// PanelNotFound is the error for a session that is not there.
func PanelNotFound(name string) error {
	return fmt.Errorf("calibration session %q: %w", name, ErrNotFound)
}
