package record_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
)

// What makes no sense is not decided, says why and what would mend it, and leaves the
// assignment as it was.
func TestOnlyWhatMakesSenseIsDecided(t *testing.T) {
	ctx := context.Background()
	book := record.NewMemory()
	ada, ben, rolf := recordtest.Person(t, book, "Ada Finch"), recordtest.Person(t, book, "Ben Moor"), recordtest.Person(t, book, "Rolf Stein")
	class := recordtest.Class(t, book, "Spring", ada)
	due := recordtest.Noon.Add(24 * time.Hour)
	a, err := book.AddAssignment(ctx, scoring.Assignment{Class: class.ID, At: recordtest.Noon, Due: due,
		Setup: exercises.Setup{Kind: exercises.TryIn, Version: version(t, exercises.TryIn), Seed: 5, Count: 2, Viewing: exercises.DefaultViewing()}})
	if err != nil {
		t.Fatal(err)
	}
	at := recordtest.Noon.Add(time.Minute) // of all: what comes later stands, whatever the clock says
	drop := func(item int) scoring.Ruling {
		return scoring.Ruling{What: scoring.Dropped, Item: item, Why: "its picture was torn", By: rolf.ID, At: at}
	}
	back := func(r scoring.Ruling) scoring.Ruling {
		r.Back, r.Until = true, time.Time{}
		return r
	}
	unsaid, nobody := drop(1), drop(1)
	unsaid.Why, nobody.By = " ", ""
	longer := func(who scoring.LearnerID, until time.Time) scoring.Ruling {
		return scoring.Ruling{What: scoring.Extended, Learner: who, Until: until, At: at}
	}
	for i, c := range []struct {
		ruling scoring.Ruling
		says   string // "" where it is decided
	}{
		{longer(ada.ID, due), "no longer than the class has"},
		{longer(ada.ID, due.Add(-time.Minute)), "no longer than the class has"},
		{longer(ben.ID, due.Add(time.Hour)), "nobody of that name is in the class"},
		{longer(ada.ID, due.Add(time.Hour)), ""},
		{longer(ada.ID, due.Add(time.Hour)), "was decided"},
		{back(longer(ada.ID, due)), ""},
		{back(longer(ada.ID, due)), "nothing can be taken back"},
		{longer(ada.ID, due.Add(time.Hour)), ""},
		{drop(0), "no item 0"},
		{drop(3), "no item 3"},
		{unsaid, "for a reason"},
		{nobody, "gives their name"},
		{drop(1), ""},
		{drop(2), "the last item"},
		{back(drop(1)), ""},
		{drop(2), ""},
		{drop(1), "the last item"},
		{scoring.Ruling{What: scoring.Removed, At: at}, ""},
		{scoring.Ruling{What: scoring.Excused, Learner: ada.ID, At: at}, "was taken back"},
		{back(scoring.Ruling{What: scoring.Removed, At: at}), ""},
		{scoring.Ruling{What: scoring.Excused, Learner: ada.ID, At: at}, ""},
	} {
		before := a
		a, err = record.Rule(ctx, book, a, c.ruling)
		switch {
		case c.says == "" && err != nil:
			t.Fatalf("%d: %+v: %v", i, c.ruling, err)
		case c.says == "":
			if stands, ok := a.Standing(c.ruling); stands.Back != c.ruling.Back || ok == c.ruling.Back || len(a.Rulings) != len(before.Rulings)+1 {
				t.Errorf("%d: after %+v stands %+v", i, c.ruling, stands)
			}
		case err == nil || !strings.Contains(err.Error(), c.says):
			t.Errorf("%d: %+v: %v, want %q", i, c.ruling, err, c.says)
		case fault.Hint(err) == "":
			t.Errorf("%d: %v: nothing says what would mend it", i, err)
		}
		// Who is excused, and whoever it was taken back from, does not find it any more.
		want := 1
		if a.Excuses(ada.ID) || !a.Gone().IsZero() {
			want = 0
		}
		if open, err := record.OpenSets(ctx, book, ada.ID); err != nil || len(open) != want {
			t.Errorf("%d: after %+v Ada finds %d, want %d, %v", i, c.ruling, len(open), want, err)
		}
		if now, _ := book.Assignment(ctx, a.Number); c.says != "" && len(now.Rulings) != len(before.Rulings) {
			t.Errorf("%d: %+v was refused, and is in the book", i, c.ruling)
		}
	}
}

// A session that is closed takes nobody new; who has begun it goes on to its end.
func TestAClosedSessionIsFinishedByWhoBeganIt(t *testing.T) {
	ctx := context.Background()
	book := record.NewMemory()
	ada, ben := recordtest.Person(t, book, "Ada Finch"), recordtest.Person(t, book, "Ben Moor")
	now := recordtest.Noon
	clock := func() time.Time { now = now.Add(time.Second); return now }
	panel, err := book.AddPanel(ctx, record.Panel{Name: "weekly", At: now,
		Setup: exercises.Setup{Kind: exercises.TryIn, Version: version(t, exercises.TryIn), Count: 2, Repeats: 1, Seed: 5, Silent: true, Viewing: exercises.DefaultViewing()}})
	if err != nil {
		t.Fatal(err)
	}
	take := func(who scoring.Learner) (*record.Drill, error) {
		panel, err := book.PanelByName(ctx, panel.Name)
		if err != nil {
			t.Fatal(err)
		}
		return record.Take(ctx, book, panel.Set(), who, scoring.DisplayCheck{}, clock)
	}
	answer := func(d *record.Drill) {
		if _, _, err := d.Answer(ctx, exercises.Answer{Choice: exercises.Seat, Directions: &exercises.Directions{}}); err != nil {
			t.Fatal(err)
		}
	}
	begun, err := take(ada)
	if err != nil {
		t.Fatal(err)
	}
	answer(begun)
	if err := book.ClosePanel(ctx, panel.Name, clock()); err != nil {
		t.Fatal(err)
	}
	if _, err := take(ben); err == nil || !strings.Contains(err.Error(), "closed") {
		t.Errorf("Ben begins a closed session: %v", err)
	}
	again, err := take(ada)
	if err != nil {
		t.Fatalf("Ada cannot finish what she began: %v", err)
	}
	if again.Given() != 1 || again.Sitting().ID != begun.Sitting().ID {
		t.Errorf("she goes on with sitting %s after %d answers", again.Sitting().ID, again.Given())
	}
	answer(again)
	if err := again.End(ctx, false); err != nil {
		t.Fatal(err)
	}
	for _, who := range []scoring.Learner{ada, ben} {
		if open, err := record.OpenSets(ctx, book, who.ID); err != nil || len(open) != 0 {
			t.Errorf("%s still finds %d sets, %v", who.Name, len(open), err)
		}
	}
}
