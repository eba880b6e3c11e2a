package observer

import (
	"math"
	"math/rand/v2"

	"shadedrill/colour"
	"shadedrill/exercises/psychometric"
)

// Threshold settings of an observer: SeenAt is the ΔE00 at which half of the
// answers are "different" (yes/no) or three quarters are right (forced choice);
// Steepness is the exponent of d′ with the difference, about 1.5 for people.
// Both have a usual value where they are 0; SeenAt's is [colour.Perceptibility].
const (
	usualSteepness = 1.5
	usualAlarms    = 0.1
)

func (o Observer) detection() psychometric.Parameters {
	p := psychometric.Parameters{Threshold: o.SeenAt, Slope: o.Steepness, Guess: o.FalseAlarm, Lapse: o.Lapse}
	if p.Threshold == 0 {
		p.Threshold = colour.Perceptibility.Value
	}
	if p.Slope == 0 {
		p.Slope = usualSteepness
	}
	if p.Guess == 0 {
		p.Guess = usualAlarms
	}
	return p
}

// Differs says whether the observer calls a pair that differs by e different, as
// the yes/no observer of signal detection theory with a lapse rate would.
func (o Observer) Differs(e float64, rng *rand.Rand) bool {
	p := psychometric.Detector{HalfYes: true}.P(e, o.detection())
	if math.IsNaN(p) { // false alarms at ½ or above: no difference to be seen
		p = 0.5
	}
	return rng.Float64() < p
}

// Which answers a two-alternative forced choice whose right answer is key.
func (o Observer) Which(e float64, key, left, right string, rng *rand.Rand) string {
	wrong := left
	if key == left {
		wrong = right
	}
	if rng.Float64() < (psychometric.ForcedChoiceDetector{}).P(e, o.detection()) {
		return key
	}
	return wrong
}
