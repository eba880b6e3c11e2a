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

// There is no lower end just where a curve that starts at one half is likely enough: moved
// to pass one half far below, it stays so. Where there is one, no curve that starts at one
// half is likely enough, wherever it is looked for.
func TestNoLowerEndWhereHalfOfAllMayBeFalseAlarms(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 16))
	open, ends := 0, 0
	for range 150 {
		answers := seeing(0.6+1.2*rng.Float64(), 0.1+0.3*rng.Float64(), 48, 12, rng)
		m, counts := counted(adaptive.YesNo, answers)
		fit, err := Maximise(m, counts)
		if err != nil || fit.Parameters.Guess > 0.45 {
			continue
		}
		limit := distuv.ChiSquared{K: 1}.Quantile(0.95) / 2 * m.Inflation.at(fit.Parameters.Slope)
		lo, _ := fit.profile(ofThreshold, 0.95)

		flat, _ := ModelFor(adaptive.YesNo, Corrected, counts)
		flat.Guess = fixed(0.5)
		half, err := Maximise(flat, counts)
		if err != nil {
			t.Fatal(err)
		}
		if likely := fit.top-half.top < limit; likely != (lo == 0) {
			t.Errorf("lower end %v; the best curve from one half lies %.3f down of %.3f", lo, fit.top-half.top, limit)
		}
		if lo > 0 {
			ends++
			continue
		}
		open++
		// The rate of guesses with which that very curve passes one half at 0.01.
		p := half.Parameters
		seen := -math.Expm1(-math.Ln2 * math.Pow(0.01/p.Threshold, p.Slope))
		p.Guess = (0.5 - (1-p.Lapse)*seen) / (1 - seen)
		if height := half.fitter.objective(p); fit.top-height > limit+0.01 {
			t.Errorf("with one half at 0.01 the curve lies %.3f down of %.3f", fit.top-height, limit)
		}
	}
	if open < 20 || ends < 20 {
		t.Errorf("%d without a lower end, %d with one", open, ends)
	}
}
