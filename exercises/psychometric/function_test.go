package psychometric

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g ± %g", what, got, want, tolerance)
	}
}

// Values computed outside this project with SciPy (γ .5, λ .02, α 1, x 1.2).
func TestFunctionValuesAndInverses(t *testing.T) {
	for _, c := range []struct {
		family         Family
		shape          float64
		psi, inverse75 float64
	}{
		{Logistic, 0.25, 0.831187751, 1.020845402},
		{Normal, 0.25, 0.878309409, 1.013061295},
		{Weibull, 3.5, 0.907697627, 0.916042552},
	} {
		f := Function{Family: c.family, Location: 1, Shape: c.shape, Guess: 0.5, Lapse: 0.02}
		if err := f.Validate(); err != nil {
			t.Fatal(err)
		}
		near(t, c.family.String()+" ψ(1.2)", f.At(1.2), c.psi, 5e-10)
		x, ok := f.inverse(0.75)
		if !ok {
			t.Errorf("%v: no inverse at .75", c.family)
		}
		near(t, c.family.String()+" inverse of .75", x, c.inverse75, 5e-10)
	}
}

// The Weibull in dB of Watson (2017), J Vision 17(3):10, Example 1's parameters;
// values computed outside this project.
func TestWeibullDecibel(t *testing.T) {
	f := Function{Family: WeibullDecibel, Location: -20, Shape: 3.5, Guess: 0.5, Lapse: 0.02}
	for x, want := range map[float64]float64{-20: 0.803417868, -18: 0.928834526, -30: 0.508460294} {
		near(t, "ψ", f.At(x), want, 5e-10)
	}
	linear := Function{Family: Weibull, Location: math.Pow(10, -20.0/20), Shape: 3.5, Guess: 0.5, Lapse: 0.02}
	log10 := Function{Family: WeibullLog10, Location: -1, Shape: 3.5, Guess: 0.5, Lapse: 0.02}
	natural := Function{Family: Gumbel, Location: math.Log(0.1), Shape: 1 / 3.5, Guess: 0.5, Lapse: 0.02}
	for _, dB := range []float64{-35, -22, -20, -19, -12} {
		near(t, "linear Weibull", linear.At(math.Pow(10, dB/20)), f.At(dB), 1e-14)
		near(t, "log10 Weibull", log10.At(dB/20), f.At(dB), 1e-14)
		near(t, "Gumbel", natural.At(dB/20*math.Ln10), f.At(dB), 1e-14)
	}
}

// Widths of Schütt et al. (2016), Vision Res 122:105: F⁻¹(.95) − F⁻¹(.05).
func TestWidth(t *testing.T) {
	near(t, "normal", Function{Family: Normal, Location: 7, Shape: 2}.Width(0.05), 2*3.289707254, 2e-9)
	near(t, "logistic", Function{Family: Logistic, Location: -3, Shape: 2}.Width(0.05), 2*5.888877958, 2e-9)
}

func TestEveryFamilyInvertsAndLocates(t *testing.T) {
	for f := Logistic; f <= WeibullLog10; f++ {
		for _, shape := range []float64{0.3, 1, 4} {
			for _, u := range []float64{0.001, 0.2, 0.5, 1 - math.Exp(-1), 0.97} {
				x := f.Inverse(u, 1.3, shape)
				near(t, f.String()+" F(F⁻¹(u))", f.f(x, 1.3, shape), u, 1e-12)
				near(t, f.String()+" location", f.locate(x, u, shape), 1.3, 1e-12)
			}
		}
		if !(f.f(0.5, 1, 1) < f.f(1, 1, 1) && f.f(1, 1, 1) < f.f(2, 1, 1)) {
			t.Errorf("%v does not rise", f)
		}
	}
}

func TestInverseOutsideTheCurve(t *testing.T) {
	f := Function{Family: Logistic, Location: 1, Shape: 1, Guess: 0.5, Lapse: 0.1}
	for _, p := range []float64{0.5, 0.4, 0.9, 1, math.NaN()} {
		if x, ok := f.inverse(p); ok {
			t.Errorf("ψ = %v is said to be reached at %v", p, x)
		}
	}
}

func TestValidate(t *testing.T) {
	good := Function{Family: Weibull, Location: 1, Shape: 2, Guess: 0.1, Lapse: 0.02}
	if err := good.Validate(); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func(*Function){
		"family":         func(f *Function) { f.Family = 0 },
		"location":       func(f *Function) { f.Location = math.NaN() },
		"zero location":  func(f *Function) { f.Location = 0 },
		"shape":          func(f *Function) { f.Shape = 0 },
		"endless shape":  func(f *Function) { f.Shape = math.Inf(1) },
		"negative guess": func(f *Function) { f.Guess = -0.1 },
		"too many":       func(f *Function) { f.Guess, f.Lapse = 0.6, 0.4 },
		"lapse":          func(f *Function) { f.Lapse = math.NaN() },
	} {
		f := good
		spoil(&f)
		if f.Validate() == nil {
			t.Errorf("%s: %+v passes", name, f)
		}
	}
}

