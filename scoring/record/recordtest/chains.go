package recordtest

import (
	"math/rand/v2"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Chains reads the chains that a filter takes.
func Chains(t testing.TB, b record.Book, f record.Filter) []record.Chain {
	t.Helper()
	var list []record.Chain
	for c, err := range b.Chains(ctx, f) {
		must(t, err)
		list = append(list, c)
	}
	return list
}

// chains: what a book writes down as a sitting grows is what is computed from the
// sitting afterwards, in whatever order its answers came.
func chains(t *testing.T, b record.Store) {
	rng := rand.New(rand.NewPCG(8, 1))
	l := Person(t, b, "Ada Finch")
	s := RandomSitting(l.ID, "S1", rng)
	s.Started = Noon
	must(t, b.StartSitting(ctx, s))
	empty := Begin(t, b, l, 90)
	computed := func(id scoring.SittingID) record.Chain {
		whole, err := b.Sitting(ctx, id)
		must(t, err)
		return record.ChainOf(whole, All(t, b, record.Filter{Sitting: id}))
	}
	holds := func(when string) {
		t.Helper()
		same(t, when, Chains(t, b, record.Filter{}), []record.Chain{computed(s.ID), computed(empty.ID)})
		broken, err := record.VerifyChains(ctx, b, record.Filter{})
		must(t, err)
		same(t, when, broken, record.Broken{})
	}
	holds("begun")
	for _, n := range []int{0, 1, 2, 7, 9, 5, 3} {
		must(t, b.Append(ctx, RandomAttempt(s, n, rng)))
		holds("answered")
	}
	must(t, b.Merge(ctx, func(m record.Book) error {
		for _, n := range []int{20, 11, 21, 4, 22} {
			must(t, m.Append(ctx, RandomAttempt(s, n, rng)))
		}
		c := Chains(t, m, record.Filter{Sitting: s.ID})
		same(t, "answers seen from inside", c[0].Count, 12)
		return nil
	}))
	holds("merged")
	must(t, b.EndSitting(ctx, s.ID, Noon.Add(time.Hour), true))
	holds("ended")
	must(t, b.EndSitting(ctx, s.ID, Noon.Add(2*time.Hour), false)) // changes nothing
	holds("ended twice")
	same(t, "of one sitting", len(Chains(t, b, record.Filter{Sitting: empty.ID})), 1)
	same(t, "of unfinished ones", len(Chains(t, b, record.Filter{Unfinished: true})), 1)
	must(t, b.Whole(ctx, record.Filter{}))
}

// origins: a sitting says where it was taken, and nothing changes that.
func origins(t *testing.T, b record.Store) {
	simulated := Person(t, b, "Ada Finch")
	person, err := b.AddLearner(ctx, scoring.Learner{Name: "Ben Moor", At: Noon})
	must(t, err)
	if b.ID() == "" {
		t.Error("the book has no name of its own")
	}
	at := Noon.Add(time.Hour)
	for i, c := range []struct {
		who       scoring.Learner
		has, gets scoring.Origin
	}{
		{person, scoring.Origin{}, scoring.Origin{Road: scoring.RoadHere, Book: b.ID()}},
		{simulated, scoring.Origin{}, scoring.Origin{Road: scoring.RoadHere, Simulated: true}},
		{person, scoring.Origin{Road: scoring.RoadImported, Book: "book-two", At: at}, scoring.Origin{Road: scoring.RoadImported, Book: "book-two", At: at}},
		{simulated, scoring.Origin{Road: scoring.RoadImported, At: at.Add(time.Nanosecond)}, scoring.Origin{Road: scoring.RoadImported, At: at, Simulated: true}},
		{person, scoring.Origin{Road: scoring.RoadServer, Book: "book-three"}, scoring.Origin{Road: scoring.RoadServer, Book: "book-three"}},
	} {
		s := Begin(t, b, c.who, 100+i)
		s.ID, s.Started, s.Origin = scoring.SittingID([]string{"O0", "O1", "O2", "O3", "O4"}[i]), at.Add(time.Duration(i)*time.Hour), c.has
		must(t, b.StartSitting(ctx, s))
		must(t, b.Append(ctx, Plain(s, 0)))
		s.Origin = scoring.Origin{Road: scoring.RoadImported, Book: "book-nine", At: Noon}
		wantIs(t, b.StartSitting(ctx, s), record.ErrTaken)
		got, err := b.Sitting(ctx, s.ID)
		must(t, err)
		same(t, "origin", got.Origin, c.gets)
		list, err := b.Sittings(ctx, record.Filter{Sitting: s.ID})
		must(t, err)
		same(t, "listed origin", list[0].Origin, c.gets)
	}
	for _, bad := range []scoring.Origin{{Road: "air"}, {Road: scoring.RoadImported}, {Road: scoring.RoadHere, At: at}, {Book: "a b"}} {
		s := Begin(t, b, person, 200)
		s.ID, s.Origin = "bad", bad
		if b.StartSitting(ctx, s) == nil {
			t.Errorf("taken: %+v", bad)
		}
	}
}
