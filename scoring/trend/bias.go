package trend

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"shadedrill/scoring"
)

const nothingVaried = "all values are equal: the interval has no width because nothing varied"

// Bias is the mean of signed errors, in their own unit, with Student's t interval.
// The errors must be independent; for several sittings see [biasOverSittings].
//
// Measured coverage of the 95 % interval (20,000 runs): normal errors 94.7–95.2 %
// for n from 3 to 100; uniform 92.5 % at n = 3, 94.0 % and more from n = 6; strongly
// skewed (exponential) errors 88.8 % at n = 6, 90.2 % at 10, 92.5 % at 30, 94.3 % at
// 100. Signed errors along an axis are rarely skewed; a ΔE00 is: take its [Median].
func Bias(errors []float64, level float64) scoring.Estimate {
	n := len(errors)
	if why := objection(errors, level); why != "" {
		return scoring.Undefined(n, why)
	}
	mean, sd := stat.MeanStdDev(errors, nil)
	if n == 1 {
		return scoring.Point(mean, 1, "needs at least 2 attempts for an interval")
	}
	if allEqual(errors) {
		return scoring.Interval(errors[0], errors[0], errors[0], level, n, nothingVaried)
	}
	half := StudentQuantile(level, float64(n-1)) * sd / math.Sqrt(float64(n))
	return scoring.Interval(mean, mean-half, mean+half, level, n)
}

// MeanOverSittings is [biasOverSittings], or [Bias] where there is one sitting with values.
func MeanOverSittings(sittings [][]float64, level float64) scoring.Estimate {
	var some [][]float64
	for _, s := range sittings {
		if len(s) > 0 {
			some = append(some, s)
		}
	}
	if len(some) == 1 {
		return Bias(some[0], level)
	}
	return biasOverSittings(some, level)
}

// biasOverSittings is the mean of signed errors when they come in sittings, so that
// the interval holds for the person and not for these sittings only. N counts
// attempts; empty sittings are left out.
//
// Each sitting's mean is weighted by 1/(σ²between + σ²within/n), the components by
// one-way analysis of variance, and the interval is that of Hartung & Knapp (2001),
// Stat Med 20:1771–1782 (from memory), on (sittings − 1) degrees of freedom. When all sittings are
// of one length it is exactly the t interval of the sitting means.
//
// Measured coverage of the 95 % interval (20,000 runs each), from no variance between
// sittings to four times that within: 94.0–95.2 % for 2 to 20 sittings of 1 to 20
// attempts; where a quarter of the sittings was broken off after one attempt of 20,
// 93.2–95.6 % for 5 to 20 sittings and as low as 91.9 % for 2 or 3. Taking 10
// sittings of 20 attempts as 200 independent ones covered 44 %.
func biasOverSittings(sittings [][]float64, level float64) scoring.Estimate {
	all := slices.Concat(sittings...)
	var means, sizes []float64
	for _, s := range sittings {
		if len(s) == 0 {
			continue
		}
		means = append(means, stat.Mean(s, nil))
		sizes = append(sizes, float64(len(s)))
	}
	n, k := len(all), len(means)
	if why := objection(all, level); why != "" {
		return scoring.Undefined(n, why)
	}
	if k == 1 {
		return Bias(all, level).Warn("one sitting only: the interval does not show how sittings differ")
	}
	if allEqual(all) {
		return scoring.Interval(all[0], all[0], all[0], level, n, nothingVaried)
	}

	between, within := sittingVariances(sittings, means, sizes)
	weights := make([]float64, k)
	for i := range weights {
		weights[i] = 1 / (between + within/sizes[i])
	}
	mean := stat.Mean(means, weights)
	var spread, total float64
	for i, m := range means {
		spread += weights[i] * (m - mean) * (m - mean)
		total += weights[i]
	}
	half := StudentQuantile(level, float64(k-1)) * math.Sqrt(spread/float64(k-1)/total)
	e := scoring.Interval(mean, mean-half, mean+half, level, n)
	if half == 0 {
		e = e.Warn("all sittings have the same mean: the interval has no width")
	}
	return e
}

// sittingVariances estimates the variance of sitting means about the person's and
// of attempts about their sitting's, by one-way analysis of variance with unequal
// group sizes. Their sum is never zero when the data vary at all.
func sittingVariances(sittings [][]float64, means, sizes []float64) (between, within float64) {
	k := float64(len(means))
	grand := stat.Mean(means, sizes)
	var ssBetween, ssWithin, n, squares float64
	i := 0
	for _, s := range sittings {
		if len(s) == 0 {
			continue
		}
		for _, x := range s {
			ssWithin += (x - means[i]) * (x - means[i])
		}
		ssBetween += sizes[i] * (means[i] - grand) * (means[i] - grand)
		n += sizes[i]
		squares += sizes[i] * sizes[i]
		i++
	}
	msBetween := ssBetween / (k - 1)
	if n == k { // one attempt a sitting: the two cannot be told apart
		return msBetween, 0
	}
	within = ssWithin / (n - k)
	size := (n - squares/n) / (k - 1) // the effective group size, n0
	between = math.Max(0, (msBetween-within)/size)
	if between == 0 && within == 0 {
		between = 1 // equal weights; only their ratios matter
	}
	return between, within
}
