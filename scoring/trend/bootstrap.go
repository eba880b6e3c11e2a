package trend

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/scoring"
)

// Statistic is a number computed from the picked observations, indices into the data,
// repeats included; NaN when it is undefined for them. What one index stands for is
// the caller's choice: an attempt, a sitting, an item with all its ratings.
type Statistic func(pick []int) float64

// Replicates are a statistic's values over resamples of n observations (Efron &
// Tibshirani 1993, An Introduction to the Bootstrap).
type Replicates struct {
	statistic Statistic
	n         int
	observed  float64
	values    []float64 // sorted
	lost      int       // resamples in which the statistic was undefined
	trouble   string
}

// Bootstrap draws resamples of n observations with replacement. 2,000 resamples are
// enough for a 95 % interval.
func Bootstrap(n, resamples int, rng *rand.Rand, statistic Statistic) Replicates {
	r := Replicates{statistic: statistic, n: n}
	switch {
	case n < 1:
		r.trouble = "no observations"
	case rng == nil:
		r.trouble = "no source of chance to resample with"
	case resamples < 2:
		r.trouble = "needs at least 2 resamples"
	default:
		pick := make([]int, n)
		r.observe()
		for range resamples {
			for i := range pick {
				pick[i] = rng.IntN(n)
			}
			r.add(statistic(pick))
		}
		slices.Sort(r.values)
	}
	return r
}

// mostForAll bounds BootstrapAll: 7⁷ = 823,543 resamples.
const mostForAll = 7

// BootstrapAll takes every one of the nⁿ equally likely resamples, for n up to 7, and
// so needs no chance.
func BootstrapAll(n int, statistic Statistic) Replicates {
	r := Replicates{statistic: statistic, n: n}
	if n < 1 || n > mostForAll {
		r.trouble = fmt.Sprintf("all resamples are taken of 1 to %d observations, not of %d", mostForAll, n)
		return r
	}
	r.observe()
	pick := make([]int, n)
	for {
		r.add(statistic(pick))
		i := 0
		for ; i < n; i++ { // count up in base n
			if pick[i]++; pick[i] < n {
				break
			}
			pick[i] = 0
		}
		if i == n {
			break
		}
	}
	slices.Sort(r.values)
	return r
}

func (r *Replicates) observe() {
	pick := make([]int, r.n)
	for i := range pick {
		pick[i] = i
	}
	r.observed = r.statistic(pick)
}

func (r *Replicates) add(v float64) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		r.lost++
		return
	}
	r.values = append(r.values, v)
}

// Observed is the statistic of the data themselves.
func (r Replicates) Observed() float64 { return r.observed }

// StandardError is the standard deviation of the replicates; NaN when there are fewer
// than two.
func (r Replicates) StandardError() float64 {
	if len(r.values) < 2 {
		return math.NaN()
	}
	return stat.PopStdDev(r.values, nil)
}

// Percentile is the plain percentile interval. It covers too little for small n and
// skewed statistics: measured for the mean of exponential values at 95 %, 86.1 % at
// n = 10, 91.5 % at 30.
func (r Replicates) Percentile(level float64) scoring.Estimate {
	if e, ok := r.ready(level); !ok {
		return e
	}
	tail := (1 - level) / 2
	return r.interval(quantile(r.values, tail), quantile(r.values, 1-tail), level)
}

// BCa is the bias-corrected and accelerated interval (Efron 1987, J Am Stat Assoc
// 82:171–185), the acceleration from the jackknife. Measured as above: 87.4 % at n =
// 10, 92.2 % at 30; where a standard error is at hand take [BootstrapT].
func (r Replicates) BCa(level float64) scoring.Estimate {
	if e, ok := r.ready(level); !ok {
		return e
	}
	var below float64
	for _, v := range r.values {
		switch {
		case v < r.observed:
			below++
		case v == r.observed:
			below += 0.5
		}
	}
	z0 := distuv.UnitNormal.Quantile(below / float64(len(r.values)))
	if math.IsInf(z0, 0) {
		return scoring.Point(r.observed, r.n, "no interval: the observed value lies outside all resamples")
	}
	a := r.Acceleration()
	if math.IsNaN(a) {
		return r.Percentile(level).Warn("percentile interval: without one of the observations the statistic is undefined or never changes")
	}
	z := normalQuantile(level)
	at := func(z float64) float64 { // α₁, α₂ = Φ(z0 + (z0+zα)/(1 − a(z0+zα)))
		return distuv.UnitNormal.CDF(z0 + (z0+z)/(1-a*(z0+z)))
	}
	return r.interval(quantile(r.values, at(-z)), quantile(r.values, at(z)), level)
}

// Acceleration is Σd³/(6(Σd²)^1.5), d the mean of the jackknife values minus each.
func (r Replicates) Acceleration() float64 {
	js := r.jackknife()
	mean := stat.Mean(js, nil)
	var squares, cubes float64
	for _, j := range js {
		d := mean - j
		squares += d * d
		cubes += d * d * d
	}
	return cubes / (6 * math.Pow(squares, 1.5))
}

// JackknifeError is the jackknife's standard error, √((n−1)/n·Σd²).
func (r Replicates) JackknifeError() float64 {
	js := r.jackknife()
	n := float64(len(js))
	return math.Sqrt((n - 1) / n * stat.PopVariance(js, nil) * n)
}

// jackknife is the statistic without each observation in turn; a single NaN where
// nothing would be left.
func (r Replicates) jackknife() []float64 {
	if r.trouble != "" || r.n < 2 {
		return []float64{math.NaN()}
	}
	js := make([]float64, r.n)
	pick := make([]int, 0, r.n)
	for out := range js {
		pick = pick[:0]
		for i := range r.n {
			if i != out {
				pick = append(pick, i)
			}
		}
		js[out] = r.statistic(pick)
	}
	return js
}

func (r Replicates) ready(level float64) (scoring.Estimate, bool) {
	switch {
	case r.trouble != "":
		return scoring.Undefined(r.n, r.trouble), false
	case !(level > 0 && level < 1):
		return scoring.Undefined(r.n, fmt.Sprintf("the level of an interval lies between 0 and 1, not at %v", level)), false
	case math.IsNaN(r.observed) || math.IsInf(r.observed, 0):
		return scoring.Undefined(r.n, "the statistic is undefined for these observations"), false
	case r.n < 3 || len(r.values) < 2:
		return scoring.Point(r.observed, r.n, "needs at least 3 observations for a bootstrap interval"), false
	}
	return scoring.Estimate{}, true
}

func (r Replicates) interval(lo, hi, level float64) scoring.Estimate {
	e := scoring.Interval(r.observed, lo, hi, level, r.n)
	if r.lost > 0 {
		e = e.Warn(fmt.Sprintf("undefined in %d of %d resamples, which were left out", r.lost, r.lost+len(r.values)))
	}
	if lo == hi {
		e = e.Warn("the interval has no width: no resample differed")
	}
	return e
}
