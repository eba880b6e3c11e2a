package psychometric

import (
	"errors"
	"fmt"
	"math"
)

// errChance is returned when there are fewer hits than false alarms, which no
// d′ ≥ 0 explains.
var errChance = errors.New("fewer hits than false alarms: no sensitivity explains that")

// SameDifferent reads d′ and the criterion k from a same–different experiment in
// which the observer takes two impressions of a pair and says "different" when they
// lie further than k apart (the differencing model; Macmillan & Creelman, Detection
// Theory): F = 2Φ(−k/√2), H = Φ((d − k)/√2) + Φ((−d − k)/√2).
//
// hit is the rate of "different" to pairs that differ, falseAlarm that to
// identical pairs, both strictly between 0 and 1; d′ ≥ 0.
func SameDifferent(hit, falseAlarm float64) (dPrime, k float64, err error) {
	for _, rate := range []struct {
		name string
		p    float64
	}{{"hit", hit}, {"false-alarm", falseAlarm}} {
		switch {
		case !(rate.p >= 0 && rate.p <= 1):
			return 0, 0, fmt.Errorf("a %s rate of %v is not a proportion", rate.name, rate.p)
		case rate.p == 0 || rate.p == 1:
			return 0, 0, errExtremeRate
		}
	}
	if hit < falseAlarm {
		return 0, 0, errChance
	}
	k = -math.Sqrt2 * z(falseAlarm/2)
	hits := func(d float64) float64 { return phi((d-k)/math.Sqrt2) + phi((-d-k)/math.Sqrt2) }
	// H rises with d from F at d = 0; bisect down to the spacing of the numbers there.
	lo, hi := 0.0, 1.0
	for hits(hi) < hit {
		hi *= 2
	}
	for {
		middle := lo + (hi-lo)/2
		switch {
		case middle == lo || middle == hi:
			return middle, k, nil
		case hits(middle) < hit:
			lo = middle
		default:
			hi = middle
		}
	}
}
