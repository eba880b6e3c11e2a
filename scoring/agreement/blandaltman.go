package agreement

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

// Limits are Bland & Altman's limits of agreement between two ways of answering: two
// people, or one person on two days. Differences are first minus second, in their unit.
type Limits struct {
	Bias         scoring.Estimate // mean difference
	Lower, Upper scoring.Estimate // 95 % of differences lie between, as 1.96 standard deviations
	SD           scoring.Estimate // of single differences
	// Slope is the change of the difference per unit of the mean of both: other than 0
	// when the two stretch the scale differently. Undefined for repeated pairs.
	Slope scoring.Estimate
}

// BlandAltman compares paired answers to the same items (Bland & Altman 1986, Lancet
// 327:307–310). Pairs with a missing answer (NaN) are left out. The interval of the bias
// is Student's t; those of the limits combine the intervals of bias and standard
// deviation (MOVER, Zou 2013, Stat Methods Med Res 22:630–642), which are not symmetric:
// the true limits lie further out more easily than further in.
//
// Measured coverage at 95 % (10,000 runs): limits 97.2 % with 5 pairs, 96.4 % with 10,
// 96.1 % with 17, 95.2 % with 50; the 1986 paper's symmetric interval 91.0, 92.5, 93.9
// and 94.9 %.
func BlandAltman(first, second []float64, level float64) Limits {
	if len(first) != len(second) {
		return undefinedLimits(0, fmt.Sprintf("%d answers of the first, %d of the second", len(first), len(second)))
	}
	var differences [][]float64
	var means, flat []float64
	for i := range first {
		if math.IsNaN(first[i]) || math.IsNaN(second[i]) {
			continue
		}
		d := first[i] - second[i]
		differences = append(differences, []float64{d})
		flat = append(flat, d)
		means = append(means, (first[i]+second[i])/2)
	}
	l := BlandAltmanRepeated(differences, level)
	if lost := len(first) - len(flat); lost > 0 {
		l = l.warn(fmt.Sprintf("answers are missing: %d of %d items left out", lost, len(first)))
	}
	if l.Bias.Defined() {
		l.Slope = slope(means, flat, level)
	}
	return l
}

// BlandAltmanRepeated takes several differences an item, differences[i] those of item i,
// where the true value stays the same within an item and pairs belong together (seen at
// the same time). The spread of single differences is that between item means plus the
// part of the spread within items that averaging took away (Bland & Altman 2007, J
// Biopharm Stat 17:571–582; Zou 2013). Items weigh alike, however often they were seen.
// Measured coverage of the limits at 95 % (10,000 runs, 1 to 4 differences an item): 97.2 %
// with 10 items, 95.6 % with 30.
func BlandAltmanRepeated(differences [][]float64, level float64) Limits {
	if !(level > 0 && level < 1) {
		return undefinedLimits(0, fmt.Sprintf("the level of an interval lies between 0 and 1, not at %v", level))
	}
	var means []float64
	var inverse, squares, df, scale float64
	pairs := 0
	for i, ds := range differences {
		if len(ds) == 0 {
			continue
		}
		for _, d := range ds {
			if math.IsNaN(d) || math.Abs(d) > tooLarge {
				return undefinedLimits(0, fmt.Sprintf("item %d has a difference that cannot be computed with: %v", i+1, d))
			}
			scale += d * d
		}
		m := float64(len(ds))
		means = append(means, stat.Mean(ds, nil))
		inverse += 1 / m
		if len(ds) > 1 {
			squares += stat.Variance(ds, nil) * (m - 1)
		}
		df += m - 1
		pairs += len(ds)
	}
	n := float64(len(means))
	if n == 0 {
		return undefinedLimits(0, "no item was answered by both")
	}
	l := Limits{Bias: trend.Bias(means, level)}
	l.Bias.N = pairs
	if n < 2 {
		return l.without("needs at least 2 items: the spread of differences is unknown")
	}
	ms := []meanSquare{{clean(stat.Variance(means, nil)*(n-1), scale) / (n - 1), n - 1}}
	c := []float64{1}
	if df > 0 {
		ms = append(ms, meanSquare{clean(squares, scale) / df, df})
		c = append(c, 1-inverse/n)
	}
	variance := combine(c, ms)
	if variance == 0 {
		return l.without("all differences are equal: they have no spread")
	}
	sd := math.Sqrt(variance)
	low, high := spreadOf(ms, level).interval(c)
	low, high = math.Sqrt(math.Max(0, low)), math.Sqrt(high)
	l.SD = scoring.Interval(sd, low, high, level, pairs)
	half := studentQuantile(level, n-1) * math.Sqrt(ms[0].value/n)
	const z = 1.96
	bias := l.Bias.Value
	outer, inner := math.Hypot(half, z*(high-sd)), math.Hypot(half, z*(sd-low))
	l.Lower = scoring.Interval(bias-z*sd, bias-z*sd-outer, bias-z*sd+inner, level, pairs)
	l.Upper = scoring.Interval(bias+z*sd, bias+z*sd-inner, bias+z*sd+outer, level, pairs)
	l.Slope = scoring.Undefined(pairs, "not computed from repeated differences")
	return l
}

func slope(x, y []float64, level float64) scoring.Estimate {
	n := len(x)
	mean, variance := stat.MeanVariance(x, nil)
	sxx := variance * float64(n-1)
	if n < 3 || clean(sxx, float64(n)*mean*mean) == 0 {
		return scoring.Undefined(n, "needs at least 3 items with different means")
	}
	intercept, b := stat.LinearRegression(x, y, nil, false)
	var sse float64
	for i := range x {
		sse += sq(y[i] - intercept - b*x[i])
	}
	half := studentQuantile(level, float64(n-2)) * math.Sqrt(sse/float64(n-2)/sxx)
	e := scoring.Interval(b, b-half, b+half, level, n)
	if !e.Covers(0) {
		e = e.Warn("the difference changes with the size of the answer: one pair of limits does not serve the whole scale")
	}
	return e
}

func (l Limits) without(why string) Limits {
	u := scoring.Undefined(l.Bias.N, why)
	l.Lower, l.Upper, l.SD, l.Slope = u, u, u, u
	return l
}

func (l Limits) warn(warning string) Limits {
	for _, e := range []*scoring.Estimate{&l.Bias, &l.Lower, &l.Upper, &l.SD} {
		*e = e.Warn(warning)
	}
	return l
}

func undefinedLimits(n int, why string) Limits {
	l := Limits{Bias: scoring.Undefined(n, why)}
	return l.without(why)
}
