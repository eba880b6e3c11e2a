// Package recordtest is the proof that every book must pass, whatever keeps it.
package recordtest

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

var ctx = context.Background()

// Noon is the time at which the tests' people are entered.
var Noon = time.Date(2030, 3, 1, 12, 0, 0, 0, time.UTC)

// Run proves the book that open gives; open is called for each part and gives
// an empty one.
func Run(t *testing.T, open func(*testing.T) record.Store) {
	for _, part := range []struct {
		name string
		test func(*testing.T, record.Store)
	}{
		{"learners", learners}, {"sheets", sheets}, {"sittings", sittings}, {"round trip", roundTrip},
		{"append", appending}, {"filters", filters}, {"writing while reading", writingWhileReading},
		{"at once", atOnce}, {"refusals", refusals}, {"merge", merge}, {"chains", chains}, {"origins", origins}, {"panels", panels}, {"forms", forms}, {"silence", silence}, {"silence of forms", silenceOfForms}, {"panels at once", panelAtOnce},
		{"roles", roles}, {"classes", classes}, {"doors", doors}, {"assignments", assignments}, {"rulings", rulings}, {"class merge", classMerge}, {"alike", alike}, {"renaming", renaming}, {"joining", joining}, {"erasing", erasing}, {"labels", labels},
		{"random operations", randomOperations},
	} {
		t.Run(part.name, func(t *testing.T) {
			b := open(t)
			defer func() {
				if err := b.Close(); err != nil {
					t.Error(err)
				}
			}()
			part.test(t, b)
		})
	}
}

