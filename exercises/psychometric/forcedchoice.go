package psychometric

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// ErrChance is returned when a proportion correct lies below what guessing gives
// and no d′ ≥ 0 explains it.
var ErrChance = errors.New("the proportion correct is below chance")

// The proportions correct below are those of unbiased observers with Gaussian
// impressions of equal variance; the formulas are in Macmillan & Creelman,
// Detection Theory, and are implemented in the R packages psyphy and sensR.

// ForcedChoice is the proportion correct of m-alternative forced choice,
// Pc = ∫ φ(x − d)·Φ(x)^(m−1) dx, m ≥ 2. It is NaN for fewer alternatives.
func ForcedChoice(m int, dPrime float64) float64 {
	if m < 2 || math.IsNaN(dPrime) {
		return math.NaN()
	}
	if m == 2 {
		return phi(dPrime / math.Sqrt2)
	}
	return gauss(func(x float64) float64 {
		return density(x-dPrime) * math.Pow(phi(x), float64(m-1))
	}, dPrime-9, dPrime+9)
}

// ForcedChoiceDPrime is the d′ at which m-alternative forced choice is right with
// proportion pc, 0 < pc < 1; negative below 1/m.
func ForcedChoiceDPrime(m int, pc float64) (float64, error) {
	if m < 2 {
		return 0, fmt.Errorf("forced choice needs at least 2 alternatives, got %d", m)
	}
	if err := proper(pc); err != nil {
		return 0, err
	}
	if m == 2 {
		return math.Sqrt2 * z(pc), nil
	}
	return solve(func(d float64) float64 { return ForcedChoice(m, d) }, pc, -20, 20)
}

// Oddity is the proportion correct when the odd one of three is to be found and
// the observer compares differences (the triangle test):
// Pc = 2∫₀^∞ [Φ(−u√3 + d√(2/3)) + Φ(−u√3 − d√(2/3))]·φ(u) du; ⅓ at d′ = 0.
func Oddity(dPrime float64) float64 {
	a, b := math.Sqrt(3), dPrime*math.Sqrt(2.0/3)
	return 2 * gauss(func(u float64) float64 {
		return (phi(-u*a+b) + phi(-u*a-b)) * density(u)
	}, 0, 9)
}

// OddityDPrime is the d′ ≥ 0 at which the odd one of three is found with
// proportion pc, ⅓ ≤ pc < 1.
func OddityDPrime(pc float64) (float64, error) { return fromChance(Oddity, pc, 1.0/3) }

// ABXDifferencing is the proportion correct of ABX when the observer compares the
// two differences: Pc = Φ(d/√2)Φ(d/√6) + Φ(−d/√2)Φ(−d/√6).
func ABXDifferencing(dPrime float64) float64 { return abx(dPrime, math.Sqrt(6)) }

// ABXIndependent is the proportion correct of ABX when the observer decides by
// independent observations: Pc = Φ(d/√2)Φ(d/2) + Φ(−d/√2)Φ(−d/2).
func ABXIndependent(dPrime float64) float64 { return abx(dPrime, 2) }

func abx(d, by float64) float64 {
	return phi(d/math.Sqrt2)*phi(d/by) + phi(-d/math.Sqrt2)*phi(-d/by)
}

// ABXDifferencingDPrime is the d′ ≥ 0 of a proportion correct, ½ ≤ pc < 1.
func ABXDifferencingDPrime(pc float64) (float64, error) { return fromChance(ABXDifferencing, pc, 0.5) }

// ABXIndependentDPrime is the d′ ≥ 0 of a proportion correct, ½ ≤ pc < 1.
func ABXIndependentDPrime(pc float64) (float64, error) { return fromChance(ABXIndependent, pc, 0.5) }

// fromChance inverts a proportion correct that rises from chance at d′ = 0.
func fromChance(pcOf func(float64) float64, pc, chance float64) (float64, error) {
	if err := proper(pc); err != nil {
		return 0, err
	}
	if pc < chance-1e-12 {
		return 0, ErrChance
	}
	if pc <= chance {
		return 0, nil
	}
	return solve(pcOf, pc, 0, 40)
}

// proper refuses what is not a proportion strictly between 0 and 1.
func proper(p float64) error {
	if !(p >= 0 && p <= 1) {
		return fmt.Errorf("%v is not a proportion", p)
	}
	if p == 0 || p == 1 {
		return ErrExtremeRate
	}
	return nil
}

// gauss integrates f by 120 Gauss–Legendre points: for the smooth integrands of
// this package, whose mass lies within the limits, to better than 1e-12.
func gauss(f func(float64) float64, from, to float64) float64 {
	return quad.Fixed(f, from, to, 120, quad.Legendre{}, 0)
}

// solve finds x in [lo, hi] with f(x) = y for a rising f, by bisection down to the
// spacing of the floating-point numbers there.
func solve(f func(float64) float64, y, lo, hi float64) (float64, error) {
	if !(f(lo) <= y && f(hi) >= y) {
		return 0, fmt.Errorf("%v is not reached between %v and %v", y, lo, hi)
	}
	for range 200 {
		middle := lo + (hi-lo)/2
		if middle == lo || middle == hi {
			break
		}
		if f(middle) < y {
			lo = middle
		} else {
			hi = middle
		}
	}
	return lo + (hi-lo)/2, nil
}
