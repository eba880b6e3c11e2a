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
}

// BlandAltman takes the differences of paired answers, differences[i] those of item i,
// first minus second (Bland & Altman 1986, Lancet 327:307–310). An item may have several,
// where the true value stays the same and pairs belong together (seen at the same time):
// the spread of single differences is then that between item means plus the part of the
// spread within items that averaging took away (Bland & Altman 2007, J Biopharm Stat
// 17:571–582; Zou 2013). Items weigh alike, however often they were seen; an item without
// a pair is left out.
//
// The interval of the bias is Student's t; those of the limits combine the intervals of
// bias and standard deviation (MOVER, Zou 2013, Stat Methods Med Res 22:630–642), which
// are not symmetric: the true limits lie further out more easily than further in.
//
// Measured coverage of the limits at 95 % (10,000 runs): one difference an item 97.2 %
// with 5 pairs, 96.4 % with 10, 96.1 % with 17, 95.2 % with 50 (the 1986 paper's symmetric
// interval 91.0, 92.5, 93.9 and 94.9 %); 1 to 4 differences an item 97.2 % with 10 items,
// 95.6 % with 30.
func BlandAltman(differences [][]float64, level float64) Limits {
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
	half := trend.StudentQuantile(level, n-1) * math.Sqrt(ms[0].value/n)
	const z = 1.96
	bias := l.Bias.Value
	outer, inner := math.Hypot(half, z*(high-sd)), math.Hypot(half, z*(sd-low))
	l.Lower = scoring.Interval(bias-z*sd, bias-z*sd-outer, bias-z*sd+inner, level, pairs)
	l.Upper = scoring.Interval(bias+z*sd, bias+z*sd-inner, bias+z*sd+outer, level, pairs)
	return l
}

func (l Limits) without(why string) Limits {
	u := scoring.Undefined(l.Bias.N, why)
	l.Lower, l.Upper, l.SD = u, u, u
	return l
}

func undefinedLimits(n int, why string) Limits {
	l := Limits{Bias: scoring.Undefined(n, why)}
	return l.without(why)
}
