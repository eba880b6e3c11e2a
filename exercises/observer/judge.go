package observer

import (
	"math/rand/v2"
	"shadedrill/colour"
)

// Judgement is what an observer says of a pair.
type Judgement int

const (
	noneSeen Judgement = iota // no difference to speak of
	accepted                  // a difference that may stay
	refused                   // a difference that may not
)

// Judges sorts a pair that differs by e ΔE00. The size is seen with the
// observer's Noise and held against SeenAt and AcceptsTo; lapses are guesses. A
// bias changes nothing here, since both colours of a pair are seen with it.
func (o Observer) Judges(e float64, rng *rand.Rand) Judgement {
	if rng.Float64() < o.Lapse {
		return Judgement(rng.IntN(3))
	}
	seenAt, acceptsTo := o.limits()
	switch e += o.Noise * rng.NormFloat64(); {
	case e <= seenAt:
		return noneSeen
	case e <= acceptsTo:
		return accepted
	}
	return refused
}

func (o Observer) limits() (seenAt, acceptsTo float64) {
	seenAt, acceptsTo = o.SeenAt, o.AcceptsTo
	if seenAt == 0 {
		seenAt = colour.Perceptibility.Value
	}
	if acceptsTo == 0 {
		acceptsTo = colour.Acceptability.Value
	}
	return seenAt, acceptsTo
}

// Tells is the direction of a part of a difference as seen: +1 more, −1 less, 0
// the same, which is said up to SeenAt.
func (o Observer) Tells(part float64) int {
	switch seenAt, _ := o.limits(); {
	case part > seenAt:
		return 1
	case part < -seenAt:
		return -1
	}
	return 0
}

// Grades sorts a restoration that is off by e ΔE00: 0 up to AcceptsTo, 1 up to
// twice that, 2 beyond. The size is seen with the observer's Noise.
func (o Observer) Grades(e float64, rng *rand.Rand) int {
	_, acceptsTo := o.limits()
	switch e += o.Noise * rng.NormFloat64(); {
	case e <= acceptsTo:
		return 0
	case e <= 2*acceptsTo:
		return 1
	}
	return 2
}
