package history

import (
	"fmt"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/trend"
)

// leastForTrend is how many sittings the test needs: four in perfect order
// still come about by chance in 2 of 24 cases, five in 2 of 120.
const leastForTrend = 5

// TrendWord says where a row of errors goes: the test for a steady rise or fall at 5 %.
func TrendWord(test trend.Monotone) report.Word {
	switch {
	case !test.TauB.Defined() || test.TauB.N < leastForTrend:
		return report.Word{Key: "unknown", Shown: "cannot be told yet"}
	case test.P > 0.05:
		return report.Word{Key: "none", Shown: "no trend beyond chance"}
	case test.S < 0:
		return report.Word{Key: "falling", Shown: "errors shrink"}
	}
	return report.Word{Key: "rising", Shown: "errors grow"}
}

// Practice are the sittings that a trend or an effect may compare: those of one level,
// the one with most of them, of several such the latest. A level shows larger or smaller
// differences and more or fewer patches, so errors of two are no trend. Drills without a
// level are one more. Left out are proficiency tests, whose targets are tabs: hitting
// one exactly would look like a sudden gain; and mistakes asked again.
func (k *Kind) Practice() *Kind {
	count := map[int]int{}
	at, most := 0, 0
	for _, s := range k.Sittings {
		if s.Tested() || s.Again() {
			continue
		}
		level := s.Setup.LevelNow()
		if count[level]++; count[level] >= most {
			at, most = level, count[level]
		}
	}
	p := *k
	p.Sittings, p.Level, p.OtherLevels = nil, at, 0
	for _, s := range k.Sittings {
		switch {
		case s.Tested() || s.Again():
		case s.Setup.LevelNow() == at:
			p.Sittings = append(p.Sittings, s)
		default:
			p.OtherLevels++
		}
	}
	return &p
}

// Again says whether the sitting asked mistakes once more.
func (s *Sitting) Again() bool { return len(s.Setup.Again) > 0 }

// Tested says whether the sitting belongs to a proficiency test.
func (s *Sitting) Tested() bool { return s.Set().Kind == scoring.TestSet }

// MostPoints is how many places a plot over time has: with more sittings than
// that, neighbouring ones share a place.
const MostPoints = 60

// LevelNote says which level's sittings are compared, and how many others are left out.
func (k *Kind) LevelNote() string {
	if k.Level == 0 && k.OtherLevels == 0 {
		return ""
	}
	at := "those without a level"
	if k.Level > 0 {
		at = fmt.Sprintf("those of level %d", k.Level)
	}
	return fmt.Sprintf("%s: %s are compared; %s of other levels would look like a trend.", k.Title, at, scoring.Count(k.OtherLevels, "sitting", "sittings"))
}
