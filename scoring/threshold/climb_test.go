package threshold

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"shadedrill/exercises/adaptive"
	"shadedrill/exercises/psychometric"
)

// The slope and the curvature that are worked out by hand are those of the
// objective, by central differences.
func TestHillHasTheDerivativesOfTheObjective(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	counts := []psychometric.Count{{Level: 0, Yes: 3, N: 12}, {Level: 0.3, Yes: 1, N: 2}, {Level: 0.8, Yes: 2, N: 5}, {Level: 1.3, Yes: 6, N: 8}, {Level: 3, Yes: 8, N: 9}}
	for _, task := range []adaptive.Task{adaptive.YesNo, adaptive.ForcedChoice} {
		for _, kind := range []Kind{Plain, Corrected} {
			m, _ := ModelFor(task, kind, counts)
			m.SlopePrior = Prior{1, 0.7}
			f, err := newFitter(m, counts)
			if err != nil {
				t.Fatal(err)
			}
			target := m.Curve.(psychometric.Sigmoid).Target
			for range 100 {
				u := place(point{0.3 + 2*rng.Float64(), 0.7 + 4*rng.Float64(), 0.05 + 0.4*rng.Float64(), 0.01 + 0.04*rng.Float64()})
				h := f.hill(target, u.parametersOf(), math.Inf(-1))
				near(t, "height", h.height, f.objective(u.parametersOf()), 1e-9*math.Abs(h.height))
				for a := range 4 {
					const d = 1e-5
					up, down := u, u
					up[a], down[a] = up[a]+d, down[a]-d
					above, below := f.hill(target, up.parametersOf(), math.Inf(-1)), f.hill(target, down.parametersOf(), math.Inf(-1))
					near(t, "slope", h.slope[a], (f.objective(up.parametersOf())-f.objective(down.parametersOf()))/(2*d), 1e-5*(1+math.Abs(h.slope[a])))
					for b := range a + 1 {
						near(t, "curvature", h.curvature[a][b], (above.slope[b]-below.slope[b])/(2*d), 1e-4*(1+math.Abs(h.curvature[a][b])))
					}
					if t.Failed() {
						t.Fatalf("%v %d at %+v, parameter %d", task, kind, u.parametersOf(), a)
					}
				}
			}
		}
	}
}

// With a parameter held a climb does not take its last step, and yet knows how high that
// would have led.
func TestClimbKnowsTheHeightOfTheStepItLeavesOut(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	for range 50 {
		m, counts := counted(adaptive.YesNo, seeing(1, 0.1, 64, 48, rng))
		f, err := newFitter(m, counts)
		if err != nil {
			t.Fatal(err)
		}
		from := f.start(ofThreshold, 0.9+0.2*rng.Float64())
		_, height, arrived := f.climb(from, ofThreshold, 1e-3)
		at, highest, _ := f.climb(from, ofThreshold, 1e-12)
		if !arrived || math.Abs(height-highest) > 1e-4 {
			t.Errorf("%v, arrived %v, want %v", height, arrived, highest)
		}
		near(t, "height of the top", f.objective(at.parameters()), highest, 1e-11)
	}
}

// veiled is a curve whose derivatives are not known, so that only the simplex can
// climb.
type veiled struct{ psychometric.Curve }

// Newton's method reaches the tops and ends that the simplex reaches, or higher
// tops and ends farther out: a value of the threshold belongs to the interval when any
// curve that has it is likely enough, whoever found the curve.
func TestClimbAgreesWithTheSimplex(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	runs := 40
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		runs = 600
	}
	lower, higher, differ, narrow, simplexNarrow, ends := 0, 0, 0, 0, 0, 0
	for range runs {
		pairs, catches, falseAlarms := 64, 48, 0.3*rng.Float64()
		answers := seeing(0.6+1.2*rng.Float64(), falseAlarms, pairs, catches, rng)
		m, counts := counted(adaptive.YesNo, answers)
		fast, err := Maximise(m, counts)
		if err != nil {
			t.Fatal(err)
		}
		m.Curve = veiled{m.Curve}
		slow, err := Maximise(m, counts)
		if err != nil {
			t.Fatal(err)
		}
		// Another top may be nearly as high: of one run here by 0.0007 only, with the rate of
		// lapses at the other end of its range.
		switch gain := fast.top - slow.top; {
		case gain < -2e-4:
			lower++
			continue
		case gain > 2e-4:
			higher++
			continue
		}
		near(t, "threshold", fast.Parameters.Threshold, slow.Parameters.Threshold, 1e-3*slow.Parameters.Threshold)
		near(t, "slope", fast.Parameters.Slope, slow.Parameters.Slope, 1e-2*slow.Parameters.Slope)
		near(t, "guess", fast.Parameters.Guess, slow.Parameters.Guess, 1e-3)
		limit := 3.841459 * m.Inflation.at(fast.Parameters.Slope)
		ratio := func(end float64) float64 { return min(likelihoodRatio(fast, end), likelihoodRatio(slow, end)) }
		lo, hi := fast.profile(ofThreshold, 0.95)
		slowLo, slowHi := slow.profile(ofThreshold, 0.95)
		for _, e := range [][2]float64{{lo, slowLo}, {hi, slowHi}} {
			ends++
			if math.Abs(e[0]-e[1]) <= 2e-3*e[1] || e[0] == e[1] {
				continue
			}
			differ++
			if e[0] > 0 && !math.IsInf(e[0], 1) && ratio(e[0]) < limit-0.02 {
				narrow++
			}
			if e[1] > 0 && !math.IsInf(e[1], 1) && ratio(e[1]) < limit-0.02 {
				simplexNarrow++
			}
		}
	}
	t.Logf("%d runs: %d tops lower, %d higher; of %d ends %d differ, %d too near by Newton's method, %d by the simplex",
		runs, lower, higher, ends, differ, narrow, simplexNarrow)
	if lower > 1+runs/100 {
		t.Errorf("%d of %d tops are lower than the simplex's", lower, runs)
	}
	if differ > ends/10 || narrow > 1+ends/100 {
		t.Errorf("of %d ends %d differ; %d are too near, %d by the simplex", ends, differ, narrow, simplexNarrow)
	}
}
