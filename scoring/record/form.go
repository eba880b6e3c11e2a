package record

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strconv"
	"strings"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
)

// Form is a form of the proficiency test as it was laid down: what everybody who
// takes it is asked, and what its results are called. None of that ever changes. Its parts hold
// the seeds that decide its items; they stand nowhere else, and nothing prints them.
type Form struct {
	Name   string
	Parts  []exercises.Setup
	Levels scoring.Cuts
	Class  scoring.ClassID // whose members alone may take it; empty for everybody
	At     time.Time       // when it was laid down
	// Closed is since when nobody may begin a part of it; zero while it is open. It is of
	// this book alone, and does not travel.
	Closed time.Time
}

// forms are the forms of the proficiency test that a book keeps.
type forms interface {
	// AddForm enters a form. The same one again is ErrTaken; another one may bear the
	// same name, and its fingerprint tells it apart. Its sheets, and its class if it has
	// one, must be in the book.
	AddForm(context.Context, Form) (Form, error)
	// Forms lists them, the one laid down first before the others.
	Forms(context.Context) ([]Form, error)
	// CloseForm says since when nobody may begin a part of the form with a fingerprint,
	// or opens it again, where closed is zero; ErrNotFound.
	CloseForm(ctx context.Context, print string, closed time.Time) error
}

// Print is the form's fingerprint: the first 8 bytes of SHA-256 over a label, the
// name, the parts with their seeds, the levels and the class. It names the form wherever it is
// spoken of, and does not give its seeds away: they are two random numbers of 63
// bits or more.
func (f Form) Print() string {
	var e encoding
	e.text(1, f.Name)
	for _, part := range f.Parts {
		if part.Sheet != nil {
			part.SheetID = part.Sheet.Fingerprint()
		}
		e.put(2, encodeSetup(part))
	}
	for _, cut := range f.Levels {
		var level encoding
		level.text(1, string(cut.Level))
		level.real(2, cut.From)
		e.put(3, level)
	}
	e.text(4, string(f.Class))
	sum := sha256.Sum256(append([]byte("shadedrill form\x00"), e...))
	return hex.EncodeToString(sum[:8])
}

// Set is the form as people take it: once.
func (f Form) Set() scoring.Set {
	return scoring.Set{Ref: scoring.SetRef{Kind: scoring.TestSet, Name: f.Name, Print: f.Print()}, Parts: f.Parts, Class: f.Class, Closed: f.Closed}
}

// CheckForm brings a form into the form in which a book keeps it, or says what is
// wrong with it.
func CheckForm(f Form) (Form, error) {
	const what = "a form of the test"
	if err := CheckMoment(what, f.At); err != nil {
		return f, err
	}
	if err := checkClosed(f.Closed); err != nil {
		return f, err
	}
	f.At, f.Closed = moment(f.At), moment(f.Closed)
	if err := scoring.CheckFormName(f.Name); err != nil {
		return f, err
	}
	if f.Class != "" {
		if err := checkID(what+"'s class", string(f.Class)); err != nil {
			return f, err
		}
	}
	if err := f.Levels.Check(); err != nil {
		return f, err
	}
	if n := len(f.Parts); n < 1 || n > mostParts {
		return f, fmt.Errorf("%s has %d parts, outside 1..%d", what, n, mostParts)
	}
	for _, cut := range f.Levels {
		if err := checkText(what, string(cut.Level)); err != nil {
			return f, err
		}
	}
	parts := f.Parts
	f.Parts = nil
	for _, s := range parts {
		s, err := checkSetup(what, s)
		if err != nil {
			return f, err
		}
		switch {
		case s.Stream != exercises.TestStream || s.Seed == 0:
			return f, fmt.Errorf("%s needs items that were drawn for it alone", what)
		case s.Items() < 1 || !s.Silent:
			return f, fmt.Errorf("%s has at least one item, and no comment before its end", what)
		case s.Adaptive || len(s.Experience) > 0 || s.OrderSeed != 0:
			return f, fmt.Errorf("%s asks everybody the same and adapts to nobody", what)
		}
		f.Parts = append(f.Parts, s)
	}
	return f, nil
}

