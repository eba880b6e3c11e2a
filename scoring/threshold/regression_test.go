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

// The fits as R's glm prints them.
func TestBeetles(t *testing.T) {
	for _, c := range []struct {
		link                                      Link
		b0, se0, b1, se1                          float64
		deviance, pearson, logLik, aic            float64
		x50, se50, x25, x75                       float64
		covariance, fiellerLo, fiellerHi, fieller float64
	}{
		{Logit, -60.71745456, 5.18071146, 34.27032573, 2.91214007, 11.2322311, 10.0268176, -18.7151347, 41.4302693,
			1.771720964, 0.003858055, 1.739663718, 1.803778211, -15.082151006, 1.763858172, 1.779200475, .0277385808},
		{Probit, -34.93525890, 2.64791780, 19.72793421, 1.48723504, 10.1197581, 9.5134270, -18.1588982, 40.3177963,
			1.770852362, 0.003803337, 1.736662784, 1.805041940, -3.936543850, 1.763114319, 1.778193800, 0},
		{CLogLog, -39.57231061, 3.24027262, 22.04116982, 1.79935519, 3.4464387, 3.2946948, -14.8222385, 33.6444770,
			1.778753034, 0.004006530, 1.738855587, 1.810200874, 0, 0, 0, 0},
	} {
		r, err := Regress(c.link, beetles())
		if err != nil {
			t.Fatal(err)
		}
		name := c.link.String() + " "
		near(t, name+"b0", r.B0, c.b0, 6e-7)
		near(t, name+"SE of b0", r.SE0, c.se0, 2e-5)
		near(t, name+"b1", r.B1, c.b1, 6e-7)
		near(t, name+"SE of b1", r.SE1, c.se1, 2e-5)
		near(t, name+"deviance", r.Deviance, c.deviance, 6e-8)
		near(t, name+"null deviance", r.NullDeviance, 284.2024495, 6e-8)
		// R stops iterating when the deviance does; its other figures carry that error.
		near(t, name+"Pearson", r.PearsonX2, c.pearson, 2e-6)
		near(t, name+"log-likelihood", r.LogLikelihood, c.logLik, 6e-8)
		near(t, name+"AIC", r.AIC, c.aic, 1.2e-7)
		x50, se50 := r.Level(0.5)
		near(t, name+"x50", x50, c.x50, 6e-10)
		near(t, name+"SE of x50", se50, c.se50, 2e-8)
		x25, _ := r.Level(0.25)
		x75, _ := r.Level(0.75)
		near(t, name+"x25", x25, c.x25, 6e-10)
		near(t, name+"x75", x75, c.x75, 6e-10)
		if c.covariance != 0 {
			near(t, name+"covariance", r.Covariance, c.covariance, 1e-4)
		}
		if lo, hi, g, ok := r.Fieller(0.5, 0.95); c.fiellerLo != 0 {
			if !ok {
				t.Errorf("%sFieller has no bounds", name)
			}
			near(t, name+"Fieller lo", lo, c.fiellerLo, 2e-8)
			near(t, name+"Fieller hi", hi, c.fiellerHi, 2e-8)
			if c.fieller != 0 {
				near(t, name+"Fieller g", g, c.fieller, 2e-7)
			}
		}
		if r.DegreesFreedom != 6 || r.N != 481 {
			t.Errorf("%s%d degrees of freedom, %d answers", name, r.DegreesFreedom, r.N)
		}
	}
	r, _ := Regress(Logit, beetles())
	for i, want := range []float64{3.457460505, 9.841672134, 22.45137836, 33.89763475, 50.09582163, 53.29091334, 59.22215862, 58.74296064} {
		c := beetles()[i]
		near(t, "fitted count", r.P(c.Level)*float64(c.N), want, 6e-8)
	}
}

// The same fits by the general routine: a logistic curve without guesses and
// lapses is the logit regression.
func TestBeetlesByMaximumLikelihood(t *testing.T) {
	for family, want := range map[psychometric.Family][2]float64{
		psychometric.Logistic: {1.771720964, 11.2322311},
		psychometric.Normal:   {1.770852362, 10.1197581},
		psychometric.Gumbel:   {1.778753034, 3.4464387},
	} {
		fit, err := Maximise(Model{
			Curve:     psychometric.Sigmoid{Family: family, Target: psychometric.Proportion(0.5)},
			Threshold: Range{1.5, 2}, Slope: Range{0.001, 1}, Guess: Fixed(0), Lapse: Fixed(0),
		}, beetles())
		if err != nil {
			t.Fatal(err)
		}
		near(t, family.String()+" x50", fit.Parameters.Threshold, want[0], 1e-8)
		near(t, family.String()+" deviance", fit.Deviance, want[1], 6e-8)
	}
}

