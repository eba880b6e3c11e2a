package record_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
)

func TestAssignmentIsDoneOnce(t *testing.T) {
	ctx := context.Background()
	book := record.NewMemory()
	ada, ben := recordtest.Person(t, book, "Ada Finch"), recordtest.Person(t, book, "Ben Moor")
	class := recordtest.Class(t, book, "Spring", ada)
	kind, err := exercises.ByID(exercises.ValueFirst)
	if err != nil {
		t.Fatal(err)
	}
	sheet := recordtest.Sheet(t)
	if err := book.PutSheet(ctx, sheet); err != nil {
		t.Fatal(err)
	}
	a, err := book.AddAssignment(ctx, scoring.Assignment{Class: class.ID, At: recordtest.Noon, Due: recordtest.Noon.Add(time.Hour),
		Setup: exercises.Setup{Kind: kind.ID(), Version: kind.Version(), Seed: 5, Count: 2, Targets: exercises.NaturalTargets, Sheet: sheet}})
	if err != nil {
		t.Fatal(err)
	}
	now := recordtest.Noon
	clock := func() time.Time { now = now.Add(time.Second); return now }
	open := func(who scoring.Learner) int {
		list, err := record.OpenSets(ctx, book, who.ID)
		if err != nil {
			t.Fatal(err)
		}
		return len(list)
	}
	take := func(who scoring.Learner) (*record.Drill, error) {
		return record.Take(ctx, book, a.Set(), who, scoring.DisplayCheck{}, clock)
	}
	answer := func(d *record.Drill, n int) {
		for range n {
			if _, _, err := d.Answer(ctx, exercises.Answer{Tab: sheet.Name(0)}); err != nil {
				t.Fatal(err)
			}
		}
	}

	// Whoever is not enrolled has nothing to do here.
	_, err = take(ben)
	var p record.Refused
	if !errors.As(err, &p) || !strings.Contains(err.Error(), "Ben Moor is not in the class") || open(ben) != 0 || open(ada) != 1 {
		t.Errorf("error %v; open: %d and %d", err, open(ben), open(ada))
	}

	// Who teaches the class is not asked to do what it is asked.
	if err := book.SetRole(ctx, ada.ID, scoring.RoleInstructor, recordtest.Noon.Add(time.Minute)); err != nil {
		t.Fatal(err)
	}
	if n := open(ada); n != 0 {
		t.Errorf("an instructor has %d assignments to do", n)
	}
	if err := book.SetRole(ctx, ada.ID, scoring.RoleLearner, recordtest.Noon.Add(2*time.Minute)); err != nil {
		t.Fatal(err)
	}

	// A try that is ended early does not count; one broken off is gone on with.
	d, err := take(ada)
	if err != nil {
		t.Fatal(err)
	}
	answer(d, 1)
	if err := d.End(ctx, true); err != nil {
		t.Fatal(err)
	}
	d, err = take(ada)
	if err != nil {
		t.Fatal(err)
	}
	answer(d, 1)
	again, err := take(ada)
	if err != nil || again.Sitting().ID != d.Sitting().ID {
		t.Fatalf("another sitting was begun: %v", err)
	}
	work, err := record.ProgressOf(ctx, book, a.Set(), ada.ID)
	if err != nil || work.Over() || work.Left != 1 || work.Parts[0].Sitting.ID != d.Sitting().ID || open(ada) != 1 {
		t.Errorf("before the end: %+v, %v", work, err)
	}
	answer(again, 1)
	if err := again.End(ctx, false); err != nil {
		t.Fatal(err)
	}
	if _, err := take(ada); !errors.As(err, &p) || !strings.Contains(err.Error(), "Ada Finch did assignment 1") {
		t.Errorf("a second time: error %v", err)
	}
	if work, _ := record.ProgressOf(ctx, book, a.Set(), ada.ID); !work.Over() || work.Left != 1 || open(ada) != 0 {
		t.Errorf("after the end: %+v", work)
	}

	// A sitting that bears the assignment's name over other trials does not count.
	recordtest.Class(t, book, "Autumn", ben)
	if err := book.Enrol(ctx, class.ID, ben.ID, recordtest.Noon); err != nil {
		t.Fatal(err)
	}
	forged := scoring.Sitting{ID: "forged", Learner: ben.ID, Started: recordtest.Noon, Within: a.Set().Ref.String(), Setup: a.Setup}
	forged.Setup.Seed++
	if err := book.StartSitting(ctx, forged); err != nil {
		t.Fatal(err)
	}
	if err := book.EndSitting(ctx, "forged", recordtest.Noon, false); err != nil {
		t.Fatal(err)
	}
	if open(ben) != 1 {
		t.Error("a forged sitting counts as the assignment")
	}
}

