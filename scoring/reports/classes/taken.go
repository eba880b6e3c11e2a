package classes

import (
	"context"
	"slices"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/history"
)

// taken is a proficiency test that one person took to its end.
type taken struct {
	ref     scoring.SetRef // of its form
	parts   []scoring.Sitting
	ended   time.Time
	share   scoring.Estimate // right
	counted string           // what its right answers are
	// altered says that its answers are not as they were given, or not to what the form
	// asks; uncompared, why the latter cannot be known.
	altered    bool
	uncompared string
}

// verify verifies chains and trials of the tests that somebody took.
func verify(ctx context.Context, by *record.Verifier, who scoring.LearnerID, list []taken) error {
	for i := range list {
		t := &list[i]
		broken, err := by.Chains(ctx, record.Filter{Learner: who, Within: t.parts[0].Within})
		if err != nil {
			return err
		}
		t.altered = len(broken) > 0
		for _, s := range t.parts {
			why, err := by.Uncompared(ctx, s)
			if err != nil {
				return err
			}
			if why != "" {
				t.uncompared = why
			}
		}
	}
	return nil
}

// testsOf lists the tests taken to their end, the earliest first; broken says that
// one was left before it.
func testsOf(h *history.History) (list []taken, broken bool) {
	var names history.Named[[]*history.Kind]
	var ends history.Named[time.Time]
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			if !s.Tested() {
				continue
			}
			kinds := names.At(s.Within, "")
			*kinds = append(*kinds, &history.Kind{ID: k.ID, Title: k.Title, Sittings: []*history.Sitting{s}})
			if end := ends.At(s.Within, ""); s.Last.After(*end) {
				*end = s.Last
			}
		}
	}
	for i, kinds := range names.Values {
		if t := (&history.History{Kinds: kinds}); t.Missing() > 0 || t.PartsMissing() > 0 {
			broken = true
			continue
		}
		ref := kinds[0].Sittings[0].Set()
		ref.Take = 0 // whichever time it was
		t := taken{ref: ref, ended: ends.Values[i], share: h.Right(kinds), counted: history.Counted(kinds)}
		for _, k := range kinds {
			t.parts = append(t.parts, k.Sittings[0].Sitting)
		}
		list = append(list, t)
	}
	slices.SortStableFunc(list, func(a, b taken) int { return a.ended.Compare(b.ended) })
	return list, broken
}
