package psychometric

import "math"

// Target says which point of a curve is called the threshold.
type Target struct {
	core bool    // of F, guesses and lapses taken away, rather than of ψ
	p    float64 // the proportion there
}

// Proportion makes the threshold the level at which ψ itself is p, guesses and
// lapses included: what a table of raw answers shows. A dental 50:50 % threshold
// is Proportion(0.5).
func Proportion(p float64) Target { return Target{p: p} }

// Core makes the threshold the level at which F is u: guesses and lapses are taken
// away first (Abbott's correction for guessing, extended to lapses).
func Core(u float64) Target { return Target{core: true, p: u} }

// P is the proportion of the target, of ψ or of F.
func (t Target) P() float64 { return t.p }

// Corrected reports whether guesses and lapses are taken away, that is whether
// the target was made by [Core].
func (t Target) Corrected() bool { return t.core }

// Parameters describe a curve by what an experiment wants to know.
type Parameters struct {
	Threshold float64 // in the unit of the levels
	Slope     float64 // the family's shape, or a detector's exponent; above 0
	Guess     float64 // guess or false-alarm rate γ
	Lapse     float64 // λ
}

// Curve is a kind of psychometric curve whose parameters are still open: what an
// adaptive method searches and a fit estimates.
type Curve interface {
	// P is the probability of "different" (or "right") at level x. It is NaN where
	// the parameters cannot hold together, for instance when the threshold is said
	// to be at ψ = ½ and the guess rate is above ½.
	P(x float64, with Parameters) float64
	// Name is how a report calls the curve.
	Name() string
}

// Sigmoid is the usual curve ψ = γ + (1 − γ − λ)F, with the threshold where Target
// says.
type Sigmoid struct {
	Family Family
	Target Target
}

// Name is the family's name.
func (s Sigmoid) Name() string { return s.Family.String() }

// P is ψ(x); see [Curve].
func (s Sigmoid) P(x float64, with Parameters) float64 {
	f, ok := s.Function(with)
	if !ok {
		return math.NaN()
	}
	return f.At(x)
}

// Function is the psychometric function of these parameters. ok is false when no
// curve has them.
func (s Sigmoid) Function(with Parameters) (f Function, ok bool) {
	u := s.Target.p
	if !s.Target.core {
		u = (u - with.Guess) / (1 - with.Guess - with.Lapse)
	}
	if !(u > 0 && u < 1) || !(with.Slope > 0) {
		return Function{}, false
	}
	return Function{
		Family:   s.Family,
		Location: s.Family.locate(with.Threshold, u, with.Slope),
		Shape:    with.Slope,
		Guess:    with.Guess,
		Lapse:    with.Lapse,
	}, true
}

// At moves along a curve with parameters given for one target to those of
// another: the same curve, its threshold read at a different point. ok is false
// when the curve has no such point.
func (s Sigmoid) At(other Target, with Parameters) (moved Parameters, ok bool) {
	f, ok := s.Function(with)
	if !ok {
		return Parameters{}, false
	}
	moved = with
	if other.core {
		moved.Threshold = f.Family.Inverse(other.p, f.Location, f.Shape)
		return moved, other.p > 0 && other.p < 1
	}
	moved.Threshold, ok = f.inverse(other.p)
	return moved, ok
}
