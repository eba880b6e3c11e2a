package trend

import (
	"cmp"
	"math"
	"slices"

	"shadedrill/scoring"
)

// MiddleWeighed is the value of [MedianWeighed] alone; NaN where it is undefined.
func MiddleWeighed(xs, weights []float64) float64 {
	if len(weights) == len(xs) && allEqual(weights) {
		return Middle(xs)
	}
	return MedianWeighed(xs, weights, 0.5).Value
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
	n := len(xs)
	order := make([]int, n)
	total, squares := 0.0, 0.0
	for i, w := range weights {
		if !(w > 0) || math.IsInf(w, 0) {
			return scoring.Undefined(n, "a weight is not above 0")
		}
		order[i], total, squares = i, total+w, squares+w*w
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(xs[a], xs[b]) })
	// at is the value below which a share of the weight lies, from middle to middle of
	// the values' weights.
	at := func(share float64) float64 {
		below, before, value := 0.0, 0.0, xs[order[0]]
		for k, i := range order {
			middle := (below + weights[i]/2) / total
			if middle >= share {
				if k == 0 {
					return xs[i]
				}
				return value + (share-before)/(middle-before)*(xs[i]-value)
			}
			below, before, value = below+weights[i], middle, xs[i]
		}
		return value
	}
	m := at(0.5)
	effective := total * total / squares
	if effective < 6 {
		return scoring.Point(m, n, "needs at least 6 attempts for an interval")
	}
	half := StudentQuantile(level, effective-1) * math.Sqrt(squares) / 2 / total
	return scoring.Interval(m, at(0.5-half), at(0.5+half), level, n)
}
