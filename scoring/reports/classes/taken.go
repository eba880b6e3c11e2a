package classes

import (
	"slices"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/reports/history"
)

// taken is a proficiency test that one person took to its end.
type taken struct {
	ref     scoring.SetRef // of its form
	ended   time.Time
	share   scoring.Estimate // right
	counted string           // what its right answers are
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
		list = append(list, taken{ref: ref, ended: ends.Values[i], share: h.Right(kinds), counted: history.Counted(kinds)})
	}
	slices.SortStableFunc(list, func(a, b taken) int { return a.ended.Compare(b.ended) })
	return list, broken
}
