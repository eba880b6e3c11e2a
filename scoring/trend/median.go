package trend

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/scoring"
)

// Middle is the value of [Median] alone, for where there are many medians and no
// room for their intervals; NaN where it is undefined.
func Middle(xs []float64) float64 {
	if objection(xs, 0.5) != "" {
		return math.NaN()
	}
	return middleOfAny(slices.Clone(xs))
}

// middleOfAny is the median of values in no order, which it reorders; there must be at
// least one.
func middleOfAny(v []float64) float64 {
	half := len(v) / 2
	upper := Ranked(v, half)
	if len(v)%2 == 1 {
		return upper
	}
	lower := slices.Max(v[:half])
	return lower + (upper-lower)/2
}

// MedianOf is the median of what is known of several people or sittings, with the
// interval of [Median]. Where that of one is open ("at least 2.6"), the number lies
// anywhere beyond its bound, and counts so: the median is moved by who has a large
// number, not by how large. Where that leaves an end of the interval open, the median is a
// bound as well; where both, undefined. What is undefined is left out.
func MedianOf(es []scoring.Estimate, level float64) scoring.Estimate {
	var least, most []float64 // what each is at least and at most
	open := false
	for _, e := range es {
		if !e.Defined() {
			continue
		}
		lo, hi := e.Value, e.Value
		switch e.Open() {
		case 1:
			hi, open = tooLarge, true
		case -1:
			lo, open = -tooLarge, true
		}
		least, most = append(least, lo), append(most, hi)
	}
	below, above := Median(least, level), Median(most, level)
	const far, bounds = tooLarge / 1e6, "some are known as bounds alone"
	switch n := len(least); {
	case !open && (below.HasInterval() || !below.Defined()):
		return below
	case !below.HasInterval() && below.Value == above.Value:
		return scoring.Point(below.Value, n, fmt.Sprintf("an interval needs at least %d", attemptsForMedian(level)))
	case !below.HasInterval():
		return scoring.Undefined(n, bounds)
	case below.Lo < -far && above.Hi > far:
		return scoring.Undefined(n, bounds)
	case above.Hi > far:
		return scoring.AtLeast(below.Lo, level, n, bounds)
	case below.Lo < -far:
		return scoring.AtMost(above.Hi, level, n, bounds)
	}
	return scoring.Interval(below.Value, below.Lo, above.Hi, level, len(least))
}

// Median is the median with the interval of Hettmansperger & Sheather (1986), Stat
// Probab Lett 4:75–79, which interpolates between two order-statistic intervals so
// that coverage comes close to the level at every n. It assumes independent values
// of any continuous distribution.
//
// At 95 % it needs 6 values. Measured coverage (20,000 runs): 94.2–95.3 % for
// normal, exponential, log-normal and uniform errors, n from 6 to 200. Values that
// repeat (rounded errors) make it cover more.
func Median(xs []float64, level float64) scoring.Estimate {
	n := len(xs)
	if why := objection(xs, level); why != "" {
		return scoring.Undefined(n, why)
	}
	s := sorted(xs)
	m := middle(s)
	if signCoverage(n, 1) < level {
		return scoring.Point(m, n, fmt.Sprintf("needs at least %d attempts for an interval", attemptsForMedian(level)))
	}

	// The deepest d whose interval x(d)..x(n−d+1) still covers with at least level.
	lo, hi := 1, (n+1)/2
	for lo < hi {
		d := (lo + hi + 1) / 2
		if signCoverage(n, d) >= level {
			lo = d
		} else {
			hi = d - 1
		}
	}
	d := lo
	lower, upper := s[d-1], s[n-d]
	if d < (n+1)/2 {
		wide, narrow := signCoverage(n, d), signCoverage(n, d+1)
		i := (wide - level) / (wide - narrow)
		lambda := float64(n-d) * i / (float64(d) + float64(n-2*d)*i)
		lower = (1-lambda)*s[d-1] + lambda*s[d]
		upper = (1-lambda)*s[n-d] + lambda*s[n-d-1]
	}
	e := scoring.Interval(m, lower, upper, level, n)
	if lower == upper {
		e = e.Warn("most values are equal: the interval has no width")
	}
	return e
}

// signCoverage is the probability that the d-th smallest and d-th largest of n
// values enclose the median.
func signCoverage(n, d int) float64 {
	return 1 - 2*distuv.Binomial{N: float64(n), P: 0.5}.CDF(float64(d-1))
}

// attemptsForMedian is the least n whose full range covers the median at level.
func attemptsForMedian(level float64) int {
	return int(math.Ceil(1 - math.Log2(1-level)))
}
