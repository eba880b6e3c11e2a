package psychometric

import "math"

// Detector is the yes/no observer of signal detection theory. A pair that differs
// by x gives an impression of mean d′(x) = (x/t)^m and unit variance, an identical
// pair one of mean 0; the observer says "different" when the impression exceeds a
// criterion k. With lapses (any key, both equally often):
//
//	P(x) = λ/2 + (1 − λ)·Φ((x/t)^m − k),  k = −z(γ)
//
// Parameters.Guess is γ, the false-alarm rate of an attentive observer, and
// Parameters.Slope the exponent m. Parameters.Threshold is t, the level at which
// d′ = 1, or the level at which P = ½ when HalfYes is set. The first does not
// depend on where the criterion lies, the second does: whoever says "different"
// readily has a low 50 % point and may yet see nothing.
type Detector struct {
	HalfYes bool
}

// Name is how a report calls the curve.
func (d Detector) Name() string { return "signal detection" }

// P is the probability of "different" at level x ≥ 0; see [Curve]. With HalfYes
// it is NaN when the false-alarm rate is ½ or above: the criterion is then crossed
// by nothing at all and there is no 50 % point.
func (d Detector) P(x float64, with Parameters) float64 {
	k := -z(with.Guess)
	scale := 1.0
	if d.HalfYes {
		if !(k > 0) {
			return math.NaN()
		}
		scale = k
	}
	if !(with.Threshold > 0) || !(with.Slope > 0) || math.IsInf(k, 0) {
		return math.NaN()
	}
	dPrime := 0.0
	if x > 0 {
		dPrime = scale * math.Pow(x/with.Threshold, with.Slope)
	}
	return with.Lapse/2 + (1-with.Lapse)*phi(dPrime-k)
}

// At gives the parameters of the same detector with its threshold at the point
// where P = ½ (halfYes) or where d′ = 1. ok is false when there is no such point.
func (d Detector) At(halfYes bool, with Parameters) (moved Parameters, ok bool) {
	moved = with
	if halfYes == d.HalfYes {
		return moved, true
	}
	k := -z(with.Guess)
	if !(k > 0) || math.IsInf(k, 0) {
		return Parameters{}, false
	}
	if halfYes { // (x/t)^m = k
		moved.Threshold = with.Threshold * math.Pow(k, 1/with.Slope)
	} else { // k(x/x50)^m = 1
		moved.Threshold = with.Threshold * math.Pow(k, -1/with.Slope)
	}
	return moved, true
}

// ForcedChoiceDetector is the same observer in two-alternative forced choice:
// Pc = λ/2 + (1 − λ)·Φ(d′(x)/√2), d′(x) = (x/t)^m, so there is no criterion and
// Parameters.Guess is not used. Parameters.Threshold is the level at which the
// proportion right among attentive answers is P75 = 0.75 (d′ = 0.954).
type ForcedChoiceDetector struct{}

// ForcedChoice is the proportion right of an unbiased observer in two-alternative
// forced choice, Φ(d′/√2) (Macmillan & Creelman, Detection Theory).
func ForcedChoice(dPrime float64) float64 { return phi(dPrime / math.Sqrt2) }

// z75 is d′/√2 at 75 % right.
var z75 = z(0.75)

// P is the probability of a right answer at level x ≥ 0; see [Curve].
func (ForcedChoiceDetector) P(x float64, with Parameters) float64 {
	if !(with.Threshold > 0) || !(with.Slope > 0) {
		return math.NaN()
	}
	if x <= 0 {
		return 0.5
	}
	return with.Lapse/2 + (1-with.Lapse)*phi(z75*math.Pow(x/with.Threshold, with.Slope))
}
