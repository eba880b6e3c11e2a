package trend

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"shadedrill/scoring"
)

// Effect is what happened between two measurements of the same people, a pair a
// person. After minus before: below 0, errors shrank.
type Effect struct {
	Before, After scoring.Estimate // the means, each with the interval of Student's t
	// Change is the mean of the changes, with the interval of Student's t. It needs
	// changes that are near normal or a good many of them, as every mean does.
	Change scoring.Estimate
	// SD is the standard deviation of the changes, n−1 below.
	SD float64
	// AV and Z are Hedges' g: Cohen's d times J. d_av divides the mean change by the
	// mean of the two standard deviations, and says how far the class moved as against
	// how far its people differ; d_z divides by the standard deviation of the changes,
	// and says how alike they moved (Lakens 2013, Front Psychol 4:863, eq. 10 and 7).
	//
	// The interval of d_z is exact for normal changes: limits of the noncentrality of t
	// over √n. That of d_av takes the same limits times SD over √n and the mean standard
	// deviation (Algina & Keselman 2003, Educ Psychol Meas 63:537–553; from memory).
	// Both are multiplied by J.
	AV, Z scoring.Estimate
}

// hedgesJ is the correction that turns d into g, an approximation that is within
// 0.0004 of the exact one from 9 degrees of freedom (Hedges 1981, J Educ Stat
// 6:107–128; Lakens 2013, eq. 4).
func hedgesJ(df float64) float64 { return 1 - 3/(4*df-1) }

// leastForEffect is how many people the size of an effect needs: with two, the
// correction for small samples is no longer one (J = 0 at one degree of freedom).
const leastForEffect = 3

// Paired measures the change of the same people; before[i] and after[i] are one
// person's.
func Paired(before, after []float64, level float64) Effect {
	n := min(len(before), len(after))
	changes := make([]float64, n)
	for i := range changes {
		changes[i] = after[i] - before[i]
	}
	e := Effect{Before: meanOfPeople(before[:n], level), After: meanOfPeople(after[:n], level), Change: meanOfPeople(changes, level), SD: math.NaN()}
	if n >= 2 {
		e.SD = stat.StdDev(changes, nil)
	}
	if why := effectObjection(n, e.Change); why != "" {
		e.AV, e.Z = scoring.Undefined(n, why), scoring.Undefined(n, why)
		return e
	}
	if e.SD == 0 {
		const same = "all changed by the same: there is no spread to hold it against"
		e.AV, e.Z = scoring.Undefined(n, same), scoring.Undefined(n, same)
		return e
	}
	df, root := float64(n-1), math.Sqrt(float64(n))
	j := hedgesJ(df)
	lo, hi := noncentrality(e.Change.Value/e.SD*root, df, level)
	e.Z = scoring.Interval(j*e.Change.Value/e.SD, j*lo/root, j*hi/root, level, n)
	spread := (stat.StdDev(before[:n], nil) + stat.StdDev(after[:n], nil)) / 2
	ratio := e.SD / spread
	e.AV = scoring.Interval(j*e.Change.Value/spread, j*lo/root*ratio, j*hi/root*ratio, level, n)
	return e
}

// Between compares two groups of different people by one number each: the
// difference of the means, first minus second, with Welch's interval (1947, Biometrika
// 34:28–35), and Hedges' g over the pooled standard deviation with the interval from
// the noncentral t, which takes both groups to spread alike.
func Between(first, second []float64, level float64) (difference, g scoring.Estimate) {
	n1, n2 := len(first), len(second)
	n := n1 + n2
	if min(n1, n2) < 2 {
		why := "needs at least 2 people in each group"
		return scoring.Undefined(n, why), scoring.Undefined(n, why)
	}
	if why := objection(append(append([]float64(nil), first...), second...), level); why != "" {
		return scoring.Undefined(n, why), scoring.Undefined(n, why)
	}
	m1, s1 := stat.MeanStdDev(first, nil)
	m2, s2 := stat.MeanStdDev(second, nil)
	v1, v2 := s1*s1/float64(n1), s2*s2/float64(n2)
	d := m1 - m2
	if v1+v2 == 0 {
		return scoring.Point(d, n, nothingVaried), scoring.Undefined(n, nothingVaried)
	}
	df := (v1 + v2) * (v1 + v2) / (v1*v1/float64(n1-1) + v2*v2/float64(n2-1))
	half := StudentQuantile(level, df) * math.Sqrt(v1+v2)
	difference = scoring.Interval(d, d-half, d+half, level, n)

	free := float64(n - 2)
	pooled := math.Sqrt((float64(n1-1)*s1*s1 + float64(n2-1)*s2*s2) / free)
	scale := math.Sqrt(1/float64(n1) + 1/float64(n2))
	lo, hi := noncentrality(d/(pooled*scale), free, level)
	j := hedgesJ(free)
	return difference, scoring.Interval(j*d/pooled, j*lo*scale, j*hi*scale, level, n)
}

// Needed is how many people it takes to find, at 5 % on two sides, a mean difference
// of d standard deviations with the given power: pairs with groups 1, where the
// standard deviation is that of the changes, people a group with groups 2. Exact for
// normal values: the noncentral t (Cohen 1988, Statistical Power Analysis, ch. 2).
// 0 where none below a million would do.
func Needed(d, power float64, groups int) int {
	const most = 1_000_000
	d = math.Abs(d)
	enough := func(n int) bool {
		df := float64((n - 1) * groups)
		return 1-noncentralT(StudentQuantile(0.95, df), df, d*math.Sqrt(float64(n)/float64(groups))) >= power
	}
	if !(d > 0) || math.IsInf(d, 0) || !enough(most) {
		return 0
	}
	lo, hi := 1, 2 // enough(lo) never asked: one person has no standard deviation
	for !enough(hi) {
		lo, hi = hi, min(2*hi, most)
	}
	for hi-lo > 1 {
		if m := (lo + hi) / 2; enough(m) {
			hi = m
		} else {
			lo = m
		}
	}
	return hi
}

func effectObjection(n int, change scoring.Estimate) string {
	switch {
	case !change.Defined() && len(change.Warnings) > 0:
		return change.Warnings[0]
	case n < leastForEffect:
		return fmt.Sprintf("needs at least %d people", leastForEffect)
	}
	return ""
}

// meanOfPeople is a mean over people, one number each.
func meanOfPeople(xs []float64, level float64) scoring.Estimate {
	switch len(xs) {
	case 0:
		return scoring.Undefined(0, "nobody has both")
	case 1:
		return scoring.Point(xs[0], 1, "one person only: no interval")
	}
	return Bias(xs, level)
}
