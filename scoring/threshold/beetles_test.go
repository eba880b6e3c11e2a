package threshold

import (
	"math"
	"testing"

	"shadedrill/exercises/psychometric"
)

// beetles is the data of Bliss (1935): dose log10 CS₂, killed of exposed.
func beetles() []psychometric.Count {
	x := []float64{1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839}
	n := []int{59, 60, 62, 56, 63, 59, 62, 60}
	var counts []psychometric.Count
	for i, killed := range []int{6, 13, 18, 28, 52, 53, 61, 60} {
		counts = append(counts, psychometric.Count{Level: x[i], Yes: killed, N: n[i]})
	}
	return counts
}

// A curve without guesses and lapses is the classical dose–response regression:
// logistic the logit, normal the probit, Gumbel the complementary log-log. Values as
// R's glm prints them.
func TestBeetlesByMaximumLikelihood(t *testing.T) {
	for family, want := range map[psychometric.Family][2]float64{
		psychometric.Logistic: {1.771720964, 11.2322311},
		psychometric.Normal:   {1.770852362, 10.1197581},
		psychometric.Gumbel:   {1.778753034, 3.4464387},
	} {
		fit, err := Maximise(Model{
			Curve:     psychometric.Sigmoid{Family: family, Target: psychometric.Proportion(0.5)},
			Threshold: Range{1.5, 2}, Slope: Range{0.001, 1}, Guess: fixed(0), Lapse: fixed(0),
		}, beetles())
		if err != nil {
			t.Fatal(err)
		}
		near(t, family.String()+" x50", fit.Parameters.Threshold, want[0], 1e-8)
		near(t, family.String()+" deviance", fit.Deviance, want[1], 6e-8)
	}
}

// likelihoodRatio is twice the distance in log-likelihood between the best curve of all
// and the best whose threshold lies at value.
func likelihoodRatio(f Fit, value float64) float64 {
	near := pointOf(f.Parameters)
	near[ofThreshold] = value
	_, fromNear := f.fitter.maximise(near, ofThreshold, coarse)
	_, fromFar := f.fitter.maximise(f.fitter.start(ofThreshold, value), ofThreshold, coarse)
	return max(0, 2*(f.top-max(fromNear, fromFar)))
}

// x50 = 1.7717 with Fieller's interval [1.7639, 1.7792] of the logit regression, from
// R's figures: the profile interval has
// no printed value, but must agree with it to the second order.
func TestProfileAgreesWithFieller(t *testing.T) {
	fit, err := Maximise(Model{
		Curve:     psychometric.Sigmoid{Family: psychometric.Logistic, Target: psychometric.Proportion(0.5)},
		Threshold: Range{1.5, 2}, Slope: Range{0.001, 1}, Guess: fixed(0), Lapse: fixed(0),
	}, beetles())
	if err != nil {
		t.Fatal(err)
	}
	lo, hi := fit.profile(ofThreshold, 0.95)
	near(t, "lo", lo, 1.763858172, 1.5e-4)
	near(t, "hi", hi, 1.779200475, 1.5e-4)
	near(t, "likelihood ratio at lo", likelihoodRatio(fit, lo), 3.841458821, 1e-3)
	near(t, "likelihood ratio at hi", likelihoodRatio(fit, hi), 3.841458821, 1e-3)
	wide := fit.Model
	wide.Inflation = Inflation{Base: 1.5}
	fit, err = Maximise(wide, beetles())
	if err != nil {
		t.Fatal(err)
	}
	widerLo, widerHi := fit.profile(ofThreshold, 0.95)
	near(t, "inflation widens by its root", (widerHi-widerLo)/(hi-lo), math.Sqrt(1.5), 0.01)
	wide.Inflation = Inflation{Base: 1, Shallow: 0.5 * fit.Parameters.Slope}
	fit, err = Maximise(wide, beetles())
	if err != nil {
		t.Fatal(err)
	}
	widerLo, widerHi = fit.profile(ofThreshold, 0.95)
	near(t, "the slope's part of an inflation widens alike", (widerHi-widerLo)/(hi-lo), math.Sqrt(1.5), 0.01)
}
