// Package psychometric models an observer: how the probability of an answer
// grows with the size of a difference, how likely a set of answers is under such
// a model, and what signal detection theory reads from hits and false alarms.
//
// Levels are plain numbers in whatever unit the experiment uses; in this project
// they are colour differences ΔE00 ≥ 0. The package draws nothing, keeps no state
// and has no chance in it.
package psychometric

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Family is a family of sigmoids F(x; location, shape) that rise from 0 to 1.
//
// For Logistic, Normal and Gumbel the shape is a scale in the unit of x: the
// larger, the shallower. For the Weibull kinds it is the exponent β: the larger,
// the steeper. Shapes must be positive.
type Family uint8

const (
	// Logistic is F = 1/(1 + exp(−(x−α)/β)).
	Logistic Family = iota + 1
	// Normal is the cumulative normal F = Φ((x−α)/β).
	Normal
	// Gumbel is F = 1 − exp(−exp((x−α)/β)): the complementary log-log curve, and
	// the Weibull when x is the natural logarithm of the intensity.
	Gumbel
	// Weibull is F = 1 − exp(−(x/α)^β) on a linear axis with a true zero: F(0) = 0,
	// so a guess rate is exactly the rate at which nothing is called something.
	Weibull
	// WeibullDecibel is F = 1 − exp(−10^(β(x−α)/20)), x in dB (Watson 2017).
	WeibullDecibel
	// WeibullLog10 is F = 1 − exp(−10^(β(x−α))), x in log10 units (Watson & Pelli
	// 1983).
	WeibullLog10
)

// String is the family's name as the literature writes it.
func (f Family) String() string {
	switch f {
	case Logistic:
		return "logistic"
	case Normal:
		return "cumulative normal"
	case Gumbel:
		return "Gumbel"
	case Weibull:
		return "Weibull"
	case WeibullDecibel:
		return "Weibull (dB)"
	case WeibullLog10:
		return "Weibull (log10)"
	}
	return fmt.Sprintf("unknown family %d", uint8(f))
}

// known reports whether f is one of the families above.
func (f Family) known() bool { return f >= Logistic && f <= WeibullLog10 }

// f is the sigmoid at x, between 0 and 1.
func (f Family) f(x, location, shape float64) float64 {
	switch f {
	case Logistic:
		return 1 / (1 + math.Exp(-(x-location)/shape))
	case Normal:
		return phi((x - location) / shape)
	case Gumbel:
		return -math.Expm1(-math.Exp((x - location) / shape))
	case Weibull:
		if x <= 0 {
			return 0
		}
		return -math.Expm1(-math.Pow(x/location, shape))
	case WeibullDecibel:
		return -math.Expm1(-math.Pow(10, shape*(x-location)/20))
	case WeibullLog10:
		return -math.Expm1(-math.Pow(10, shape*(x-location)))
	}
	return math.NaN()
}

// Inverse is the x at which F(x) = u, for 0 < u < 1.
func (f Family) Inverse(u, location, shape float64) float64 {
	if f == Weibull {
		return location * math.Pow(-math.Log1p(-u), 1/shape)
	}
	return location + f.offset(u, shape)
}

// locate is the location of the sigmoid of this shape that passes through u at
// x: the inverse of [Family.f] in its second argument. It lets a curve be
// described by its threshold, whatever proportion the threshold stands for.
func (f Family) locate(x, u, shape float64) float64 {
	if f == Weibull {
		return x / math.Pow(-math.Log1p(-u), 1/shape)
	}
	return x - f.offset(u, shape)
}

// offset is how far from the location the sigmoid reaches u, for the families
// that keep their form when shifted along x.
func (f Family) offset(u, shape float64) float64 {
	switch f {
	case Logistic:
		return shape * math.Log(u/(1-u))
	case Normal:
		return shape * z(u)
	case Gumbel:
		return shape * math.Log(-math.Log1p(-u))
	case WeibullDecibel:
		return 20 / shape * math.Log10(-math.Log1p(-u))
	case WeibullLog10:
		return math.Log10(-math.Log1p(-u)) / shape
	}
	return math.NaN()
}

// phi is the cumulative normal distribution Φ.
func phi(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }

// z is Φ's inverse; −∞ and +∞ at 0 and 1, NaN outside.
func z(p float64) float64 {
	if !(p >= 0 && p <= 1) {
		return math.NaN()
	}
	return mathext.NormalQuantile(p)
}
