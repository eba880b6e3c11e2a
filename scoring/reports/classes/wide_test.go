package classes

import (
	"testing"

	"shadedrill/scoring"
)

func TestPointsOfAGrade(t *testing.T) {
	share, median, none := scoring.PassMark{Rule: scoring.PassShare, Value: 0.8}, scoring.PassMark{Rule: scoring.PassMedian, Value: 2}, scoring.PassMark{Rule: scoring.PassNone}
	for _, c := range []struct {
		name   string
		pass   scoring.PassMark
		result result
		value  float64 // the share right, or the median
		want   float64
		known  bool
	}{
		{"three quarters right", share, resultFailed, 0.75, 15, true},
		{"all right", share, resultPassed, 1, 20, true},
		{"at the mark", median, resultPassed, 2, 20, true},
		{"better than the mark", median, resultPassed, 0.5, 20, true},
		{"half as large again", median, resultFailed, 3, 10, true},
		{"far beyond", median, resultFailed, 9, 0, true},
		{"done, no mark", none, resultDone, 0, 20, true},
		{"due and not done", median, resultMissing, 0, 0, true},
		{"not due yet", median, resultOpen, 0, 0, false},
		{"under way", median, resultBegun, 0, 0, false},
		{"altered", median, resultUnheld, 0, 0, false},
		{"cannot be marked", share, resultUnknown, 0, 0, false},
	} {
		g := grade{result: c.result, median: scoring.Point(c.value, 1), right: scoring.Point(c.value, 1)}
		if got, known := g.points(scoring.Assignment{Pass: c.pass}, 20); known != c.known || known && got != c.want {
			t.Errorf("%s: %v, %v; want %v, %v", c.name, got, known, c.want, c.known)
		}
	}
}