// Person enters a simulated person.
func Person(t testing.TB, b record.Book, name string) scoring.Learner {
	t.Helper()
	l, err := b.AddLearner(ctx, scoring.Learner{Name: name, At: Noon, Simulated: true})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Begin enters a plain sitting that starts so many minutes after noon.
func Begin(t testing.TB, b record.Book, l scoring.Learner, minutes int) scoring.Sitting {
	t.Helper()
	at := Noon.Add(time.Duration(minutes) * time.Minute)
	s := scoring.Sitting{ID: record.NewSittingID(at), Learner: l.ID, Started: at, Setup: exercises.Setup{Kind: exercises.ValueFirst, Count: 3}}
	if err := b.StartSitting(ctx, s); err != nil {
		t.Fatal(err)
	}
	return s
}

// Plain is an ordinary answer, so many seconds into its sitting.
func Plain(s scoring.Sitting, ordinal int) scoring.Attempt {
	return scoring.Attempt{Sitting: s.ID, Learner: s.Learner, At: s.Started.Add(time.Duration(ordinal+1) * time.Second),
		Trial: exercises.Trial{Kind: s.Setup.Kind, Version: 1, Ordinal: ordinal, Target: colour.SRGB{R: 200, G: 180, B: uint8(ordinal)}},
		Answer: exercises.Answer{Colour: &colour.SRGB{R: 201, G: 180, B: 150}, Tab: "L74 C16 h86", Group: "L74",
			First: 1500 * time.Millisecond, Total: 4 * time.Second, Looks: 1}}
}

// All reads the attempts that a filter takes.
func All(t testing.TB, b record.Book, f record.Filter) []scoring.Attempt {
	t.Helper()
	f.Silent = true
	var list []scoring.Attempt
	for a, err := range b.Attempts(ctx, f) {
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, a)
	}
	return list
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func wantIs(t testing.TB, err, target error) {
	t.Helper()
	if !errors.Is(err, target) {
		t.Errorf("error %v, want %v", err, target)
	}
}

func same(t testing.TB, what string, got, want any) {
	t.Helper()
	if d := cmp.Diff(want, got, cmpopts.EquateEmpty(), cmpopts.IgnoreUnexported(tabs.Sheet{})); d != "" {
		t.Errorf("%s (-want +got):\n%s", what, d)
	}
}

func learners(t *testing.T, b record.Store) {
	zoe := Person(t, b, "  zoë \t Quill ")
	same(t, "cleaned name and filled-in role", []any{zoe.Name, zoe.Role, zoe.ID != ""}, []any{"zoë Quill", scoring.RoleLearner, true})
	lead, err := b.AddLearner(ctx, scoring.Learner{ID: "own-id.1", Name: "Abe Thorn", Role: scoring.RoleLead, At: Noon.Add(1234567 * time.Nanosecond)})
	must(t, err)
	same(t, "time to the millisecond", lead.At, Noon.Add(time.Millisecond))

	_, err = b.AddLearner(ctx, scoring.Learner{Name: "ZOË quill", At: Noon})
	wantIs(t, err, record.ErrTaken)
	_, err = b.AddLearner(ctx, scoring.Learner{ID: lead.ID, Name: "Somebody Else", At: Noon})
	wantIs(t, err, record.ErrTaken)

	found, err := b.LearnerByName(ctx, "Zoë QUILL")
	must(t, err)
	same(t, "found by name", found, zoe)
	found, err = b.Learner(ctx, lead.ID)
	must(t, err)
	same(t, "found by identifier", found, lead)
	_, err = b.LearnerByName(ctx, "Nobody")
	wantIs(t, err, record.ErrNotFound)
	_, err = b.Learner(ctx, "nobody")
	wantIs(t, err, record.ErrNotFound)

	list, err := b.Learners(ctx)
	must(t, err)
	same(t, "by name", list, []scoring.Learner{lead, zoe})
}

// Sheet is a small invented sheet.
func Sheet(t testing.TB) *tabs.Sheet {
	t.Helper()
	lib, err := tabs.New("three", "made up", []tabs.Group{
		{Name: "L80", Tabs: []tabs.Tab{{Name: "L80 C10 h90", Lab: colour.Lab{L: 80, B: 10}}, {Name: "L80 C20 h90", Lab: colour.Lab{L: 80, B: 20}}}},
		{Name: "L70", Tabs: []tabs.Tab{{Name: "L70 C10 h90", Lab: colour.Lab{L: 70, B: 10}}}}})
	must(t, err)
	return tabs.NewSheet(lib, nil)
}

func sheets(t *testing.T, b record.Store) {
	s := Sheet(t)
	must(t, b.PutSheet(ctx, s))
	must(t, b.PutSheet(ctx, s))
	got, err := b.Sheet(ctx, s.Fingerprint())
	must(t, err)
	same(t, "fingerprint", got.Fingerprint(), s.Fingerprint())
	same(t, "tab", []any{got.Len(), got.Name(0), got.Shown(2)}, []any{3, s.Name(0), s.Shown(2)})
	_, err = b.Sheet(ctx, "0000000000000000")
	wantIs(t, err, record.ErrNotFound)
}

func sittings(t *testing.T, b record.Store) {
	rng := rand.New(rand.NewPCG(1, 2))
	l := Person(t, b, "Ada Finch")
	sheet := Sheet(t)
	must(t, b.PutSheet(ctx, sheet))
	var want []scoring.Sitting
	for i := range 20 {
		s := RandomSitting(l.ID, scoring.SittingID(fmt.Sprintf("S%02d", i)), rng)
		s.Started = Noon.Add(time.Duration(i) * time.Hour)
		if i%2 == 0 {
			s.Setup.Sheet = sheet
		}
		must(t, b.StartSitting(ctx, s))
		wantIs(t, b.StartSitting(ctx, s), record.ErrTaken)
		s, err := record.CheckSitting(s)
		must(t, err)
		got, err := b.Sitting(ctx, s.ID)
		must(t, err)
		same(t, "sitting", got, s)
		want = append(want, s)
	}
	ended := Noon.Add(90 * time.Minute)
	must(t, b.EndSitting(ctx, want[3].ID, ended, true))
	must(t, b.EndSitting(ctx, want[3].ID, ended.Add(time.Hour), false)) // changes nothing
	want[3].Ended, want[3].Left = ended, true
	for i := range want {
		want[i].Setup.Experience = nil
	}
	got, err := b.Sittings(ctx, record.Filter{})
	must(t, err)
	same(t, "listing", got, want)
	got, err = b.Sittings(ctx, record.Filter{Unfinished: true})
	must(t, err)
	same(t, "unfinished", len(got), 19)

	wantIs(t, b.EndSitting(ctx, "none", ended, true), record.ErrNotFound)
	_, err = b.Sitting(ctx, "none")
	wantIs(t, err, record.ErrNotFound)
	s := want[0]
	s.ID, s.Learner = "S99", "nobody"
	wantIs(t, b.StartSitting(ctx, s), record.ErrNotFound)
	s.Learner, s.Setup.SheetID = l.ID, "0000000000000000"
	wantIs(t, b.StartSitting(ctx, s), record.ErrNotFound)
}

// roundTrip puts in attempts with every field set, and takes out the same.
func roundTrip(t *testing.T, b record.Store) {
	rng := rand.New(rand.NewPCG(3, 1))
	s := Begin(t, b, Person(t, b, "Ada Finch"), 0)
	var want []scoring.Attempt
	for i := range 300 {
		a := RandomAttempt(s, i, rng)
		must(t, b.Append(ctx, a))
		must(t, b.Append(ctx, a)) // the same again is no error
		want = append(want, a)
	}
	got := All(t, b, record.Filter{})
	same(t, "attempts", got, want)
	i := 0
	for a, err := range b.Attempts(ctx, record.Filter{Light: true}) {
		must(t, err)
		same(t, "read lightly", a, record.Lighten(want[i]))
		a.Trial.Version, a.Answer.First = want[i].Trial.Version, want[i].Answer.First
		a.Answer.Looks, a.Answer.TimedOut = want[i].Answer.Looks, want[i].Answer.TimedOut
		if a.Cut == record.SameAttempt(a, want[i]) {
			t.Errorf("attempt %d read lightly: cut is %v, and that is not so", i, a.Cut)
		}
		if a.Cut {
			if err := b.Append(ctx, a); err == nil {
				t.Errorf("attempt %d was entered without some of its parts", i)
			}
		}
		i++
	}
	same(t, "number read lightly", i, len(want))
}

func appending(t *testing.T, b record.Store) {
	ada, ben := Person(t, b, "Ada Finch"), Person(t, b, "Ben Moor")
	s := Begin(t, b, ada, 0)
	a := Plain(s, 0)
	must(t, b.Append(ctx, a))
	must(t, b.Append(ctx, a))
	other := Plain(s, 0)
	other.Answer.Tab = "another"
	wantIs(t, b.Append(ctx, other), record.ErrTaken)
	other = Plain(s, 0)
	other.Trial.Patches = []exercises.Patch{{Role: "more"}}
	wantIs(t, b.Append(ctx, other), record.ErrTaken)
	other = Plain(s, 1)
	other.Learner = ben.ID
	if b.Append(ctx, other) == nil {
		t.Error("an answer by another person was taken")
	}
	other.Sitting = "none"
	wantIs(t, b.Append(ctx, other), record.ErrNotFound)
	must(t, b.Append(ctx, Plain(s, 1)))
	must(t, b.EndSitting(ctx, s.ID, Noon.Add(time.Hour), false))
	wantIs(t, b.Append(ctx, Plain(s, 2)), record.ErrEnded)
	must(t, b.Append(ctx, Plain(s, 1)))
	same(t, "what was taken", All(t, b, record.Filter{}), []scoring.Attempt{Plain(s, 0), Plain(s, 1)})
}

func filters(t *testing.T, b record.Store) {
	ada, ben := Person(t, b, "Ada Finch"), Person(t, b, "Ben Moor")
	// Entered out of order, to be listed in order.
	late, early, bens := Begin(t, b, ada, 60), Begin(t, b, ada, 0), Begin(t, b, ben, 30)
	for _, s := range []scoring.Sitting{late, bens, early} {
		for i := range 3 {
			a := Plain(s, i)
			if i == 2 {
				a.Trial.Kind = exercises.LineUp
			}
			must(t, b.Append(ctx, a))
		}
	}
	exam := Begin(t, b, ben, 90)
	exam.ID, exam.Within, exam.Started = "E1", "exam:one", exam.Started.Add(time.Hour)
	must(t, b.StartSitting(ctx, exam))
	must(t, b.Append(ctx, Plain(exam, 0)))
	must(t, b.EndSitting(ctx, late.ID, Noon.Add(2*time.Hour), false))

	name := map[scoring.SittingID]string{late.ID: "late", early.ID: "early", bens.ID: "bens", exam.ID: "exam"}
	for _, c := range []struct {
		name string
		f    record.Filter
		want string
	}{
		{"all", record.Filter{}, "early0 early1 early2 bens0 bens1 bens2 late0 late1 late2 exam0 "},
		{"learner", record.Filter{Learner: ada.ID}, "early0 early1 early2 late0 late1 late2 "},
		{"sitting", record.Filter{Sitting: bens.ID}, "bens0 bens1 bens2 "},
		{"kind", record.Filter{Kind: "line-up"}, "early2 bens2 late2 "},
		{"unknown kind", record.Filter{Kind: "no-such"}, ""},
		{"within", record.Filter{Within: "exam:one"}, "exam0 "},
		{"unfinished", record.Filter{Learner: ada.ID, Unfinished: true}, "early0 early1 early2 "},
		{"from", record.Filter{From: late.Started.Add(2 * time.Second)}, "late1 late2 exam0 "},
		{"to", record.Filter{To: bens.Started.Add(2 * time.Second)}, "early0 early1 early2 bens0 "},
		{"from a moment after", record.Filter{From: late.Started.Add(2*time.Second + time.Nanosecond)}, "late2 exam0 "},
		{"to a moment after", record.Filter{To: bens.Started.Add(2*time.Second + time.Nanosecond)}, "early0 early1 early2 bens0 bens1 "},
		{"nobody", record.Filter{Learner: "nobody"}, ""},
	} {
		got := ""
		for _, a := range All(t, b, c.f) {
			got += fmt.Sprintf("%s%d ", name[a.Sitting], a.Trial.Ordinal)
		}
		same(t, c.name, got, c.want)
		got = ""
		c.f.Light = true
		for _, a := range All(t, b, c.f) {
			got += fmt.Sprintf("%s%d ", name[a.Sitting], a.Trial.Ordinal)
		}
		same(t, c.name+", read lightly", got, c.want)
	}
	list, err := b.Sittings(ctx, record.Filter{Learner: ada.ID, From: Noon.Add(time.Minute)})
	must(t, err)
	if len(list) != 1 || list[0].ID != late.ID {
		t.Errorf("sittings from one minute past noon: %v", list)
	}
	for range b.Attempts(ctx, record.Filter{}) {
		break // stopping early must not hang the book
	}
	stopped, cancel := context.WithCancel(ctx)
	cancel()
	for _, err := range b.Attempts(stopped, record.Filter{}) {
		wantIs(t, err, context.Canceled)
	}
}

func writingWhileReading(t *testing.T, b record.Store) {
	s := Begin(t, b, Person(t, b, "Ada Finch"), 0)
	for i := range 3 {
		must(t, b.Append(ctx, Plain(s, i)))
	}
	n := 0
	for a, err := range b.Attempts(ctx, record.Filter{}) {
		must(t, err)
		must(t, b.Append(ctx, Plain(s, 10+a.Trial.Ordinal)))
		if _, err := b.Sitting(ctx, a.Sitting); err != nil {
			t.Fatal(err)
		}
		n++
	}
	same(t, "seen by the loop, in the book after it", []int{n, len(All(t, b, record.Filter{}))}, []int{3, 6})
}

func atOnce(t *testing.T, b record.Store) {
	var wait sync.WaitGroup
	for i := range 8 {
		l := Person(t, b, fmt.Sprintf("Person %d", i))
		wait.Go(func() {
			s := Begin(t, b, l, i)
			for j := range 10 {
				if err := b.Append(ctx, Plain(s, j)); err != nil {
					t.Error(err)
				}
				for _, err := range b.Attempts(ctx, record.Filter{Learner: l.ID}) {
					if err != nil {
						t.Error(err)
					}
				}
			}
		})
	}
	wait.Wait()
	same(t, "answers of eight people", len(All(t, b, record.Filter{})), 80)
}

// refusals: nothing that could harm a terminal, a table or a format goes in.
func refusals(t *testing.T, b record.Store) {
	l := Person(t, b, "Ada Finch")
	s := Begin(t, b, l, 0)
	bad := func(what string, change func(*scoring.Attempt)) {
		a := Plain(s, 0)
		change(&a)
		if b.Append(ctx, a) == nil {
			t.Errorf("taken: %s", what)
		}
	}
	nan := func() float64 { z := 0.0; return z / z }()
	bad("no time", func(a *scoring.Attempt) { a.At = time.Time{} })
	bad("negative ordinal", func(a *scoring.Attempt) { a.Trial.Ordinal = -1 })
	bad("no kind", func(a *scoring.Attempt) { a.Trial.Kind = "" })
	bad("escape in a tab", func(a *scoring.Attempt) { a.Answer.Tab = "\x1b[31mL78" })
	bad("override in a group", func(a *scoring.Attempt) { a.Answer.Group = "L\u202e87" })
	bad("level not a number", func(a *scoring.Attempt) { a.Trial.Level = nan })
	bad("number not a number", func(a *scoring.Attempt) { a.Answer.Number = &nan })
	bad("not UTF-8", func(a *scoring.Attempt) { a.Answer.Choice = "\xff" })
	bad("role with a newline", func(a *scoring.Attempt) { a.Trial.Patches = []exercises.Patch{{Role: "a\nb"}} })
	for _, name := range []string{"", " ", "\u202e", "\x1b[2J", "---"} {
		if _, err := b.AddLearner(ctx, scoring.Learner{Name: name, At: Noon}); err == nil {
			t.Errorf("taken: learner %q", name)
		}
	}
	if _, err := b.AddLearner(ctx, scoring.Learner{Name: "Cy Vale", At: Noon, Role: "queen"}); err == nil {
		t.Error("taken: unknown role")
	}
	if _, err := b.AddLearner(ctx, scoring.Learner{ID: "a b", Name: "Cy Vale", At: Noon}); err == nil {
		t.Error("taken: identifier with a space")
	}
	s.ID, s.Setup.Experience = "long", make([]exercises.Outcome, record.MostExperience+1)
	if b.StartSitting(ctx, s) == nil {
		t.Error("taken: more experience than a book keeps")
	}
	same(t, "after refusals", len(All(t, b, record.Filter{})), 0)
}
