// Package observer simulates people whose errors are known, so that every
// statistic can be tried on data whose truth is known.
package observer

import (
	"math/rand/v2"

	"shadedrill/colour"
)

// Observer sees a colour with a lean and a scatter along CIEDE2000's weighted
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
}

// Perceive returns the colour that the observer believes to have seen.
func (o Observer) Perceive(c colour.Lab, rng *rand.Rand) colour.Lab {
	return Shift(c, o.BiasL+o.Noise*rng.NormFloat64(), o.BiasC+o.Noise*rng.NormFloat64(), o.BiasH+o.Noise*rng.NormFloat64())
}

// Shift moves a colour so that its CIEDE2000 parts from the start are close to
// the wanted dL, dC, dH (ΔE00 units): a first step with the weights at the
// start, then fixed-point corrections since the weights belong to the middle.
func Shift(c colour.Lab, dL, dC, dH float64) colour.Lab {
	at := c.LCh()
	l, ch, h := at.L+1.4*dL, at.C+(1+0.045*at.C)*dC, at.H
	if at.C > 0 {
		h += 60 * dH * (1 + 0.015*at.C) / at.C
	}
	for range 12 {
		got := colour.Compare(c, colour.LCh{L: l, C: max(ch, 0), H: h}.Lab(), colour.Unit)
		l += 1.3 * (dL - got.L)
		ch += (1 + 0.045*at.C) * (dC - got.C)
		if at.C > 1 {
			h += 57 * (dH - got.H) * (1 + 0.015*at.C) / at.C
		}
	}
	return colour.LCh{L: l, C: max(ch, 0), H: h}.Lab()
}
