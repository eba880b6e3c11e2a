package threshold

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/exercises/adaptive"
	"shadedrill/exercises/psychometric"
)

// counted is the answers by level, and the model of their plain threshold.
func counted(task adaptive.Task, answers []Answer) (Model, []psychometric.Count) {
	var counts []psychometric.Count
	for _, a := range answers {
		c := psychometric.Count{Level: a.Level, N: 1}
		if a.Yes {
			c.Yes = 1
		}
		counts = append(counts, c)
	}
	m, _ := ModelFor(task, Plain, psychometric.Pool(counts))
	return m, psychometric.Pool(counts)
}

// At the ends of an interval the profile has fallen by the limit, to more digits than the
// last step of the search was asked for.
func TestEndsLieWhereTheProfileHasFallen(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for range 30 {
		m, counts := counted(adaptive.YesNo, seeing(0.6+1.2*rng.Float64(), 0.1*rng.Float64(), 80, 60, rng))
		fit, err := Maximise(m, counts)
		if err != nil {
			t.Fatal(err)
		}
		limit := distuv.ChiSquared{K: 1}.Quantile(0.95) * m.Inflation.at(fit.Parameters.Slope)
		lo, hi := fit.profile(ofThreshold, 0.95)
		for _, end := range []float64{lo, hi} {
			near(t, "likelihood ratio at an end", likelihoodRatio(fit, end), limit, 2e-6)
		}
	}
}

// The place is foretold where it is a parabola over the root; what fell without end tells
// nothing, and neither do two places with the same fall.
func TestFootsteps(t *testing.T) {
	var w footsteps
	place := func(root float64) float64 { return 1 + 0.3*root - 0.02*root*root }
	for _, root := range []float64{5, 0, 1, 1.5} { // the first is forgotten
		w.add(root*root, place(root))
	}
	w.add(math.Inf(1), 7)
	near(t, "place", w.at(4), place(2), 1e-14)
	w.add(1.5*1.5, 3)
	if at := w.at(4); at >= -100 && at <= 100 {
		t.Errorf("two places with the same fall foretell %v", at)
	}
}
