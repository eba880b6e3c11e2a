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
		list, err := record.OpenAssignments(ctx, book, who.ID)
		if err != nil {
			t.Fatal(err)
		}
		return len(list)
	}
	take := func(who scoring.Learner) (*record.Drill, error) {
		return record.TakeAssignment(ctx, book, a, who, scoring.DisplayCheck{}, clock)
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
	var p *fault.Error
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
	work, err := record.WorkOn(ctx, book, a, ada.ID)
	if err != nil || work.IsDone() || work.Left != 1 || work.Open.ID != d.Sitting().ID || open(ada) != 1 {
		t.Errorf("before the end: %+v, %v", work, err)
	}
	answer(again, 1)
	if err := again.End(ctx, false); err != nil {
		t.Fatal(err)
	}
	if _, err := take(ada); !errors.As(err, &p) || !strings.Contains(err.Error(), "Ada Finch did assignment 1") {
		t.Errorf("a second time: error %v", err)
	}
	if work, _ := record.WorkOn(ctx, book, a, ada.ID); !work.IsDone() || work.Left != 1 || open(ada) != 0 {
		t.Errorf("after the end: %+v", work)
	}

	// A sitting that bears the assignment's name over other trials does not count.
	recordtest.Class(t, book, "Autumn", ben)
	if err := book.Enrol(ctx, class.ID, ben.ID, recordtest.Noon); err != nil {
		t.Fatal(err)
	}
	forged := scoring.Sitting{ID: "forged", Learner: ben.ID, Started: recordtest.Noon, Within: a.Within(), Setup: a.Setup}
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
