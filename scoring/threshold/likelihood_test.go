package threshold

import (
	"math"
	"math/rand/v2"
	"testing"

	"shadedrill/exercises/adaptive"
	"shadedrill/exercises/psychometric"
)

// The written-out likelihoods are those of the curves themselves.
func TestLikelihoodsAgreeWithTheCurves(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	counts := []psychometric.Count{{Level: 0, Yes: 3, N: 12}, {Level: 0.3, Yes: 0, N: 2}, {Level: 0.8, Yes: 2, N: 5}, {Level: 1.3, Yes: 6, N: 8}, {Level: 7, Yes: 9, N: 9}}
	for _, task := range []adaptive.Task{adaptive.YesNo, adaptive.ForcedChoice} {
		for _, kind := range []Kind{Plain, Corrected, Sensitivity} {
			m, ok := ModelFor(task, kind, counts)
			if !ok {
				t.Fatal("no model")
			}
			f, err := newFitter(m, counts)
			if err != nil {
				t.Fatal(err)
			}
			compared := 0
			for range 300 {
				var v point
				for i, a := range f.axes {
					v[i] = a.value(rng.Float64() * math.Pi / 2)
				}
				got, want := f.logLikelihood(v.parameters(), math.Inf(-1)), f.plain(v.parameters())
				if math.IsNaN(want) != math.IsNaN(got) {
					t.Fatalf("%v %d at %+v: %v, plainly %v", task, kind, v.parameters(), got, want)
				}
				// Where ψ comes within rounding of 1 the plain form has lost digits.
				if want > -300 {
					compared++
					near(t, "log-likelihood", got, want, 1e-6*math.Abs(want))
				}
			}
			if compared < 50 {
				t.Errorf("%v %d: only %d points compared", task, kind, compared)
			}
		}
	}
}

// Where the objective is not above a value the sum may be broken off, and only there.
func TestObjectiveAboveAValue(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	m, counts := counted(adaptive.YesNo, seeing(1, 0.1, 64, 48, rng))
	f, err := newFitter(m, counts)
	if err != nil {
		t.Fatal(err)
	}
	brokenOff := 0
	for range 300 {
		var v point
		for i, a := range f.axes {
			v[i] = a.value(rng.Float64() * math.Pi / 2)
		}
		p := v.parameters()
		want := f.objective(p)
		if math.IsInf(want, -1) {
			continue
		}
		for _, off := range []float64{-30, -1e-6, 0} {
			near(t, "objective above a value", f.objectiveAbove(p, want+off), want, 1e-12*math.Abs(want))
		}
		near(t, "objective after it was broken off", f.objective(p), want, 0)
		below := f.objectiveAbove(p, want+1)
		if below > want {
			t.Errorf("%v, want at most %v", below, want)
		}
		if math.IsInf(below, -1) {
			brokenOff++
		}
		h := f.hill(m.Curve.(psychometric.Sigmoid).Target, p, want-1e-6)
		near(t, "height", h.height, want, 1e-9*math.Abs(want))
	}
	if brokenOff < 100 {
		t.Errorf("only %d sums were broken off", brokenOff)
	}
}
