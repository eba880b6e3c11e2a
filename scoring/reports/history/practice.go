package history

import (
	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/trend"
)

// leastForCourse is how many sittings the test needs: four in perfect order
// still come about by chance in 2 of 24 cases, five in 2 of 120.
const leastForCourse = 5

// TrendWord says where a row of errors goes: the test for a steady rise or fall at 5 %.
func TrendWord(test trend.Monotone) report.Word {
	switch {
	case !test.TauB.Defined() || test.TauB.N < leastForCourse:
		return report.Word{Key: "unknown", Shown: "cannot be told yet"}
	case test.P > 0.05:
		return report.Word{Key: "none", Shown: "no trend beyond chance"}
	case test.S < 0:
		return report.Word{Key: "falling", Shown: "errors shrink"}
	}
	return report.Word{Key: "rising", Shown: "errors grow"}
}

// Practice leaves out the sittings of proficiency tests: their targets are tabs,
// and hitting one exactly would look like a sudden gain.
func (k *Kind) Practice() *Kind {
	p := *k
	p.Sittings = nil
	for _, s := range k.Sittings {
		if !s.Tested() {
			p.Sittings = append(p.Sittings, s)
		}
	}
	return &p
}

// Tested says whether the sitting belongs to a proficiency test.
func (s *Sitting) Tested() bool { return s.Set().Kind == scoring.TestSet }

// MostPoints is how many places a plot over time has: with more sittings than
// that, neighbouring ones share a place.
const MostPoints = 60
