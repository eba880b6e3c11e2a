package psychometric

import (
	"fmt"
	"math"
)

// SameDifferentDifferencing reads d′ and the criterion k from a same–different
// experiment in which the observer says "different" when two impressions lie
// further than k apart: F = 2Φ(−k/√2), H = Φ((d − k)/√2) + Φ((−d − k)/√2).
//
// hit is the rate of "different" to pairs that differ, falseAlarm that to
// identical pairs, both strictly between 0 and 1; d′ ≥ 0. Fewer hits than false
// alarms give ErrChance.
func SameDifferentDifferencing(hit, falseAlarm float64) (dPrime, k float64, err error) {
	if err := proper(falseAlarm); err != nil {
		return 0, 0, fmt.Errorf("false-alarm rate: %w", err)
	}
	if err := proper(hit); err != nil {
		return 0, 0, fmt.Errorf("hit rate: %w", err)
	}
	k = -math.Sqrt2 * z(falseAlarm/2)
	dPrime, err = fromChance(func(d float64) float64 {
		return phi((d-k)/math.Sqrt2) + phi((-d-k)/math.Sqrt2)
	}, hit, falseAlarm)
	return dPrime, k, err
}

// SameDifferentIndependent reads d′ from a same–different experiment in which the
// observer decides by the likelihood ratio of independent observations:
// p(c)max = Φ((z(H) − z(F))/2), d′ = 2z(½(1 + √(2p(c)max − 1))).
// Rates are as for [SameDifferentDifferencing].
func SameDifferentIndependent(hit, falseAlarm float64) (dPrime, pcMax float64, err error) {
	s, err := YesNo(hit, falseAlarm)
	if err != nil {
		return 0, 0, err
	}
	if s.DPrime < 0 {
		return 0, 0, ErrChance
	}
	pcMax = phi(s.DPrime / 2)
	return 2 * z((1+math.Sqrt(2*pcMax-1))/2), pcMax, nil
}
