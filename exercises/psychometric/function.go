package psychometric

import (
	"fmt"
	"math"
)

// Function is a psychometric function ψ(x) = γ + (1 − γ − λ)·F(x): how often an
// observer answers "different" (or, in a forced choice, answers right) at level x.
type Function struct {
	Family   Family
	Location float64 // α, in the unit of x
	Shape    float64 // β > 0; see Family
	Guess    float64 // γ: the answers without a signal; 1/m in m-alternative forced choice
	Lapse    float64 // λ: the misses that no level cures
}

// Validate says in one line what is wrong with the parameters, or nil.
func (f Function) Validate() error {
	switch {
	case !f.Family.known():
		return fmt.Errorf("psychometric function: %v", f.Family)
	case math.IsNaN(f.Location) || math.IsInf(f.Location, 0):
		return fmt.Errorf("psychometric function: location %v is not finite", f.Location)
	case f.Family == Weibull && f.Location <= 0:
		return fmt.Errorf("psychometric function: a Weibull location must be above 0, got %v", f.Location)
	case !(f.Shape > 0) || math.IsInf(f.Shape, 0):
		return fmt.Errorf("psychometric function: shape must be above 0, got %v", f.Shape)
	case !(f.Guess >= 0) || !(f.Lapse >= 0) || f.Guess+f.Lapse >= 1:
		return fmt.Errorf("psychometric function: guess %v and lapse %v must be at least 0 and together below 1", f.Guess, f.Lapse)
	}
	return nil
}

// At is ψ(x).
func (f Function) At(x float64) float64 {
	return f.Guess + (1-f.Guess-f.Lapse)*f.Family.f(x, f.Location, f.Shape)
}

// inverse is the level at which ψ = p. ok is false when the curve never takes
// that value because p is not strictly between γ and 1 − λ.
func (f Function) inverse(p float64) (x float64, ok bool) {
	if !(p > f.Guess && p < 1-f.Lapse) {
		return math.NaN(), false
	}
	return f.Family.Inverse((p-f.Guess)/(1-f.Guess-f.Lapse), f.Location, f.Shape), true
}

// Width is the distance between the levels at which F reaches tail and 1 − tail;
// guesses and lapses do not enter. With tail = 0.05 it is F⁻¹(.95) − F⁻¹(.05),
// which is 3.2897·β for the cumulative normal and 5.8889·β for the logistic.
func (f Function) Width(tail float64) float64 {
	return f.Family.Inverse(1-tail, f.Location, f.Shape) - f.Family.Inverse(tail, f.Location, f.Shape)
}
