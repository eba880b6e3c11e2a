package trend

import (
	"math"
	"testing"
)

// Without clusters it is Wilson's interval; a design effect of k makes it the one
// of n/k answers.
func TestShareClustered(t *testing.T) {
	ones, hits := make([]int, 20), make([]int, 20)
	for i := range ones {
		ones[i] = 1
		if i < 15 {
			hits[i] = 1
		}
	}
	same := func(what string, lo, hi, wantLo, wantHi float64) {
		t.Helper()
		if math.Abs(lo-wantLo) > 1e-12 || math.Abs(hi-wantHi) > 1e-12 {
			t.Errorf("%s: %.4f to %.4f instead of %.4f to %.4f", what, lo, hi, wantLo, wantHi)
		}
	}
	plain := Share(15, 20, 0.95)
	e := ShareClustered(hits, ones, 2, 0.95)
	same("single answers", e.Lo, e.Hi, plain.Lo, plain.Hi)
	// One round of 16, design effect 2: 8 answers, 6 of them right.
	six := Share(6, 8, 0.95)
	e = ShareClustered([]int{12}, []int{16}, 2, 0.95)
	same("one round", e.Lo, e.Hi, six.Lo, six.Hi)
	if len(e.Warnings) != 1 || e.N != 16 || e.Value != 0.75 {
		t.Errorf("one round: %+v", e)
	}
	// All right: the expected effect, and 1 as the upper end.
	e = ShareClustered([]int{8, 8}, []int{8, 8}, 2, 0.95)
	eight := Share(8, 8, 0.95)
	same("all right", e.Lo, e.Hi, eight.Lo, 1)
	// Worked by hand: 4 clusters of 4 with 4, 4, 0, 0 right: p = 1/2, the squares
	// are 4 · 2² = 16, seen = 4/3 · 16 / (1/4 · 16) = 16/3, effect (16/3 · 3 + 1 · 8)/11 = 24/11.
	e = ShareClustered([]int{4, 4, 0, 0}, []int{4, 4, 4, 4}, 1, 0.95)
	lo, hi := wilson(0.5, 16*11.0/24, normalQuantile(0.95))
	same("all or nothing", e.Lo, e.Hi, lo, hi)
	// Empty clusters say nothing; more hits than answers are a mistake.
	e = ShareClustered([]int{12, 0}, []int{16, 0}, 2, 0.95)
	same("one empty", e.Lo, e.Hi, six.Lo, six.Hi)
	for _, bad := range [][2][]int{{{1}, {1, 1}}, {{3}, {2}}, {{-1}, {2}}, {nil, nil}} {
		if e := ShareClustered(bad[0], bad[1], 2, 0.95); e.Defined() {
			t.Errorf("%v is %+v", bad, e)
		}
	}
}
