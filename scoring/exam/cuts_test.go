package exam_test

import (
	"math"
	"testing"

	"shadedrill/scoring"
	"shadedrill/scoring/exam"
	"shadedrill/scoring/trend"
)

// A cut-off belongs to the class above it: 17 of 20 is exactly 85 %, 15 exactly 75.
func TestCutsBelongToTheClassAbove(t *testing.T) {
	for right, want := range map[int]exam.Class{18: exam.Superior, 17: exam.Superior, 16: exam.Average, 15: exam.Average, 14: exam.Poor} {
		share := trend.Share(right, 20, 0.95)
		if class, _ := exam.HouseCuts.Classify(share, "items"); class != want {
			t.Errorf("%d of 20 (%v): %s, want %s", right, share.Value, class, want)
		}
		clustered := trend.ShareClustered([]int{right - 10, 10}, []int{10, 10}, 1, 0.95)
		if class, _ := exam.HouseCuts.Classify(clustered, "judgements"); class != want {
			t.Errorf("%d of 20 in two scenes: %s, want %s", right, class, want)
		}
	}
	// So do the ends of an interval.
	for _, c := range []struct {
		lo, hi float64
		says   string
	}{
		{0.85, 0.99, ""},
		{math.Nextafter(0.85, 0), 0.99, "20 items cannot separate superior from average"},
		{0.75, math.Nextafter(0.85, 0), ""},
		{0.75, 0.85, "20 items cannot separate superior from average"},
	} {
		if _, doubt := exam.HouseCuts.Classify(scoring.Interval(0.9, c.lo, c.hi, 0.95, 20), "items"); doubt != c.says {
			t.Errorf("%v to %v: %q, want %q", c.lo, c.hi, doubt, c.says)
		}
	}
}
