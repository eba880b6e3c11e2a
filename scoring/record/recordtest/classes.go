package recordtest

import (
	"errors"
	"math/rand/v2"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Class enters a class with these people in it.
func Class(t testing.TB, b record.Book, name string, people ...scoring.Learner) scoring.Class {
	t.Helper()
	c, err := b.AddClass(ctx, scoring.Class{Name: name, At: Noon})
	must(t, err)
	for _, p := range people {
		must(t, b.Enrol(ctx, c.ID, p.ID, Noon))
	}
	return c
}

func roster(t *testing.T, b record.Classes, c scoring.Class) []scoring.Learner {
	t.Helper()
	list, err := b.Roster(ctx, c.ID)
	must(t, err)
	return list
}

func roles(t *testing.T, b record.Store) {
	ada, ben := Person(t, b, "Ada Finch"), Person(t, b, "Ben Moor")
	must(t, b.SetRole(ctx, ada.ID, scoring.RoleInstructor, Noon.Add(time.Hour)))
	ada.Role, ada.RoleAt = scoring.RoleInstructor, Noon.Add(time.Hour)
	list, err := b.Learners(ctx)
	must(t, err)
	same(t, "one role changed", list, []scoring.Learner{ada, ben})
	must(t, b.SetRole(ctx, ada.ID, "", Noon.Add(time.Hour)))
	got, err := b.Learner(ctx, ada.ID)
	must(t, err)
	same(t, "no role is a learner", got.Role, scoring.RoleLearner)
	same(t, "later, though the clock stood still", got.RoleAt, Noon.Add(time.Hour+time.Millisecond))
	wantIs(t, b.SetRole(ctx, "nobody", scoring.RoleLead, Noon.Add(time.Hour)), record.ErrNotFound)
	if b.SetRole(ctx, ben.ID, "queen", Noon.Add(time.Hour)) == nil {
		t.Error("taken: unknown role")
	}
}

func classes(t *testing.T, b record.Store) {
	zoe, ada, ben := Person(t, b, "zoë Quill"), Person(t, b, "Ada Finch"), Person(t, b, "Ben Moor")
	must(t, b.Append(ctx, Plain(Begin(t, b, ada, 0), 0)))

	spring := Class(t, b, "  Spring \x1b[31m20\u202e30 ", zoe, ada)
	autumn := Class(t, b, "autumn", ada, ben)
	same(t, "cleaned name", []any{spring.Name, spring.ID != "", spring.At}, []any{"Spring 2030", true, Noon})
	list, err := b.Classes(ctx)
	must(t, err)
	same(t, "by name", list, []scoring.Class{autumn, spring})
	found, err := b.ClassByName(ctx, "SPRING  2030")
	must(t, err)
	same(t, "found ignoring case", found, spring)
	_, err = b.AddClass(ctx, scoring.Class{Name: "AUTUMN", At: Noon})
	wantIs(t, err, record.ErrTaken)
	_, err = b.AddClass(ctx, scoring.Class{ID: spring.ID, Name: "Winter", At: Noon})
	wantIs(t, err, record.ErrTaken)

	same(t, "roster by name", roster(t, b, spring), []scoring.Learner{ada, zoe})
	must(t, b.Enrol(ctx, spring.ID, ada.ID, Noon)) // again
	same(t, "enrolled twice", roster(t, b, spring), []scoring.Learner{ada, zoe})
	wantIs(t, b.Enrol(ctx, spring.ID, "nobody", Noon), record.ErrNotFound)
	wantIs(t, b.Enrol(ctx, "none", ada.ID, Noon), record.ErrNotFound)
	_, err = b.Roster(ctx, "none")
	wantIs(t, err, record.ErrNotFound)
	_, err = b.ClassByName(ctx, "none")
	wantIs(t, err, record.ErrNotFound)

	must(t, b.Unenrol(ctx, spring.ID, ada.ID, Noon))
	wantIs(t, b.Unenrol(ctx, spring.ID, ada.ID, Noon), record.ErrNotFound)
	wantIs(t, b.Unenrol(ctx, "none", ada.ID, Noon), record.ErrNotFound)
	same(t, "off one roster", roster(t, b, spring), []scoring.Learner{zoe})
	same(t, "and on the other", roster(t, b, autumn), []scoring.Learner{ada, ben})

	later := func(m int) time.Time { return Noon.Add(time.Duration(m) * time.Minute) }
	members := func(c scoring.Class) []scoring.Membership {
		list, err := b.Memberships(ctx, c.ID)
		must(t, err)
		return list
	}
	was := scoring.Membership{Learner: ada.ID, At: Noon.Add(time.Millisecond), Off: true}
	is := scoring.Membership{Learner: zoe.ID, At: Noon}
	byID := []scoring.Membership{was, is}
	if was.Learner > is.Learner {
		byID = []scoring.Membership{is, was}
	}
	same(t, "who went is remembered, as later though the clock stood still", members(spring), byID)
	for _, step := range []struct {
		says string
		in   scoring.Membership
		off  bool
	}{
		{"an earlier coming", scoring.Membership{At: Noon}, true},
		{"a later coming", scoring.Membership{At: later(5)}, false},
		{"an earlier going", scoring.Membership{At: later(4), Off: true}, false},
		{"a going at the same time", scoring.Membership{At: later(5), Off: true}, false},
		{"a later coming of one who is there", scoring.Membership{At: later(7)}, false},
		{"a going between the two", scoring.Membership{At: later(6), Off: true}, false},
		{"a later going", scoring.Membership{At: later(8), Off: true}, true},
		{"a coming at the same time", scoring.Membership{At: later(8)}, false},
	} {
		step.in.Learner = ada.ID
		must(t, b.PutMembership(ctx, spring.ID, step.in))
		want := []scoring.Learner{ada, zoe}
		if step.off {
			want = want[1:]
		}
		same(t, step.says, roster(t, b, spring), want)
	}
	must(t, b.Unenrol(ctx, spring.ID, ada.ID, Noon)) // the clock is behind, and still
	same(t, "off again", roster(t, b, spring), []scoring.Learner{zoe})
	must(t, b.PutMembership(ctx, spring.ID, scoring.Membership{Learner: ada.ID, At: later(8)}))
	same(t, "what was done last here stands", roster(t, b, spring), []scoring.Learner{zoe})
	must(t, b.Enrol(ctx, spring.ID, ada.ID, Noon)) // again with a clock that is behind
	must(t, b.PutMembership(ctx, spring.ID, scoring.Membership{Learner: ada.ID, At: later(8).Add(time.Millisecond), Off: true}))
	same(t, "and the coming after it", roster(t, b, spring), []scoring.Learner{ada, zoe})
	must(t, b.Unenrol(ctx, spring.ID, ada.ID, Noon))
	must(t, b.PutMembership(ctx, spring.ID, scoring.Membership{Learner: ben.ID, At: later(8), Off: true}))
	same(t, "gone before they came", roster(t, b, spring), []scoring.Learner{zoe})
	wantIs(t, b.PutMembership(ctx, spring.ID, scoring.Membership{Learner: "nobody", At: Noon}), record.ErrNotFound)
	wantIs(t, b.PutMembership(ctx, "none", scoring.Membership{Learner: ada.ID, At: Noon}), record.ErrNotFound)
	if b.PutMembership(ctx, spring.ID, scoring.Membership{Learner: ada.ID}) == nil {
		t.Error("taken: a membership without a time")
	}
	_, err = b.Memberships(ctx, "none")
	wantIs(t, err, record.ErrNotFound)

	must(t, b.RemoveClass(ctx, autumn.ID))
	wantIs(t, b.RemoveClass(ctx, autumn.ID), record.ErrNotFound)
	_, err = b.Roster(ctx, autumn.ID)
	wantIs(t, err, record.ErrNotFound)
	people, err := b.Learners(ctx)
	must(t, err)
	same(t, "nobody is lost with a class", people, []scoring.Learner{ada, ben, zoe})
	same(t, "no answer is lost with a class", len(All(t, b, record.Filter{})), 1)
	same(t, "empty under the same name again", len(roster(t, b, Class(t, b, "Autumn"))), 0)

	for _, name := range []string{"", " ", "\u202e", "\x1b[2J", "---"} {
		if _, err := b.AddClass(ctx, scoring.Class{Name: name, At: Noon}); err == nil {
			t.Errorf("taken: class %q", name)
		}
	}
	if _, err := b.AddClass(ctx, scoring.Class{Name: "no time"}); err == nil {
		t.Error("taken: class without a time")
	}
	if _, err := b.AddClass(ctx, scoring.Class{ID: "a b", Name: "bad identifier", At: Noon}); err == nil {
		t.Error("taken: class with a space in its identifier")
	}
}

// RandomAssignment is an assignment that uses every field there is.
func RandomAssignment(c scoring.ClassID, rng *rand.Rand) scoring.Assignment {
	var a scoring.Assignment
	Fill(&a, rng)
	a.ID, a.Number, a.Class, a.Rulings = "", 0, c, nil
	a.Setup.Kind, a.Setup.SheetID = "value-first", ""
	a.Setup.Adaptive, a.Setup.Experience, a.Setup.Again = false, nil, nil
	switch rng.IntN(3) {
	case 0:
		a.Pass = scoring.PassMark{Rule: scoring.PassNone}
	case 1:
		a.Pass = scoring.PassMark{Rule: scoring.PassMedian, Value: 0.1 + 3*rng.Float64()}
	case 2:
		a.Pass = scoring.PassMark{Rule: scoring.PassShare, Value: 1 - rng.Float64()}
	}
	return a
}

func assignments(t *testing.T, b record.Store) {
	rng := rand.New(rand.NewPCG(8, 2))
	spring, autumn := Class(t, b, "Spring"), Class(t, b, "Autumn")
	sheet := Sheet(t)
	must(t, b.PutSheet(ctx, sheet))
	var want []scoring.Assignment
	for i := range 12 {
		class := spring
		if i%3 == 0 {
			class = autumn
		}
		a := RandomAssignment(class.ID, rng)
		if i%2 == 0 {
			a.Setup.Sheet = sheet
		}
		got, err := b.AddAssignment(ctx, a)
		must(t, err)
		a.ID, a.Number = got.ID, i+1
		if a.Setup.Sheet != nil {
			a.Setup.Sheet, a.Setup.SheetID = nil, sheet.Fingerprint()
		}
		same(t, "assignment", got, a)
		got, err = b.Assignment(ctx, i+1)
		must(t, err)
		same(t, "found by number", got, a)
		want = append(want, a)
	}
	list, err := b.Assignments(ctx, "")
	must(t, err)
	same(t, "all", list, want)
	list, err = b.Assignments(ctx, autumn.ID)
	must(t, err)
	same(t, "of one class", list, []scoring.Assignment{want[0], want[3], want[6], want[9]})

	a := want[0]
	_, err = b.AddAssignment(ctx, a)
	wantIs(t, err, record.ErrTaken)
	a.ID, a.Class = "", "none"
	_, err = b.AddAssignment(ctx, a)
	wantIs(t, err, record.ErrNotFound)
	a.Class, a.Setup.SheetID = spring.ID, "0000000000000000"
	_, err = b.AddAssignment(ctx, a)
	wantIs(t, err, record.ErrNotFound)
	for _, number := range []int{-1, 0, 13} {
		_, err = b.Assignment(ctx, number)
		wantIs(t, err, record.ErrNotFound)
	}
	for what, change := range map[string]func(*scoring.Assignment){
		"no kind":          func(a *scoring.Assignment) { a.Setup.Kind = "" },
		"escape in a task": func(a *scoring.Assignment) { a.Setup.Task = "\x1b[2J" },
		"no due date":      func(a *scoring.Assignment) { a.Due = time.Time{} },
		"share above 1":    func(a *scoring.Assignment) { a.Pass = scoring.PassMark{Rule: scoring.PassShare, Value: 80} },
		"negative median":  func(a *scoring.Assignment) { a.Pass = scoring.PassMark{Rule: scoring.PassMedian, Value: -1} },
		"unknown rule":     func(a *scoring.Assignment) { a.Pass = scoring.PassMark{Rule: "best", Value: 1} },
		"value that is no number": func(a *scoring.Assignment) {
			z := 0.0
			a.Pass = scoring.PassMark{Rule: scoring.PassMedian, Value: z / z}
		},
	} {
		a := RandomAssignment(spring.ID, rng)
		change(&a)
		if _, err := b.AddAssignment(ctx, a); err == nil {
			t.Errorf("taken: assignment with %s", what)
		}
	}

	must(t, b.RemoveClass(ctx, spring.ID))
	list, err = b.Assignments(ctx, "")
	must(t, err)
	same(t, "without those of the class that is gone", list, []scoring.Assignment{want[0], want[3], want[6], want[9]})
	must(t, b.RemoveClass(ctx, autumn.ID))
	next, err := b.AddAssignment(ctx, RandomAssignment(Class(t, b, "Winter").ID, rng))
	must(t, err)
	same(t, "no number is given twice", next.Number, 13)

	// From another book: a number stays where nobody had it, and whoever comes
	// back has their own.
	for _, c := range []struct {
		says       string
		id         scoring.AssignmentID
		wish, gets int
	}{
		{"a number that was never given", "X1", 20, 20}, {"between given ones", "X2", 17, 17}, {"one of a class that is gone", "X3", 4, 21},
		{"one that is there", "X4", 13, 22}, {"none", "X5", 0, 23}, {"an impossible one", "X6", -3, 24}, {"one that is too high", "X7", 10_000, 25},
		{"back, with another number", want[1].ID, 30, 2}, {"back, without one", want[2].ID, 0, 3},
	} {
		a := RandomAssignment(next.Class, rng)
		a.ID, a.Number = c.id, c.wish
		got, err := b.AddAssignment(ctx, a)
		must(t, err)
		same(t, c.says, got.Number, c.gets)
	}
	list, err = b.Assignments(ctx, "")
	must(t, err)
	var numbers []int
	for _, a := range list {
		numbers = append(numbers, a.Number)
	}
	same(t, "by number", numbers, []int{2, 3, 13, 17, 20, 21, 22, 23, 24, 25})
}

// classMerge: classes come in all together or not at all, too.
func classMerge(t *testing.T, b record.Store) {
	rng := rand.New(rand.NewPCG(9, 9))
	ada := Person(t, b, "Ada Finch")
	spring := Class(t, b, "Spring", ada)
	enter := func(m record.Book) error {
		autumn, err := m.AddClass(ctx, scoring.Class{Name: "Autumn", At: Noon})
		must(t, err)
		_, err = m.AddClass(ctx, scoring.Class{Name: "SPRING", At: Noon})
		wantIs(t, err, record.ErrTaken) // and the transaction goes on
		ben, err := m.AddLearner(ctx, scoring.Learner{Name: "Ben Moor", At: Noon})
		must(t, err)
		must(t, m.Enrol(ctx, autumn.ID, ben.ID, Noon))
		must(t, m.Unenrol(ctx, spring.ID, ada.ID, Noon))
		must(t, m.SetRole(ctx, ada.ID, scoring.RoleLead, Noon.Add(time.Hour)))
		a, err := m.AddAssignment(ctx, RandomAssignment(autumn.ID, rng))
		must(t, err)
		got, err := m.Assignment(ctx, a.Number)
		must(t, err)
		same(t, "assignment from inside", got, a)
		list, err := m.Assignments(ctx, autumn.ID)
		must(t, err)
		same(t, "assignments from inside", list, []scoring.Assignment{a})
		same(t, "roster from inside", roster(t, m, autumn), []scoring.Learner{ben})
		found, err := m.ClassByName(ctx, "autumn")
		must(t, err)
		same(t, "class from inside", found, autumn)
		all, err := m.Classes(ctx)
		must(t, err)
		same(t, "classes from inside", len(all), 2)
		return nil
	}
	stop := errors.New("stop")
	wantIs(t, b.Merge(ctx, func(m record.Book) error {
		must(t, enter(m))
		must(t, m.RemoveClass(ctx, spring.ID))
		return stop
	}), stop)
	all, err := b.Classes(ctx)
	must(t, err)
	same(t, "rolled back", all, []scoring.Class{spring})
	same(t, "roster rolled back", roster(t, b, spring), []scoring.Learner{ada})
	list, err := b.Assignments(ctx, "")
	must(t, err)
	same(t, "assignments rolled back", len(list), 0)

	must(t, b.Merge(ctx, enter))
	all, err = b.Classes(ctx)
	must(t, err)
	same(t, "merged", len(all), 2)
	same(t, "roster merged", len(roster(t, b, spring)), 0)
	got, err := b.Learner(ctx, ada.ID)
	must(t, err)
	same(t, "role merged", got.Role, scoring.RoleLead)
}
