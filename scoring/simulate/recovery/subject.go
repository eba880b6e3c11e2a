// Package recovery measures the measuring: simulated observers with known
// thresholds sit through the adaptive methods, and what the analysis says is compared
// with the truth. It is how this project knows its bias, the coverage of its
// intervals and how many trials a method needs, and anyone can rerun it.
package recovery

import (
	"fmt"
	"math"

	"shadedrill/exercises/adaptive"
	"shadedrill/exercises/psychometric"
)

// Subject is an observer who answers by chance with known probability. Which number
// is the truth is stated for each kind of threshold: they are different points of one
// curve.
type Subject struct {
	Name string
	Task adaptive.Task
	P    func(level float64) float64 // of "different", or of a right answer

	// Plain is where P is ½, or 0.75 in forced choice: guesses and lapses are part of
	// it.
	Plain float64
	// Corrected is where P lies halfway between its value at no difference and its
	// value at a very large one. NaN in forced choice.
	Corrected float64
	// Sensitivity is where d′ = 1, of an observer who has a d′; else NaN.
	Sensitivity float64
}

// sigmoidal is an observer ψ = γ + (1 − γ − λ)F whose plain threshold is given.
// In forced choice the guess rate is ½ whatever is asked for.
func sigmoidal(task adaptive.Task, family psychometric.Family, threshold, slope, guess, lapse float64) (Subject, error) {
	curve := psychometric.Sigmoid{Family: family, Target: task.Curve().Target}
	with := psychometric.Parameters{Threshold: threshold, Slope: slope, Guess: guess, Lapse: lapse}
	if task == adaptive.ForcedChoice {
		with.Guess = 0.5
	}
	f, ok := curve.Function(with)
	if !ok || f.Validate() != nil {
		return Subject{}, fmt.Errorf("no observer has a threshold of %v, slope %v, guess rate %v and lapse rate %v", threshold, slope, guess, lapse)
	}
	o := Subject{
		Name: fmt.Sprintf("%v, slope %g", family, slope),
		Task: task, P: f.At, Plain: threshold,
		Corrected: family.Inverse(0.5, f.Location, f.Shape), Sensitivity: math.NaN(),
	}
	if task == adaptive.ForcedChoice {
		o.Corrected = math.NaN()
	}
	return o, nil
}

// detector is an observer of signal detection theory with d′ = (x/t)^m whose plain
// threshold is given; see psychometric.Detector. falseAlarm is that of attentive
// answers and must be below ½ in a yes/no task. In forced choice it is not used.
func detector(task adaptive.Task, threshold, exponent, falseAlarm, lapse float64) (Subject, error) {
	with := psychometric.Parameters{Threshold: threshold, Slope: exponent, Guess: falseAlarm, Lapse: lapse}
	o := Subject{Name: fmt.Sprintf("signal detection, d′ ~ x^%.1f", exponent), Task: task, Plain: threshold, Corrected: math.NaN()}
	if task == adaptive.ForcedChoice {
		// Lapses of any key lower P: the attentive proportion where P itself is 0.75.
		attentive := (0.75 - lapse/2) / (1 - lapse)
		t := threshold * math.Pow(z(0.75)/z(attentive), 1/exponent)
		with.Threshold = t
		o.P = func(x float64) float64 { return psychometric.ForcedChoiceDetector{}.P(x, with) }
		o.Sensitivity = t * math.Pow(1/(math.Sqrt2*z(0.75)), 1/exponent)
	} else {
		curve := psychometric.Detector{HalfYes: true}
		o.P = func(x float64) float64 { return curve.P(x, with) }
		unit, ok := curve.At(false, with)
		if !ok {
			return Subject{}, fmt.Errorf("an observer with a false-alarm rate of %v has no 50 %% point", falseAlarm)
		}
		o.Sensitivity = unit.Threshold
		// d′ where the attentive P is halfway between γ and 1.
		k := -z(falseAlarm)
		o.Corrected = unit.Threshold * math.Pow(z((1+falseAlarm)/2)+k, 1/exponent)
	}
	if p := o.P(threshold); !(p > 0 && p < 1) || !(lapse >= 0 && lapse < 0.5) {
		return Subject{}, fmt.Errorf("no observer has a threshold of %v, exponent %v, false-alarm rate %v and lapse rate %v", threshold, exponent, falseAlarm, lapse)
	}
	return o, nil
}

// saturated is an observer of signal detection theory with d′ = most·x/(half + x): it
// rises steeply from the first visible step and levels off, as no curve that is fitted
// here does (the law of Naka & Rushton 1966, J Physiol 185:536, from memory, with
// exponent 1). falseAlarm is that of a yes/no task; nobody lapses.
func saturated(task adaptive.Task, most, half, falseAlarm float64) (Subject, error) {
	o := Subject{Name: fmt.Sprintf("signal detection, d′ = %gx/(%g + x)", most, half), Task: task, Corrected: math.NaN(), Sensitivity: math.NaN()}
	levelOf := func(d float64) float64 {
		if !(d > 0 && d < most) {
			return math.NaN()
		}
		return half * d / (most - d)
	}
	dPrime := func(x float64) float64 { return most * x / (half + x) }
	if task == adaptive.ForcedChoice {
		o.P = func(x float64) float64 { return psychometric.ForcedChoice(dPrime(x)) }
		o.Plain = levelOf(math.Sqrt2 * z(0.75))
	} else {
		k := -z(falseAlarm)
		o.P = func(x float64) float64 { return phi(dPrime(x) - k) }
		o.Plain, o.Corrected = levelOf(k), levelOf(k+z((falseAlarm+phi(most-k))/2))
	}
	o.Sensitivity = levelOf(1)
	if !(o.Plain > 0) {
		return Subject{}, fmt.Errorf("no observer with d′ up to %v and a false-alarm rate of %v has a threshold", most, falseAlarm)
	}
	return o, nil
}

// phi is Φ.
func phi(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }

// z is Φ⁻¹.
func z(p float64) float64 { return psychometric.Normal.Inverse(p, 0, 1) }