func TestSigmoidThresholdIsWhereTheTargetSays(t *testing.T) {
	with := Parameters{Threshold: 1.7, Slope: 2, Guess: 0.2, Lapse: 0.04}
	for f := Logistic; f <= WeibullLog10; f++ {
		plain := Sigmoid{Family: f, Target: Proportion(0.5)}
		near(t, f.String()+" ψ at its threshold", plain.P(1.7, with), 0.5, 1e-12)
		core := Sigmoid{Family: f, Target: Core(0.5)}
		near(t, f.String()+" ψ at its core threshold", core.P(1.7, with), 0.2+0.76/2, 1e-12)

		moved, ok := plain.At(Core(0.5), with)
		if !ok || moved.Threshold <= 1.7 {
			t.Errorf("%v: correcting for guesses moves 1.7 to %v, %v", f, moved.Threshold, ok)
		}
		for _, x := range []float64{0.4, 1.7, 3} {
			near(t, f.String()+" the same curve", core.P(x, moved), plain.P(x, with), 1e-12)
		}
		back, ok := core.At(Proportion(0.5), moved)
		if !ok {
			t.Errorf("%v: no way back", f)
		}
		near(t, f.String()+" back again", back.Threshold, 1.7, 1e-12)
	}
}

func TestNoHalfPointAboveHalfTheGuesses(t *testing.T) {
	with := Parameters{Threshold: 1, Slope: 2, Guess: 0.55}
	if p := (Sigmoid{Weibull, Proportion(0.5)}).P(1, with); !math.IsNaN(p) {
		t.Errorf("Weibull: %v", p)
	}
	if p := (Detector{HalfYes: true}).P(1, with); !math.IsNaN(p) {
		t.Errorf("detector: %v", p)
	}
	if _, ok := (Detector{}).At(true, with); ok {
		t.Error("a detector that mostly says yes to nothing is given a 50 % point")
	}
}

func TestDetector(t *testing.T) {
	with := Parameters{Threshold: 0.9, Slope: 1.4, Guess: 0.27, Lapse: 0.04}
	d := Detector{}
	near(t, "false alarms", d.P(0, with), 0.02+0.96*0.27, 1e-12)
	without := with
	without.Lapse = 0
	near(t, "d′ at the threshold", z(d.P(0.9, without))-z(d.P(0, without)), 1, 1e-12)

	half, ok := d.At(true, with)
	if !ok {
		t.Fatal("no 50 % point")
	}
	h := Detector{HalfYes: true}
	near(t, "P at the 50 % point", h.P(half.Threshold, half), 0.5, 1e-12)
	for _, x := range []float64{0, 0.3, 1, 2.5} {
		near(t, "the same detector", h.P(x, half), d.P(x, with), 1e-12)
	}
	back, _ := h.At(false, half)
	near(t, "and back", back.Threshold, 0.9, 1e-12)

	reluctant := with
	reluctant.Guess = 0.02
	later, _ := d.At(true, reluctant)
	if later.Threshold <= half.Threshold {
		t.Error("a stricter criterion must raise the 50 % point and leave d′ = 1 where it is")
	}
}

func TestForcedChoiceDetector(t *testing.T) {
	with := Parameters{Threshold: 1.2, Slope: 1.3}
	near(t, "at the threshold", ForcedChoiceDetector{}.P(1.2, with), 0.75, 1e-12)
	near(t, "of nothing", ForcedChoiceDetector{}.P(0, with), 0.5, 0)
	yesNo := Detector{}
	// d′ = 1 in the yes/no task is 76.02 % right in the forced choice.
	unit := 1.2 * math.Pow(1/(math.Sqrt2*z75), 1/1.3)
	near(t, "at d′ = 1", ForcedChoiceDetector{}.P(unit, with), ForcedChoice(1), 1e-12)
	p := yesNo.P(unit, Parameters{Threshold: unit, Slope: 1.3, Guess: 0.3})
	near(t, "the yes/no d′ there", z(p)-z(0.3), 1, 1e-12)
}

func TestLikelihoodByHand(t *testing.T) {
	counts := []Count{{Level: 1, Yes: 1, N: 4}, {Level: 2, Yes: 3, N: 3}, {Level: 3}}
	psi := func(x float64) float64 { return x / 4 }
	near(t, "log-likelihood", LogLikelihood(psi, counts), math.Log(0.25)+3*math.Log(0.75)+3*math.Log(0.5), 1e-12)
	near(t, "deviance", Deviance(psi, counts), -2*3*math.Log(0.5), 1e-12)
	certain := func(float64) float64 { return 1 }
	if v := LogLikelihood(certain, counts); !math.IsInf(v, -1) {
		t.Errorf("an impossible answer has log-likelihood %v", v)
	}
	if v := LogLikelihood(func(float64) float64 { return math.NaN() }, counts); !math.IsNaN(v) {
		t.Errorf("no curve has log-likelihood %v", v)
	}
}

func TestPool(t *testing.T) {
	got := Pool([]Count{{2, 1, 2}, {1, 0, 1}, {2, 1, 1}, {3, 0, 0}})
	want := []Count{{1, 0, 1}, {2, 2, 3}}
	if len(got) != 2 || got[0] != want[0] || got[1] != want[1] {
		t.Errorf("pooled %v, want %v", got, want)
	}
	for _, bad := range []Count{{1, 2, 1}, {1, -1, 1}, {math.NaN(), 0, 1}, {math.Inf(1), 0, 1}, {1, 0, -1}} {
		if bad.Validate() == nil {
			t.Errorf("%+v passes", bad)
		}
	}
}
