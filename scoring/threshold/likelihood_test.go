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
				got, want := f.logLikelihood(v.parameters()), f.plain(v.parameters())
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