// x50 = 1.7717 with Fieller's interval [1.7639, 1.7792]: the profile interval has
// no printed value, but must agree with it to the second order.
func TestProfileAgreesWithFieller(t *testing.T) {
	fit, err := Maximise(Model{
		Curve:     psychometric.Sigmoid{Family: psychometric.Logistic, Target: psychometric.Proportion(0.5)},
		Threshold: Range{1.5, 2}, Slope: Range{0.001, 1}, Guess: Fixed(0), Lapse: Fixed(0),
	}, beetles())
	if err != nil {
		t.Fatal(err)
	}
	lo, hi := fit.Profile(Threshold, 0.95)
	near(t, "lo", lo, 1.763858172, 1.5e-4)
	near(t, "hi", hi, 1.779200475, 1.5e-4)
	near(t, "likelihood ratio at lo", fit.Ratio(Threshold, lo), 3.841458821, 1e-3)
	near(t, "likelihood ratio at hi", fit.Ratio(Threshold, hi), 3.841458821, 1e-3)
	wide := fit.Model
	wide.Inflation = Inflation{Base: 1.5}
	fit, err = Maximise(wide, beetles())
	if err != nil {
		t.Fatal(err)
	}
	widerLo, widerHi := fit.Profile(Threshold, 0.95)
	near(t, "inflation widens by its root", (widerHi-widerLo)/(hi-lo), math.Sqrt(1.5), 0.01)
	wide.Inflation = Inflation{Base: 1, Shallow: 0.5 * fit.Parameters.Slope}
	fit, err = Maximise(wide, beetles())
	if err != nil {
		t.Fatal(err)
	}
	widerLo, widerHi = fit.Profile(Threshold, 0.95)
	near(t, "the slope's part of an inflation widens alike", (widerHi-widerLo)/(hi-lo), math.Sqrt(1.5), 0.01)
}

func TestRegressionRefusesWhatHasNoFit(t *testing.T) {
	count := func(level float64, yes int) psychometric.Count {
		return psychometric.Count{Level: level, Yes: yes, N: 5}
	}
	for name, counts := range map[string][]psychometric.Count{
		"one level": {count(1, 2)},
		"all yes":   {count(1, 5), count(2, 5)},
		"separated": {count(1, 0), count(2, 0), count(3, 5), count(4, 5)},
		"malformed": {{Level: 1, Yes: 6, N: 5}, count(2, 2)},
	} {
		if r, err := Regress(Probit, counts); err == nil {
			t.Errorf("%s: %+v", name, r)
		}
	}
	if _, err := Regress(0, beetles()); err == nil {
		t.Error("no link is fitted")
	}
	flat, err := Regress(Logit, []psychometric.Count{count(1, 2), count(2, 3), count(3, 2)})
	if err != nil {
		t.Fatal(err)
	}
	if lo, hi, _, ok := flat.Fieller(0.5, 0.95); ok {
		t.Errorf("a flat line crosses ½ between %v and %v", lo, hi)
	}
}

// Computed outside this project by ordinary least squares of ln y on 1/x.
func TestSCurve(t *testing.T) {
	s, err := FitSCurve([]float64{0.5, 1, 1.5, 2, 3, 4, 5}, []float64{.03, .12, .26, .38, .58, .72, .80})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "b0", s.B0, 0.0107057770, 6e-11)
	near(t, "b1", s.B1, -1.8409685536, 6e-11)
	x, ok := s.Level(0.5)
	if !ok {
		t.Error("no x50")
	}
	near(t, "x50", x, 2.6155584541, 6e-11)
	near(t, "y there", s.P(x), 0.5, 1e-12)
	if _, ok := (SCurve{B0: -2, B1: -1}).Level(0.5); ok {
		t.Error("a curve that ends at 13 % reaches 50 %")
	}
	for _, bad := range [][2][]float64{{{1}, {0.5}}, {{0, 1}, {0.1, 0.5}}, {{1, 2}, {0, 0.5}}, {{1, 1}, {0.2, 0.5}}} {
		if _, err := FitSCurve(bad[0], bad[1]); err == nil {
			t.Errorf("%v fits", bad)
		}
	}
}
