package record

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// Inventory is what a book holds, and what is wrong with it.
type Inventory struct {
	People, Sittings, Answers, Sheets int
	Classes, Assignments, Panels      int
	Forms                             int // of the test
	Unfinished                        int // sittings
	Empty                             int // sittings without an answer: settings that were kept, drills left at once
	Unknown                           int // answers to exercises of a newer program
	Imported                          int // sittings
	Older                             int // sittings of sets by rules that have changed since
	Findings                          []string
	More                              int           // findings beyond those listed
	Begun                             map[Begun]int // how many sittings have a chain begun then
	// Notes are what is worth knowing and no damage.
	Notes                         []string
	sheets                        map[string]*tabs.Sheet
	people                        map[scoring.LearnerID]bool
	names                         map[string][]scoring.Learner
	classNames, sittings, classes map[string]bool
}

// mostFindings is how many are listed; one fault often brings hundreds.
const mostFindings = 20

// Find notes something wrong.
func (v *Inventory) Find(format string, args ...any) {
	if len(v.Findings) == mostFindings {
		v.More++
		return
	}
	v.Findings = append(v.Findings, fmt.Sprintf(format, args...))
}

// note notes something that is no damage.
func (v *Inventory) note(format string, args ...any) {
	if len(v.Notes) < mostFindings {
		v.Notes = append(v.Notes, fmt.Sprintf(format, args...))
	}
}

// Sound reports whether nothing was found.
func (v *Inventory) Sound() bool { return len(v.Findings) == 0 }

// Verify reads a book from end to end and holds it against what a record
// promises: everything in it is in its one stored form, points to what is there,
// and every answer can be marked. It writes nothing. progress, which may be nil,
// is told the number of answers read so far. The error is only that of ctx; what
// cannot be read is a finding.
func Verify(ctx context.Context, book Book, progress func(answers int)) (Inventory, error) {
	v := Inventory{sheets: map[string]*tabs.Sheet{}, people: map[scoring.LearnerID]bool{}, names: map[string][]scoring.Learner{},
		classNames: map[string]bool{}, sittings: map[string]bool{}, classes: map[string]bool{}}
	people, err := book.Learners(ctx)
	if err != nil {
		v.Find("the list of people cannot be read: %v", err)
	}
	for _, p := range people {
		v.person(p)
	}
	for _, p := range people {
		list, err := book.Sittings(ctx, Filter{Learner: p.ID})
		if err != nil {
			v.Find("the sittings of %s cannot be read: %v", p.Name, err)
		}
		for _, s := range list {
			if err := ctx.Err(); err != nil {
				return v, err
			}
			v.sitting(ctx, book, s)
			if progress != nil {
				progress(v.Answers)
			}
		}
	}
	v.groups(ctx, book)
	if v.Older > 0 {
		v.note("%s by an older version of the exercise: what was asked is as it was stored, and was not drawn again to compare",
			scoring.Count(v.Older, "sitting of a set is", "sittings of sets are"))
	}
	return v, ctx.Err()
}

func (v *Inventory) person(p scoring.Learner) {
	v.People++
	if clean, err := CheckLearner(p); err != nil {
		v.Find("person %q: %v", p.ID, err)
	} else if clean != p {
		v.Find("person %q is not in the form in which a book keeps people", p.ID)
	}
	key := NameKey(p.Name)
	for _, other := range v.names[key] {
		if Clash(p, other) {
			v.Find("two people are called %q", p.Name)
			break
		}
	}
	v.names[key] = append(v.names[key], p)
	v.people[p.ID] = true
}

