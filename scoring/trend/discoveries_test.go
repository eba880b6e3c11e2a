package trend

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Worked by hand from the rule.
func TestDiscoveries(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		ps   []float64
		want int // how many of the smallest
	}{
		{[]float64{.01, .02, .03, .04, .05}, 5},
		{[]float64{.001, .008, .039, .041, .042, .06, .074, .205, .212, .216, .222, .251, .269, .275, .34}, 1}, // .008 is above .05·2/15
		{[]float64{.06, .07, .9}, 0},
		{[]float64{nan, .04, nan}, 1}, // what cannot be told makes nobody else less certain
		{nil, 0},
	} {
		found := Discoveries(c.ps, 0.05)
		n := 0
		for i, f := range found {
			if f {
				n++
				if math.IsNaN(c.ps[i]) {
					t.Errorf("%v: NaN was found", c.ps)
				}
			}
		}
		if n != c.want {
			t.Errorf("%v: %d found instead of %d", c.ps, n, c.want)
		}
	}
}

// Equal weights are no weights; weights of 2 are values twice over.
func TestMedianWeighed(t *testing.T) {
	xs := []float64{3, 1, 2, 5, 4, 9, 7, 8}
	if a, b := MedianWeighed(xs, []float64{2, 2, 2, 2, 2, 2, 2, 2}, 0.95), Median(xs, 0.95); a.Value != b.Value || a.Lo != b.Lo || a.Hi != b.Hi {
		t.Errorf("equal weights: %v instead of %v", a, b)
	}
	heavy := MedianWeighed(xs, []float64{1, 1, 1, 1, 1, 1, 1, 20}, 0.95)
	if heavy.Value < 7 || heavy.Value > 9 {
		t.Errorf("a value with three quarters of the weight gives the median %.2f, far from it", heavy.Value)
	}
	for _, bad := range [][]float64{{1}, {1, 1, 1, 1, 1, 1, 1, 0}, {1, 1, 1, 1, 1, 1, 1, math.Inf(1)}} {
		if MedianWeighed(xs, bad, 0.95).Defined() {
			t.Errorf("weights %v were taken", bad)
		}
	}
}

// A sample in which large values come three times as often tells the median of an even
// one, and its interval covers it.
func TestMedianWeighedCovers(t *testing.T) {
	rng := rand.New(rand.NewPCG(61, 2))
	const runs = 2000
	truth := math.Ln2 // of the exponential distribution
	covered, below := 0, 0
	for range runs {
		var xs, ws []float64
		for len(xs) < 60 {
			x := rng.ExpFloat64()
			chance := 1.0
			if x > 1 {
				chance = 3
			}
			if rng.Float64() < chance/3 {
				xs, ws = append(xs, x), append(ws, 1/chance)
			}
		}
		e := MedianWeighed(xs, ws, 0.95)
		if e.Covers(truth) {
			covered++
		}
		if e.Value < truth {
			below++
		}
	}
	if share := float64(covered) / runs; share < 0.93 || share > 0.97 {
		t.Errorf("covered in %.1f %% of runs", 100*share)
	}
	if share := float64(below) / runs; math.Abs(share-0.5) > 0.05 {
		t.Errorf("too low in %.1f %% of runs", 100*share)
	}
}
