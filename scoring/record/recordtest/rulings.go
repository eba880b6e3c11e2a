package recordtest

import (
	"math/rand/v2"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// rulings: what was decided about an assignment is written down and never taken out;
// the latest stands, by its time and not by when it came; it goes with its people and
// with its class.
func rulings(t *testing.T, b record.Store) {
	rng := rand.New(rand.NewPCG(3, 1))
	ada, ben, cy := Person(t, b, "Ada Finch"), Person(t, b, "Ben Moor"), Person(t, b, "Cy Vale")
	spring := Class(t, b, "Spring", ada, ben)
	given := RandomAssignment(spring.ID, rng)
	given.Setup.SheetID = ""
	a, err := b.AddAssignment(ctx, given)
	must(t, err)
	other, err := b.AddAssignment(ctx, RandomAssignment(spring.ID, rng))
	must(t, err)
	at := func(m int) time.Time { return Noon.Add(time.Duration(m) * time.Minute) }
	day := 24 * time.Hour

	read := func() scoring.Assignment {
		t.Helper()
		one, err := b.Assignment(ctx, a.Number)
		must(t, err)
		all, err := b.Assignments(ctx, spring.ID)
		must(t, err)
		same(t, "alone and in the list", all[0], one)
		return one
	}
	put := func(r scoring.Ruling) scoring.Assignment {
		t.Helper()
		must(t, b.PutRuling(ctx, a.ID, r))
		return read()
	}

	// Two machines move the due date: whichever comes in first, the later stands.
	late := scoring.Ruling{What: scoring.DueMoved, Until: Noon.Add(9 * day), At: at(5), By: cy.ID, Why: "a holiday"}
	early := scoring.Ruling{What: scoring.DueMoved, Until: Noon.Add(4 * day), At: at(2)}
	put(late)
	got := put(early)
	same(t, "the later ruling stands", got.DueNow(), late.Until)
	same(t, "both are kept, in order", got.Rulings, []scoring.Ruling{early, late})
	same(t, "the same again changes nothing", put(late).Rulings, []scoring.Ruling{early, late})
	same(t, "what was given stays", got.Due, a.Due)
	tie := late
	tie.Until = Noon.Add(10 * day)
	same(t, "of one time the same stands in every book", put(tie).DueNow(), tie.Until)

	// One person: longer, never shorter.
	got = put(scoring.Ruling{What: scoring.Extended, Learner: ada.ID, Until: Noon.Add(12 * day), At: at(6)})
	same(t, "longer for one", []time.Time{got.DueFor(ada.ID), got.DueFor(ben.ID)}, []time.Time{Noon.Add(12 * day), tie.Until})
	same(t, "what she takes says so", got.SetFor(ada.ID).Due, Noon.Add(12*day))
	got = put(scoring.Ruling{What: scoring.DueMoved, Until: Noon.Add(20 * day), At: at(7)})
	same(t, "an extension makes nothing shorter", got.DueFor(ada.ID), Noon.Add(20*day))
	got = put(scoring.Ruling{What: scoring.Extended, Learner: ada.ID, Back: true, At: at(8)})
	same(t, "taken back", got.DueFor(ada.ID), got.DueNow())

	got = put(scoring.Ruling{What: scoring.Excused, Learner: ben.ID, At: at(9)})
	same(t, "excused", []bool{got.Excuses(ada.ID), got.Excuses(ben.ID)}, []bool{false, true})
	for _, item := range []int{3, 1} {
		got = put(scoring.Ruling{What: scoring.Dropped, Item: item, At: at(10), Why: "two tabs fit"})
	}
	same(t, "dropped", got.Drops(), []int{1, 3})
	got = put(scoring.Ruling{What: scoring.Dropped, Item: 3, Back: true, At: at(11)})
	same(t, "one taken up again", got.Drops(), []int{1})
	got = put(scoring.Ruling{What: scoring.Removed, At: at(12)})
	same(t, "taken back", got.Gone(), at(12))
	same(t, "nobody begins it", got.Set().Closed, at(12))
	got = put(scoring.Ruling{What: scoring.Removed, At: at(13), Back: true})
	same(t, "given again", got.Gone(), time.Time{})

	// A clock that was set back, and what stands already.
	got, err = record.Rule(ctx, b, got, scoring.Ruling{What: scoring.Excused, Learner: ben.ID, Back: true, At: at(0)})
	must(t, err)
	same(t, "later, though the clock is behind", got.Excuses(ben.ID), false)

	for what, r := range map[string]scoring.Ruling{
		"no time":                  {What: scoring.Removed},
		"unknown kind":             {What: "forgiven", At: at(1)},
		"nobody extended":          {What: scoring.Extended, Until: at(9), At: at(1)},
		"an extension without":     {What: scoring.Extended, Learner: ada.ID, At: at(1)},
		"somebody removed":         {What: scoring.Removed, Learner: ada.ID, At: at(1)},
		"no item":                  {What: scoring.Dropped, At: at(1)},
		"an item before the first": {What: scoring.Dropped, Item: -1, At: at(1)},
		"escape in the reason":     {What: scoring.Removed, Why: "\x1b[2J", At: at(1)},
	} {
		if err := b.PutRuling(ctx, a.ID, r); err == nil {
			t.Errorf("taken: %s", what)
		}
	}
	wantIs(t, b.PutRuling(ctx, "none", scoring.Ruling{What: scoring.Removed, At: at(1)}), record.ErrNotFound)
	wantIs(t, b.PutRuling(ctx, a.ID, scoring.Ruling{What: scoring.Excused, Learner: "nobody", At: at(1)}), record.ErrNotFound)
	same(t, "nothing of it came in", read().Rulings, got.Rulings)
	none, err := b.Assignment(ctx, other.Number)
	must(t, err)
	same(t, "nothing of another assignment", len(none.Rulings), 0)

	// People who are one, and people who are gone.
	_, err = b.JoinLearners(ctx, ben.ID, ada.ID, Noon)
	must(t, err)
	put(scoring.Ruling{What: scoring.Excused, Learner: ben.ID, At: at(20)})
	same(t, "under the identifier that was given up", read().Excuses(ada.ID), true)
	must(t, b.EraseLearner(ctx, cy.ID, Noon))
	must(t, b.EraseLearner(ctx, ada.ID, Noon))
	for _, r := range read().Rulings {
		if r.Learner != "" || r.By != "" {
			t.Errorf("names somebody who was erased: %+v", r)
		}
	}
	sound(t, b)
	must(t, b.RemoveClass(ctx, spring.ID))
	sound(t, b)
}