// checkClosed checks since when a form is closed; zero is for one that is open.
func checkClosed(at time.Time) error {
	if at.IsZero() {
		return nil
	}
	return CheckMoment("the end of a form of the test", at)
}

// FormNotFound is the error for a form that is not there.
func FormNotFound(print string) error {
	return fmt.Errorf("form with the fingerprint %s: %w", print, ErrNotFound)
}

const mostParts = 20 // twice as many as there are exercises

// FormTaken is the error for a form that a book has already.
func FormTaken(f Form) error {
	return fmt.Errorf("the form %s with the fingerprint %s was laid down before: %w", f.Name, f.Print(), ErrTaken)
}

// LayDown enters a form with the sheets that its parts bring.
func LayDown(ctx context.Context, book Book, f Form) (Form, error) {
	for _, part := range f.Parts {
		if part.Sheet != nil {
			if err := book.PutSheet(ctx, part.Sheet); err != nil {
				return f, err
			}
		}
	}
	return book.AddForm(ctx, f)
}

// ReadLevels reads the levels of a form as somebody writes them, best first: each the name
// of a level and the percentage right from which it begins, such as "passed=80" or
// "not yet 0 %".
func ReadLevels(list []string) (cuts scoring.Cuts, err error) {
	for _, text := range list {
		said := strings.TrimRight(text, " %")
		i := max(0, strings.LastIndexAny(said, "= "))
		share, err := strconv.ParseFloat(strings.Replace(strings.TrimLeft(said[i:], "= "), ",", ".", 1), 64)
		if err != nil || i == 0 {
			return nil, fmt.Errorf("%q is not the name of a level and the percentage from which it begins, such as passed=80", text)
		}
		name, err := CleanName(strings.TrimRight(said[:i], "=: "))
		if err != nil {
			return nil, fmt.Errorf("the level %q: %w", text, err)
		}
		cuts = append(cuts, scoring.Cut{Level: scoring.Level(name), From: share / 100})
	}
	return cuts, cuts.Check()
}

// FormOf finds the form that a sitting is part of; false where the book has none of
// that fingerprint, as for an open form, or where the sitting asked something else.
func FormOf(ctx context.Context, book interface {
	Forms(context.Context) ([]Form, error)
}, s scoring.Sitting) (f Form, part int, ok bool, err error) {
	ref := s.Set()
	if ref.Kind != scoring.TestSet || ref.Print == "" {
		return f, 0, false, nil
	}
	f, set, ok, err := findForm(ctx, book, ref)
	if ok {
		part, ok = set.Part(s.Setup)
	}
	return f, part, ok, err
}

func findForm(ctx context.Context, book interface {
	Forms(context.Context) ([]Form, error)
}, ref scoring.SetRef) (f Form, set scoring.Set, ok bool, err error) {
	if r, remembers := book.(remembering); remembers {
		return r.find(ctx, ref)
	}
	list, err := book.Forms(ctx)
	for _, f := range list {
		if set := f.Set(); set.Ref == ref {
			return f, set, true, err
		}
	}
	return f, set, false, err
}

// SetupOf is all that decides which trials a sitting asks: its own setup, with the
// sheet, and of a form's part with the seed that the form keeps.
func SetupOf(ctx context.Context, book Asked, s scoring.Sitting) (exercises.Setup, error) {
	setup := s.Setup
	if setup.Stream == exercises.TestStream && setup.Seed == 0 {
		f, part, ok, err := FormOf(ctx, book, s)
		if err != nil {
			return setup, err
		}
		if ok {
			setup.Seed = f.Parts[part].Seed
		}
	}
	if setup.SheetID != "" && setup.Sheet == nil {
		sheet, err := book.Sheet(ctx, setup.SheetID)
		if err != nil {
			return setup, err
		}
		setup.Sheet = sheet
	}
	return setup, nil
}
