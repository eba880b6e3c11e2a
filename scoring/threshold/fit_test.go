package threshold

import (
	"math"
	"testing"

	"shadedrill/exercises/psychometric"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g ± %g", what, got, want, tolerance)
	}
}

// forcedChoiceData is the 2AFC data set of psignifit's tests (fixtures.py), levels
// in thousandths.
func forcedChoiceData() []psychometric.Count {
	var counts []psychometric.Count
	levels := []float64{1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 6.0, 7.0, 8.0, 10.0}
	for i, yes := range []int{45, 50, 44, 44, 52, 53, 62, 64, 76, 79, 88, 90, 90} {
		counts = append(counts, psychometric.Count{Level: levels[i], Yes: yes, N: 90})
	}
	return counts
}

// Maximum-likelihood fits computed outside this project with SciPy.
func TestForcedChoiceFits(t *testing.T) {
	for _, c := range []struct {
		family                 psychometric.Family
		lapse                  Range
		alpha, beta, minusLogL float64
		deviance               float64
	}{
		{psychometric.Normal, fixed(0), 4.64781702, 1.41625736, 565.955165, 5.932813},
		{psychometric.Normal, fixed(0.02), 4.54156841, 1.31081522, 569.482103, 12.986688},
		{psychometric.Logistic, fixed(0), 4.63323278, .81796631, 566.536398, 7.095277},
		{psychometric.Logistic, fixed(0.02), 4.52815217, .75208509, 569.976244, 13.974971},
		{psychometric.Weibull, fixed(0), 5.15610900, 3.66883415, 565.860304, 5.743091},
		{psychometric.Weibull, fixed(0.02), 5.01912575, 3.85890596, 569.405630, 12.833742},
		{psychometric.Normal, Range{0, 0.2}, 4.64781702, 1.41625736, 565.955165, 5.932813},
		{psychometric.Logistic, Range{0, 0.2}, 4.63323278, .81796631, 566.536398, 7.095277},
		{psychometric.Weibull, Range{0, 0.2}, 5.15610900, 3.66883415, 565.860304, 5.743091},
	} {
		location := psychometric.Core(0.5)
		if c.family == psychometric.Weibull {
			location = psychometric.Core(1 - math.Exp(-1))
		}
		fit, err := Maximise(Model{
			Curve:     psychometric.Sigmoid{Family: c.family, Target: location},
			Threshold: Range{0.5, 20}, Slope: Range{0.05, 20}, Guess: fixed(0.5), Lapse: c.lapse,
		}, forcedChoiceData())
		if err != nil {
			t.Fatal(err)
		}
		name := c.family.String()
		near(t, name+" α", fit.Parameters.Threshold, c.alpha, 2e-6)
		near(t, name+" β", fit.Parameters.Slope, c.beta, 2e-6)
		near(t, name+" λ", fit.Parameters.Lapse, c.lapse.Lo, 1e-9)
		near(t, name+" −log L", -fit.LogLikelihood, c.minusLogL, 6e-7)
		near(t, name+" deviance", fit.Deviance, c.deviance, 6e-7)
	}
}
