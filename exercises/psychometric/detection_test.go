package psychometric

import (
	"errors"
	"fmt"
	"math"
	"testing"
)

// Values computed outside this project; the formulas are those of Macmillan &
// Creelman, Detection Theory.
func TestYesNo(t *testing.T) {
	s, err := YesNo(0.9, 0.2)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "d′", s.DPrime, 2.123172799, 5e-10)
	near(t, "c", s.Criterion, -0.219965166, 5e-10)
	near(t, "β", math.Exp(s.LogBeta), 0.626865010, 5e-10)

	h, f := LogLinear(20, 20), LogLinear(2, 20)
	near(t, "H′", h, 0.976190476, 5e-10)
	near(t, "F′", f, 0.119047619, 5e-10)
	s, err = YesNo(h, f)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "log-linear d′", s.DPrime, 3.160513514, 5e-10)
	near(t, "log-linear c", s.Criterion, -0.400495640, 5e-10)
	s, err = YesNo(HalfTrial(20, 20), HalfTrial(2, 20))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "1/(2N) d′", s.DPrime, 3.241515550, 5e-10)
	near(t, "Abbott", Abbott(0.8, 0.27), 0.726027397, 5e-10)
}

func TestRatesWithoutAnswer(t *testing.T) {
	for _, r := range [][2]float64{{1, 0.2}, {0.3, 0}} {
		if _, err := YesNo(r[0], r[1]); !errors.Is(err, ErrExtremeRate) {
			t.Errorf("%v: %v", r, err)
		}
	}
	for _, r := range [][2]float64{{1.2, 0.2}, {0.3, -1}, {math.NaN(), 0.5}} {
		if _, err := YesNo(r[0], r[1]); err == nil {
			t.Errorf("%v passes", r)
		}
	}
	if !math.IsNaN(LogLinear(3, 2)) || !math.IsNaN(HalfTrial(0, 0)) || !math.IsNaN(Abbott(0.5, 1)) {
		t.Error("counts that cannot be give a number")
	}
	if !math.IsNaN(ForcedChoice(1, 1)) {
		t.Error("a choice of one gives a proportion")
	}
	if _, err := ForcedChoiceDPrime(1, 0.5); err == nil {
		t.Error("a choice of one gives a d′")
	}
	if _, err := OddityDPrime(0.2); !errors.Is(err, ErrChance) {
		t.Errorf("oddity below chance: %v", err)
	}
	if _, err := ABXIndependentDPrime(1); !errors.Is(err, ErrExtremeRate) {
		t.Errorf("ABX always right: %v", err)
	}
	if _, _, err := SameDifferentDifferencing(0.1, 0.3); !errors.Is(err, ErrChance) {
		t.Errorf("fewer hits than false alarms: %v", err)
	}
	if _, _, err := SameDifferentIndependent(0.1, 0.3); !errors.Is(err, ErrChance) {
		t.Errorf("fewer hits than false alarms: %v", err)
	}
}

// The variance by the delta method, against a hand calculation at H = F = ½:
// 2·(¼)/(n·φ(0)²) = π/n.
func TestDPrimeVariance(t *testing.T) {
	near(t, "variance", DPrimeVariance(0.5, 0.5, 10, 10), math.Pi/10, 1e-12)
	if v := DPrimeVariance(1, 0.5, 10, 10); !math.IsInf(v, 1) {
		t.Errorf("variance at H = 1: %v", v)
	}
	if v := DPrimeVariance(0.5, 0.5, 10, 0); !math.IsNaN(v) {
		t.Errorf("variance without trials: %v", v)
	}
}

