package recordtest

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Form is a form of named exercises with so many items each, drawn by a seed.
func Form(t testing.TB, name string, seed byte, items int, sheet *tabs.Sheet, kinds ...exercises.KindID) record.Form {
	t.Helper()
	test, err := scoring.NewTestOf(name, kinds, items, sheet)
	must(t, err)
	return DrawnForm(t, test, seed)
}

// DrawnForm is a form of the parts of a test, drawn by a seed.
func DrawnForm(t testing.TB, test scoring.Set, seed byte) record.Form {
	t.Helper()
	drawn, err := test.Drawn(rand.NewChaCha8([32]byte{seed}))
	must(t, err)
	return record.Form{Name: test.Ref.Name, Parts: drawn.Parts, Levels: scoring.HouseCuts, At: Noon}
}

// forms: what was laid down comes back as it was, and nothing else does.
func forms(t *testing.T, b record.Store) {
	sheet := Sheet(t)
	form := Form(t, "spring", 1, 4, sheet, exercises.ValueFirst, exercises.LineUp)
	form.Levels = scoring.Cuts{{Level: "passed", From: 0.625}, {Level: "not yet", From: 0}}
	_, err := b.AddForm(ctx, form)
	wantIs(t, err, record.ErrNotFound) // its sheet
	must(t, b.PutSheet(ctx, sheet))
	other := form
	other.Class = "no-such"
	_, err = b.AddForm(ctx, other)
	wantIs(t, err, record.ErrNotFound)

	laid, err := b.AddForm(ctx, form)
	must(t, err)
	_, err = b.AddForm(ctx, form)
	wantIs(t, err, record.ErrTaken)
	// One of the same name from elsewhere stands beside it, and one for a class.
	class := Class(t, b, "Monday", Person(t, b, "Ada Finch"))
	foreign := Form(t, "spring", 2, 4, sheet, exercises.ValueFirst, exercises.LineUp)
	foreign.Class, foreign.At = class.ID, Noon.Add(-time.Hour)
	foreign, err = b.AddForm(ctx, foreign)
	must(t, err)
	list, err := b.Forms(ctx)
	must(t, err)
	same(t, "by time", list, []record.Form{foreign, laid})
	if laid.Print() != form.Print() || laid.Print() == foreign.Print() {
		t.Errorf("fingerprints %s, %s, %s", form.Print(), laid.Print(), foreign.Print())
	}
	for i, part := range laid.Parts {
		if part.Sheet != nil || part.SheetID == "" || part.Seed != form.Parts[i].Seed {
			t.Errorf("part %d is kept as %+v", i, part)
		}
	}
	must(t, b.CloseForm(ctx, foreign.Print(), Noon.Add(time.Hour)))
	list, err = b.Forms(ctx)
	must(t, err)
	closed := foreign
	closed.Closed = Noon.Add(time.Hour)
	same(t, "one is closed", list, []record.Form{closed, laid})
	same(t, "whatever its fingerprint says", closed.Print(), foreign.Print())
	must(t, b.CloseForm(ctx, foreign.Print(), time.Time{}))
	list, err = b.Forms(ctx)
	must(t, err)
	same(t, "and opened again", list, []record.Form{foreign, laid})
	wantIs(t, b.CloseForm(ctx, "0123456789abcdef", Noon), record.ErrNotFound)
	stop := errors.New("stop")
	wantIs(t, b.Merge(ctx, func(m record.Book) error {
		_, err := m.AddForm(ctx, Form(t, "late", 3, 4, sheet, exercises.ValueFirst))
		must(t, err)
		must(t, m.CloseForm(ctx, laid.Print(), Noon))
		list, err := m.Forms(ctx)
		same(t, "seen from inside", []any{len(list), list[1].Closed}, []any{3, Noon})
		return errors.Join(err, stop)
	}), stop)
	list, err = b.Forms(ctx)
	must(t, err)
	same(t, "given up", list, []record.Form{foreign, laid})

	for what, change := range map[string]func(*record.Form){
		"a name with a space": func(f *record.Form) { f.Name = "a b" },
		"a name with a dot":   func(f *record.Form) { f.Name = "a.b" },
		"no time":             func(f *record.Form) { f.At = time.Time{} },
		"no parts":            func(f *record.Form) { f.Parts = nil },
		"no levels":           func(f *record.Form) { f.Levels = nil },
		"a level of escapes":  func(f *record.Form) { f.Levels = scoring.Cuts{{Level: "a\x1b", From: 0.5}, {Level: "b"}} },
		"no seed":             func(f *record.Form) { f.Parts[1].Seed = 0 },
		"items of practice":   func(f *record.Form) { f.Parts[0].Stream = "" },
		"comments":            func(f *record.Form) { f.Parts[0].Silent = false },
		"adaptive":            func(f *record.Form) { f.Parts[0].Adaptive = true },
	} {
		f := Form(t, "refused", 4, 4, sheet, exercises.ValueFirst, exercises.LineUp)
		change(&f)
		if _, err := b.AddForm(ctx, f); err == nil {
			t.Errorf("taken: %s", what)
		}
	}
}

