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
}

func TestRatesWithoutAnswer(t *testing.T) {
	for _, r := range [][2]float64{{1, 0.2}, {0.3, 0}} {
		if _, err := YesNo(r[0], r[1]); !errors.Is(err, errExtremeRate) {
			t.Errorf("%v: %v", r, err)
		}
	}
	for _, r := range [][2]float64{{1.2, 0.2}, {0.3, -1}, {math.NaN(), 0.5}} {
		if _, err := YesNo(r[0], r[1]); err == nil {
			t.Errorf("%v passes", r)
		}
	}
	if !math.IsNaN(LogLinear(3, 2)) {
		t.Error("counts that cannot be give a number")
	}
	if d, _, err := SameDifferent(0.3, 0.3); err != nil || d > 1e-7 {
		t.Errorf("as many hits as false alarms: d′ %v, %v", d, err)
	}
	if _, _, err := SameDifferent(1, 0.3); !errors.Is(err, errExtremeRate) {
		t.Errorf("every pair called different: %v", err)
	}
	if _, _, err := SameDifferent(0.3, math.NaN()); err == nil {
		t.Error("a rate that is no number gives a d′")
	}
	if _, _, err := SameDifferent(0.1, 0.3); !errors.Is(err, errChance) {
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

// Proportions right in two-alternative forced choice by d′; computed outside this
// project by quadrature, in agreement with the R package psyphy.
func TestForcedChoice(t *testing.T) {
	for d, want := range map[float64]float64{0: .5, 0.5: .638163, 1: .760250, 1.5: .855578, 2: .921350, 3: .983053} {
		near(t, fmt.Sprintf("proportion right at d′ %v", d), ForcedChoice(d), want, 5.1e-7)
	}
}

// d′ and criterion by hit and false-alarm rate, from the same source.
func TestSameDifferent(t *testing.T) {
	for _, r := range [][4]float64{
		{.5, .1, 2.324389, 2.326174},
		{.6, .2, 2.161616, 1.812388},
		{.7, .2, 2.549860, 1.812388},
		{.8, .3, 2.646808, 1.465738},
		{.9, .1, 4.138542, 2.326174},
		{.99, .01, 6.932725, 3.642773},
	} {
		d, k, err := SameDifferent(r[0], r[1])
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("d′ at %v", r[:2]), d, r[2], 5.1e-7)
		near(t, fmt.Sprintf("k at %v", r[:2]), k, r[3], 5.1e-7)
	}
}
