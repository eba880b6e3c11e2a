package threshold

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/exercises/psychometric"
	"shadedrill/scoring"
)

// Proportion is k of n with the exact interval of Clopper & Pearson (1934,
// Biometrika 26:404), which covers at least as often as level says.
func Proportion(k, n int, level float64) scoring.Estimate {
	if n <= 0 || k < 0 || k > n {
		return scoring.Undefined(max(n, 0), "there are no trials to take a proportion of")
	}
	tail := (1 - level) / 2
	lo, hi := 0.0, 1.0
	if k > 0 {
		lo = distuv.Beta{Alpha: float64(k), Beta: float64(n-k) + 1}.Quantile(tail)
	}
	if k < n {
		hi = distuv.Beta{Alpha: float64(k) + 1, Beta: float64(n - k)}.Quantile(1 - tail)
	}
	return scoring.Interval(float64(k)/float64(n), lo, hi, level, n)
}

// detection is d′ and the criterion of a yes/no experiment from counts, each with
// a large-sample interval (Gourevitch & Galanter 1967). Rates are corrected
// log-linearly, so both stay finite; a warning says when a rate was 0 or 1.
func detection(hits, pairs, falseAlarms, catches int, level float64) (dPrime, criterion scoring.Estimate) {
	n := pairs + catches
	if pairs <= 0 || catches <= 0 {
		reason := "no identical pairs were mixed in: sensitivity and criterion cannot be told apart"
		if pairs <= 0 {
			reason = "no pairs that differ were shown"
		}
		return scoring.Undefined(max(n, 0), reason), scoring.Undefined(max(n, 0), reason)
	}
	h, f := psychometric.LogLinear(hits, pairs), psychometric.LogLinear(falseAlarms, catches)
	s, err := psychometric.YesNo(h, f)
	if err != nil {
		reason := fmt.Sprintf("%d of %d and %d of %d answers cannot be", hits, pairs, falseAlarms, catches)
		return scoring.Undefined(n, reason), scoring.Undefined(n, reason)
	}
	half := distuv.UnitNormal.Quantile(0.5+level/2) * math.Sqrt(psychometric.DPrimeVariance(h, f, pairs, catches))
	dPrime = scoring.Interval(s.DPrime, s.DPrime-half, s.DPrime+half, level, n)
	criterion = scoring.Interval(s.Criterion, s.Criterion-half/2, s.Criterion+half/2, level, n)
	if hits == 0 || hits == pairs || falseAlarms == 0 || falseAlarms == catches {
		const w = "a rate was 0 or 1: the figure rests on the log-linear correction"
		dPrime, criterion = dPrime.Warn(w), criterion.Warn(w)
	}
	return dPrime, criterion
}

// sameDifferent is d′ of the same counts under the differencing model of a
// same–different experiment ([psychometric.sameDifferent]), rates corrected
// log-linearly; without an interval.
func sameDifferent(hits, pairs, falseAlarms, catches int) scoring.Estimate {
	n := pairs + catches
	if pairs <= 0 || catches <= 0 {
		return scoring.Undefined(max(n, 0), "needs pairs that differ and identical ones")
	}
	d, _, err := psychometric.SameDifferent(psychometric.LogLinear(hits, pairs), psychometric.LogLinear(falseAlarms, catches))
	if err != nil {
		return scoring.Undefined(n, err.Error())
	}
	return scoring.Point(d, n)
}
