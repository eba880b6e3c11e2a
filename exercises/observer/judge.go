package observer

import "math/rand/v2"

// usualAcceptsTo is the largest ΔE00 that the usual observer accepts: 50:50 %
// acceptability, Paravina et al. 2015, J Esthet Restor Dent 27(S1):S1–S9.
const usualAcceptsTo = 1.8

// Judgement is what an observer says of a pair.
type Judgement int

const (
	NoneSeen Judgement = iota // no difference to speak of
	Accepted                  // a difference that may stay
	Refused                   // a difference that may not
)

// Judges sorts a pair that differs by e ΔE00. The size is seen with the
// observer's Noise and held against SeenAt and AcceptsTo; lapses are guesses. A
// lean changes nothing here, since both colours of a pair are seen with it.
func (o Observer) Judges(e float64, rng *rand.Rand) Judgement {
	if rng.Float64() < o.Lapse {
		return Judgement(rng.IntN(3))
	}
	seenAt, acceptsTo := o.SeenAt, o.AcceptsTo
	if seenAt == 0 {
		seenAt = usualSeenAt
	}
	if acceptsTo == 0 {
		acceptsTo = usualAcceptsTo
	}
	switch e += o.Noise * rng.NormFloat64(); {
	case e <= seenAt:
		return NoneSeen
	case e <= acceptsTo:
		return Accepted
	}
	return Refused
}