func (v *Inventory) sitting(ctx context.Context, book Book, listed scoring.Sitting) {
	v.Sittings++
	if v.sittings[string(listed.ID)] {
		v.Find("sitting %s is there twice", listed.ID)
	}
	v.sittings[string(listed.ID)] = true
	// Whole, with what the list leaves out.
	s, err := book.Sitting(ctx, listed.ID)
	if err != nil {
		v.Find("%v", err)
		s = listed
	}
	if clean, err := CheckSitting(s); err != nil {
		v.Find("sitting %s: %v", s.ID, err)
	} else if !reflect.DeepEqual(clean, s) {
		v.Find("sitting %s is not in the form in which a book keeps sittings", s.ID)
	}
	if s.Ended.IsZero() {
		v.Unfinished++
	}
	s.Setup.Sheet = v.sheet(ctx, book, s.Setup.SheetID, "sitting "+string(s.ID))
	v.answers(ctx, book, s)
	if s.Origin.Road == scoring.RoadImported {
		v.Imported++
	}
	if kind, err := exercises.ByID(s.Setup.Kind); err == nil && s.Set().Kind != "" && s.Setup.Version < kind.Version() {
		v.Older++
	}
	if c, err := oneChain(ctx, book, Filter{Sitting: s.ID}); err == nil && !c.Begun.IsZero() {
		v.chainBegun(c)
	}
	if broken, err := verifySitting(ctx, book, s.ID); err == nil { // an error was said already
		for _, what := range broken {
			v.Find("sitting %s: %s", s.ID, what)
		}
	}
}

// chainBegun remembers when and why chains were begun over what was there.
func (v *Inventory) chainBegun(c Chain) {
	if v.Begun == nil {
		v.Begun = map[Begun]int{}
	}
	v.Begun[Begun{c.Begun, c.Why}]++
}

// Begun is a moment at which chains were begun over sittings that were there already.
type Begun struct {
	At  time.Time
	Why string
}

// sheet reads each sheet once; nil for none, or for one that is bad.
func (v *Inventory) sheet(ctx context.Context, book Book, id, user string) *tabs.Sheet {
	if id == "" {
		return nil
	}
	s, known := v.sheets[id]
	if known {
		return s
	}
	s, err := book.Sheet(ctx, id)
	switch {
	case err != nil:
		v.Find("the sheet of %s: %v", user, err)
		s = nil
	case s.Fingerprint() != id:
		v.Find("the sheet of %s is another one than its name says", user)
	}
	v.sheets[id] = s
	v.Sheets++
	return s
}

func (v *Inventory) answers(ctx context.Context, book Book, s scoring.Sitting) {
	last, before := -1, s.Started
	var marking scoring.Marking
	var back bool
	defer func() {
		if last < 0 {
			v.Empty++
		}
		if back || !s.Ended.IsZero() && s.Ended.Before(before) {
			v.note("sitting %s: the clock was set back while it was under way", s.ID)
		}
	}()
	for a, err := range book.Attempts(ctx, Filter{Sitting: s.ID, Silent: true}) {
		if err != nil {
			if ctx.Err() == nil {
				v.Find("the answers of sitting %s cannot be read on after number %d: %v", s.ID, last, err)
			}
			return
		}
		v.Answers++
		if clean, err := CheckAttempt(a); err != nil {
			v.Find("answer %s: %v", a.ID(), err)
		} else if !SameAttempt(clean, a) {
			v.Find("answer %s is not in the form in which a book keeps answers", a.ID())
		}
		switch {
		case a.Sitting != s.ID || a.Learner != s.Learner:
			v.Find("answer %s is another person's than its sitting", a.ID())
		case a.Trial.Ordinal <= last:
			v.Find("answer %s comes after number %d", a.ID(), last)
		}
		last = a.Trial.Ordinal
		back, before = back || a.At.Before(before), a.At
		if _, err := exercises.ByID(a.Trial.Kind); err != nil {
			v.Unknown++
			continue
		}
		if s.Setup.SheetID != "" && s.Setup.Sheet == nil {
			continue // said already
		}
		if problem := marks(&marking, a, s.Setup.Sheet); problem != "" {
			v.Find("answer %s cannot be marked: %s", a.ID(), problem)
		}
	}
}

