package trend

import (
	"math"
	"slices"

	"shadedrill/scoring"
)

// MiddleWeighed is the value of [MedianWeighed] alone; NaN where it is undefined.
func MiddleWeighed(xs, weights []float64) float64 {
	switch {
	case len(weights) != len(xs) || objection(xs, 0.5) != "":
		return math.NaN()
	case allEqual(weights):
		return Middle(xs)
	}
	s, _ := weigh(xs, weights)
	return s.at(0.5)
}

// MedianWeighed is the median of a sample whose values were not equally likely to come
// into it: weights are the inverse of their chances (the ratio estimator of a
// distribution function; J. Hájek 1971, from memory). Where all weights are equal it is
// [Median]. Otherwise the interval is the sample between the shares ½ ± z·s (R. S.
// Woodruff, J Am Stat Assoc 47 (1952) 635–646, from memory), with
//
//	s² = Σ wᵢ²(I(xᵢ ≤ m) − ½)² / (Σ wᵢ)²   and Student's t on (Σw)²/Σw² − 1 for z
func MedianWeighed(xs, weights []float64, level float64) scoring.Estimate {
	if len(weights) != len(xs) {
		return scoring.Undefined(len(xs), "values and weights do not fit together")
	}
	if allEqual(weights) {
		return Median(xs, level)
	}
	if why := objection(xs, level); why != "" {
		return scoring.Undefined(len(xs), why)
	}
	s, ok := weigh(xs, weights)
	n, m := len(xs), s.at(0.5)
	if !ok {
		return scoring.Undefined(n, "a weight is not above 0")
	}
	effective := s.total * s.total / s.squares
	if effective < 6 {
		return scoring.Point(m, n, "needs at least 6 attempts for an interval")
	}
	half := StudentQuantile(level, effective-1) * math.Sqrt(s.squares) / 2 / s.total
	return scoring.Interval(m, s.at(0.5-half), s.at(0.5+half), level, n)
}

// weighed is a sample in its order, with the sums of its weights and of their squares.
type weighed struct {
	sample         []oneWeighed
	total, squares float64
}

type oneWeighed struct{ x, weight float64 }

// weigh is false where a weight is none.
func weigh(xs, weights []float64) (s weighed, ok bool) {
	s.sample = make([]oneWeighed, len(xs))
	for i, w := range weights {
		if !(w > 0) || math.IsInf(w, 0) {
			return weighed{}, false
		}
		s.sample[i] = oneWeighed{xs[i], w}
		s.total, s.squares = s.total+w, s.squares+w*w
	}
	slices.SortFunc(s.sample, func(a, b oneWeighed) int { // all are numbers: [cmp.Compare] would ask
		switch {
		case a.x < b.x:
			return -1
		case a.x > b.x:
			return 1
		}
		return 0
	})
	return s, true
}

// at is the value below which a share of the weight lies, from middle to middle of the
// values' weights; NaN of nothing.
func (s weighed) at(share float64) float64 {
	below, before, value := 0.0, 0.0, math.NaN()
	for k, one := range s.sample {
		middle := (below + one.weight/2) / s.total
		if middle >= share {
			if k == 0 {
				return one.x
			}
			return value + (share-before)/(middle-before)*(one.x-value)
		}
		below, before, value = below+one.weight, middle, one.x
	}
	return value
}
