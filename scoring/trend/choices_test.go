package trend

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// What is tabled of the normal distribution is gonum's to eight digits.
func TestNormalAt(t *testing.T) {
	for z := -9.0; z <= 9; z += 0.0037 {
		d, p := normalAt(z)
		if wd, wp := distuv.UnitNormal.Prob(z), distuv.UnitNormal.CDF(z); math.Abs(d-wd) > 1e-8 || math.Abs(p-wp) > 1e-8 {
			t.Fatalf("at %g: density %.10f, distribution %.10f; want %.10f, %.10f", z, d, p, wd, wp)
		}
	}
	for _, end := range []float64{math.Inf(-1), math.Inf(1)} {
		if d, p := normalAt(end); d != 0 || p != 0 && p != 1 {
			t.Errorf("at %g: %g, %g", end, d, p)
		}
	}
}
