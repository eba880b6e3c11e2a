// Package observer simulates people whose errors are known, so that every
// statistic can be tried on data whose truth is known.
package observer

import (
	"math"
	"math/rand/v2"

	"shadedrill/colour"
)

// Observer sees a colour with a bias and a scatter along CIEDE2000's weighted
// parts, in ΔE00 units.
type Observer struct {
	BiasL float64 `json:"bias_L"` // > 0 sees, and so answers, too light
	BiasC float64 `json:"bias_C"` // > 0 too chromatic
	BiasH float64 `json:"bias_H"` // > 0 too yellow (larger hue angle)
	Noise float64 `json:"noise"`  // standard deviation along each part
	// Lapse is the share of answers given at random.
	Lapse float64 `json:"lapse"`
	// FalseAlarm is the share of identical pairs called different.
	FalseAlarm float64 `json:"false_alarm"`
	// SeenAt and Steepness describe what differences the observer sees; see
	// [Observer.Differs].
	SeenAt    float64 `json:"seen_at,omitempty"`
	Steepness float64 `json:"steepness,omitempty"`
	// AcceptsTo is the largest ΔE00 that the observer lets pass; see
	// [Observer.Judges]. 0 is [colour.Acceptability].
	AcceptsTo float64 `json:"accepts_to,omitempty"`
}

// Perceive returns the colour that the observer believes to have seen.
func (o Observer) Perceive(c colour.Lab, rng *rand.Rand) colour.Lab {
	return Shift(c, o.BiasL+o.Noise*rng.NormFloat64(), o.BiasC+o.Noise*rng.NormFloat64(), o.BiasH+o.Noise*rng.NormFloat64())
}

// Shift moves a colour by the wanted CIEDE2000 parts, in ΔE00 units: Compare(c,
// Shift(c, dL, dC, dH)) has them to 1e-6 for tooth colours, where the rotation
// term is nearly 0. Where no such colour exists (chroma would fall below 0, a
// grey has no hue to turn) it is the nearest that could be made.
func Shift(c colour.Lab, dL, dC, dH float64) colour.Lab {
	to, _ := colour.Step(c, math.Sqrt(dL*dL+dC*dC+dH*dH), colour.Direction{L: dL, C: dC, H: dH})
	return to
}