// marks marks an answer and says what went wrong; empty when nothing did.
func marks(marking *scoring.Marking, a scoring.Attempt, sheet *tabs.Sheet) (problem string) {
	defer func() {
		if p := recover(); p != nil {
			problem = fmt.Sprint(p)
		}
	}()
	m := marking.Mark(a, sheet)
	numbers := []float64{m.Difference.E, m.Difference.L, m.Difference.C, m.Difference.H, m.Excess}
	for _, x := range m.Measures {
		numbers = append(numbers, x.Value)
	}
	for _, x := range numbers {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return "its mark holds a number that is none"
		}
	}
	return ""
}

// groups are classes, assignments and calibration sessions.
func (v *Inventory) groups(ctx context.Context, book Book) {
	classes, err := book.Classes(ctx)
	if err != nil {
		v.Find("the list of classes cannot be read: %v", err)
	}
	for _, c := range classes {
		v.Classes++
		v.classes[string(c.ID)] = true
		if clean, err := CheckClass(c); err != nil || clean != c {
			v.Find("class %q is not in the form in which a book keeps classes", c.ID)
		}
		if key := TitleKey(c.Name); v.classNames[key] {
			v.Find("two classes are called %q", c.Name)
		} else {
			v.classNames[key] = true
		}
		roster, err := book.Roster(ctx, c.ID)
		if err != nil {
			v.Find("the roster of class %s cannot be read: %v", c.Name, err)
		}
		for _, p := range roster {
			if !v.people[p.ID] {
				v.Find("somebody on the roster of class %s is not in the book", c.Name)
			}
		}
		members, err := book.Memberships(ctx, c.ID)
		if err != nil {
			v.Find("who is and was in class %s cannot be read: %v", c.Name, err)
		}
		for _, m := range members {
			if clean, err := CheckMembership(m); err != nil {
				v.Find("class %s: %v", c.Name, err)
			} else if clean != m {
				v.Find("class %s: somebody in it is not in the form in which a book keeps members", c.Name)
			}
		}
	}
	given, err := book.Assignments(ctx, "")
	if err != nil {
		v.Find("the list of assignments cannot be read: %v", err)
	}
	for _, a := range given {
		v.Assignments++
		for _, r := range a.Rulings {
			if clean, err := CheckRuling(r); err != nil {
				v.Find("assignment %d: %v", a.Number, err)
			} else if clean != r {
				v.Find("assignment %d: what was decided about it is not in the form in which a book keeps it", a.Number)
			}
		}
		a.Rulings = nil
		if clean, err := CheckAssignment(a); err != nil {
			v.Find("assignment %d: %v", a.Number, err)
		} else if !reflect.DeepEqual(clean, a) {
			v.Find("assignment %d is not in the form in which a book keeps assignments", a.Number)
		}
		if !v.classes[string(a.Class)] {
			v.Find("assignment %d is given to no class", a.Number)
		}
		v.sheet(ctx, book, a.Setup.SheetID, fmt.Sprintf("assignment %d", a.Number))
	}
	forms, err := book.Forms(ctx)
	if err != nil {
		v.Find("the list of forms of the test cannot be read: %v", err)
	}
	for _, f := range forms {
		v.Forms++
		if clean, err := CheckForm(f); err != nil {
			v.Find("form %s: %v", f.Name, err)
		} else if !reflect.DeepEqual(clean, f) {
			v.Find("form %s is not in the form in which a book keeps forms", f.Name)
		}
		for _, part := range f.Parts {
			v.sheet(ctx, book, part.SheetID, "form "+f.Name)
		}
	}
	panels, err := book.Panels(ctx)
	if err != nil {
		v.Find("the list of calibration sessions cannot be read: %v", err)
	}
	for _, p := range panels {
		v.Panels++
		if clean, err := CheckPanel(p); err != nil {
			v.Find("calibration session %q: %v", p.Name, err)
		} else if !reflect.DeepEqual(clean, p) {
			v.Find("calibration session %q is not in the form in which a book keeps them", p.Name)
		}
		v.sheet(ctx, book, p.Setup.SheetID, "calibration session "+p.Name)
	}
}