// setsOfEachKind are an assignment, a session and a test of the same questions, in a
// book with somebody who may take them.
func setsOfEachKind(t *testing.T) (record.Book, scoring.Learner, []scoring.Set) {
	t.Helper()
	ctx := context.Background()
	book := record.NewMemory()
	ada := recordtest.Person(t, book, "Ada Finch")
	class := recordtest.Class(t, book, "Spring", ada)
	kind, err := exercises.ByID(exercises.ValueFirst)
	if err != nil {
		t.Fatal(err)
	}
	sheet := recordtest.Sheet(t)
	if err := book.PutSheet(ctx, sheet); err != nil {
		t.Fatal(err)
	}
	setup := exercises.Setup{Kind: kind.ID(), Version: kind.Version(), Seed: 5, Count: 4, Targets: exercises.TabTargets, Sheet: sheet}
	given, err := book.AddAssignment(ctx, scoring.Assignment{Class: class.ID, At: recordtest.Noon, Due: recordtest.Noon.Add(time.Hour), Setup: setup})
	if err != nil {
		t.Fatal(err)
	}
	setup.Repeats, setup.Silent = 1, true
	panel, err := book.AddPanel(ctx, record.Panel{Name: "Spring", At: recordtest.Noon, Setup: setup})
	if err != nil {
		t.Fatal(err)
	}
	test, err := scoring.NewTestOf("Spring", []exercises.KindID{kind.ID()}, 4, sheet)
	if err != nil {
		t.Fatal(err)
	}
	return book, ada, []scoring.Set{given.Set(), panel.Set(), test}
}

// What asks something else under the name of a set is not that set: neither what was
// answered counts for it, nor can it be taken in its place.
func TestASetIsWhatItAsks(t *testing.T) {
	ctx := context.Background()
	now := recordtest.Noon
	clock := func() time.Time { now = now.Add(time.Second); return now }
	for what, change := range map[string]func(*exercises.Setup){
		"option":  func(s *exercises.Setup) { s.Options = map[string]string{"method": "another"} },
		"viewing": func(s *exercises.Setup) { s.Viewing.Gap++ },
		"version": func(s *exercises.Setup) { s.Version++ },
		"seed":    func(s *exercises.Setup) { s.Seed++ },
	} {
		book, ada, sets := setsOfEachKind(t)
		for _, set := range sets {
			d, err := record.Take(ctx, book, set, ada, scoring.DisplayCheck{}, clock)
			if err != nil {
				t.Fatal(err)
			}
			if _, _, err := d.Answer(ctx, exercises.Answer{Tab: recordtest.Sheet(t).Name(0)}); err != nil {
				t.Fatal(err)
			}
			other := set
			other.Parts = []exercises.Setup{set.Parts[0]}
			change(&other.Parts[0])
			p, err := record.ProgressOf(ctx, book, other, ada.ID)
			if err != nil || p.Begun() || p.Given() != 0 || len(p.Others) != 1 {
				t.Errorf("%s with another %s: %+v, %v", set.Name(), what, p, err)
			}
			var refused record.Refused
			d, err = record.Take(ctx, book, other, ada, scoring.DisplayCheck{}, clock)
			switch {
			case set.Stated || what == "version":
				if !errors.As(err, &refused) || fault.Hint(err) == "" {
					t.Errorf("%s with another %s is taken: %v", set.Name(), what, err)
				}
			case err != nil || d.Given() != 0:
				t.Errorf("%s with another %s goes on with what was answered to the first: %v", set.Name(), what, err)
			}
			if again, err := record.ProgressOf(ctx, book, set, ada.ID); err != nil || again.Given() != 1 {
				t.Errorf("%s has lost what was given: %+v, %v", set.Name(), again, err)
			}
		}
	}
}

// A drill that was broken off after its last answer is ended when it is taken up.
func TestASetBrokenOffAfterItsLastAnswerIsEnded(t *testing.T) {
	ctx := context.Background()
	now := recordtest.Noon
	clock := func() time.Time { now = now.Add(time.Second); return now }
	book, ada, sets := setsOfEachKind(t)
	for _, set := range sets {
		d, err := record.Take(ctx, book, set, ada, scoring.DisplayCheck{}, clock)
		if err != nil {
			t.Fatal(err)
		}
		for range 4 {
			if _, _, err := d.Answer(ctx, exercises.Answer{Tab: recordtest.Sheet(t).Name(0)}); err != nil {
				t.Fatal(err)
			}
		}
		p, err := record.ProgressOf(ctx, book, set, ada.ID)
		if err != nil || p.Over() || p.Given() != 4 {
			t.Errorf("%s before: %+v, %v", set.Name(), p, err)
		}
		if d, err = record.Take(ctx, book, set, ada, scoring.DisplayCheck{}, clock); err != nil {
			t.Fatal(err)
		}
		if s, err := book.Sitting(ctx, d.Sitting().ID); err != nil || s.Ended.IsZero() || s.Left {
			t.Errorf("%s is not ended: %+v, %v", set.Name(), s, err)
		}
		_, err = record.MayTake(ctx, book, set, ada)
		var refused record.Refused
		if set.Again != (err == nil) || err != nil && !errors.As(err, &refused) {
			t.Errorf("%s a second time: %v", set.Name(), err)
		}
	}
}