// silence: what was answered in a silent drill comes out only when it has ended, or
// for what may know it.
func silence(t *testing.T, b record.Store) {
	ada := Person(t, b, "Ada Finch")
	s := Begin(t, b, ada, 0)
	silent := s
	silent.ID, silent.Started, silent.Setup.Silent = "SILENT", s.Started.Add(time.Hour), true
	must(t, b.StartSitting(ctx, silent))
	for i := range 3 {
		must(t, b.Append(ctx, Plain(s, i)))
		must(t, b.Append(ctx, Plain(silent, i)))
	}
	count := func(f record.Filter) (n int) {
		for _, err := range b.Attempts(ctx, f) {
			must(t, err)
			n++
		}
		return n
	}
	for _, f := range []record.Filter{{}, {Learner: ada.ID}, {Light: true}, {Kind: string(s.Setup.Kind)}, {Unfinished: true}} {
		same(t, "mid-drill", count(f), 3)
		f.Silent = true
		same(t, "mid-drill, for what may know it", count(f), 6)
	}
	same(t, "the drill itself", count(record.Filter{Sitting: silent.ID}), 0)
	must(t, b.Merge(ctx, func(m record.Book) error {
		for range m.Attempts(ctx, record.Filter{Sitting: silent.ID}) {
			t.Error("seen from inside a transaction")
		}
		return nil
	}))
	must(t, b.EndSitting(ctx, silent.ID, Noon.Add(2*time.Hour), true))
	same(t, "after its end", count(record.Filter{}), 6)
}

// silenceOfForms: of a form nothing comes out before its last part has ended for that
// person, whether the book keeps the form or not, and whatever was begun and left.
func silenceOfForms(t *testing.T, b record.Store) {
	sheet := Sheet(t)
	must(t, b.PutSheet(ctx, sheet))
	kept := Form(t, "spring", 1, 4, sheet, exercises.ValueFirst, exercises.LineUp)
	kept, err := b.AddForm(ctx, kept)
	must(t, err)
	foreign, err := record.CheckForm(Form(t, "autumn", 2, 4, sheet, exercises.ValueFirst, exercises.LineUp))
	must(t, err)
	n := 0
	part := func(f record.Form, who scoring.LearnerID, i int) scoring.Sitting {
		n++
		s := scoring.Sitting{ID: scoring.SittingID(fmt.Sprint("PART", n)), Learner: who, Within: f.Set().Ref.String(), Started: Noon.Add(time.Duration(n) * time.Hour), Setup: f.Parts[i]}
		s.Setup.Seed = 0
		must(t, b.StartSitting(ctx, s))
		return s
	}
	end := func(s scoring.Sitting, left bool) { must(t, b.EndSitting(ctx, s.ID, s.Started.Add(time.Minute), left)) }
	for name, f := range map[string]record.Form{"kept": kept, "not kept": foreign} {
		ada, bo := Person(t, b, "Ada "+name), Person(t, b, "Bo "+name)
		shown := func(when string, want int) {
			t.Helper()
			for _, filter := range []record.Filter{{Learner: ada.ID}, {Learner: ada.ID, Light: true}, {Learner: ada.ID, Within: f.Set().Ref.String()}} {
				got := 0
				for _, err := range b.Attempts(ctx, filter) {
					must(t, err)
					got++
				}
				same(t, name+": "+when, got, want)
			}
		}
		first := part(f, ada.ID, 0)
		must(t, b.Append(ctx, Plain(first, 0)))
		end(first, false)
		// Somebody else is through with it: that opens nothing.
		for i := range f.Parts {
			s := part(f, bo.ID, i)
			must(t, b.Append(ctx, Plain(s, 0)))
			end(s, false)
		}
		shown("the first part has ended", 0)
		for _, err := range b.Attempts(ctx, record.Filter{Sitting: first.ID}) {
			must(t, err)
			t.Errorf("%s: the first part by its name", name)
		}
		end(part(f, ada.ID, 1), true)
		shown("the second was left before its first answer, and can be begun again", 0)
		second := part(f, ada.ID, 1)
		must(t, b.Append(ctx, Plain(second, 0)))
		shown("in the second part", 0)
		end(second, true)
		shown("after its end", 2)
		got := 0
		for _, err := range b.Attempts(ctx, record.Filter{Sitting: first.ID}) {
			must(t, err)
			got++
		}
		same(t, name+": the first part by its name", got, 1)
	}
}