// Proportions correct by d′; computed outside this project by quadrature, in
// agreement with the R package psyphy.
func TestForcedChoiceAndOddityTable(t *testing.T) {
	for _, row := range [][6]float64{
		{0.5, .638163, .482593, .393318, .334533, .355835},
		{1.0, .760250, .633702, .552031, .493699, .418047},
		{1.5, .855578, .765812, .701863, .652865, .506456},
		{2.0, .921350, .865767, .822793, .787839, .604807},
		{3.0, .983053, .968795, .956374, .945311, .781428},
	} {
		for m := 2; m <= 5; m++ {
			near(t, fmt.Sprintf("Pc of %d-AFC at %v", m, row[0]), ForcedChoice(m, row[0]), row[m-1], 5.1e-7)
		}
		near(t, fmt.Sprintf("Pc of oddity at %v", row[0]), Oddity(row[0]), row[5], 5.1e-7)
	}
	for m := 2; m <= 5; m++ {
		near(t, "chance", ForcedChoice(m, 0), 1/float64(m), 1e-12)
	}
	near(t, "chance of oddity", Oddity(0), 1.0/3, 1e-12)
}

// d′ by proportion correct; same source.
func TestForcedChoiceAndOddityInverse(t *testing.T) {
	for _, row := range [][6]float64{
		{.50, 0, .556520, .836775, 1.019252, 1.466263},
		{.60, .358287, .885175, 1.153241, 1.328738, 1.975585},
		{.70, .741614, 1.237953, 1.493255, 1.661376, 2.503705},
		{.75, .953873, 1.433831, 1.682195, 1.846278, 2.797449},
		{.80, 1.190232, 1.652413, 1.893170, 2.052797, 3.128585},
		{.90, 1.812388, 2.230200, 2.451569, 2.599704, 4.027626},
		{.95, 2.326174, 2.710103, 2.916227, 3.055173, 4.800718},
		{.99, 3.289953, 3.617298, 3.796956, 3.919584, 6.309466},
	} {
		for m := 2; m <= 5; m++ {
			d, err := ForcedChoiceDPrime(m, row[0])
			if err != nil {
				t.Fatal(err)
			}
			near(t, fmt.Sprintf("d′ of %d-AFC at %v", m, row[0]), d, row[m-1], 5.1e-7)
		}
		d, err := OddityDPrime(row[0])
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("d′ of oddity at %v", row[0]), d, row[5], 5.1e-7)
	}
}

// Same source.
func TestSameDifferent(t *testing.T) {
	for _, r := range [][6]float64{
		{.5, .1, 2.324389, 2.326174, 2.037234, .739166},
		{.6, .2, 2.161616, 1.812388, 1.849657, .707977},
		{.7, .2, 2.549860, 1.812388, 2.120262, .752700},
		{.8, .3, 2.646808, 1.465738, 2.120262, .752700},
		{.9, .1, 4.138542, 2.326174, 3.236834, .900000},
		{.99, .01, 6.932725, 3.642773, 5.148174, .990000},
	} {
		d, k, err := SameDifferentDifferencing(r[0], r[1])
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("differencing d′ at %v", r[:2]), d, r[2], 5.1e-7)
		near(t, fmt.Sprintf("differencing k at %v", r[:2]), k, r[3], 5.1e-7)
		d, pc, err := SameDifferentIndependent(r[0], r[1])
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("independent d′ at %v", r[:2]), d, r[4], 5.1e-7)
		near(t, fmt.Sprintf("p(c)max at %v", r[:2]), pc, r[5], 5.1e-7)
	}
}

// Same source.
func TestABX(t *testing.T) {
	for _, r := range [][3]float64{{.75, 2.020039, 1.790434}, {.90, 3.263092, 2.807294}} {
		d, err := ABXDifferencingDPrime(r[0])
		if err != nil {
			t.Fatal(err)
		}
		near(t, "differencing", d, r[1], 5.1e-7)
		d, err = ABXIndependentDPrime(r[0])
		if err != nil {
			t.Fatal(err)
		}
		near(t, "independent", d, r[2], 5.1e-7)
	}
	if d, err := ABXDifferencingDPrime(0.5); err != nil || d != 0 {
		t.Errorf("chance gives d′ %v, %v", d, err)
	}
}
