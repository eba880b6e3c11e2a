package history

import (
	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

// Mean is the mean with an interval that allows for sittings differing, where
// there are several.
func Mean(sittings [][]float64) scoring.Estimate { return trend.MeanOverSittings(sittings, Level) }

// Within cuts an interval off where no value can lie.
func Within(e scoring.Estimate, lowest, highest float64) scoring.Estimate {
	e.Lo, e.Hi = max(e.Lo, lowest), min(e.Hi, highest) // NaN stays NaN
	return e
}

// Median is that of [trend.Median] without its interval; NaN where it is undefined.
func Median(xs []float64) float64 { return trend.Middle(xs) }

// Average is the mean; NaN of none.
func Average(xs []float64) float64 {
	sum := 0.0
	for _, x := range xs {
		sum += x
	}
	return sum / float64(len(xs))
}
