package trend

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"
)

// tooLarge keeps sums of squares and cubes finite.
const tooLarge = 1e90

// objection is the reason, in words, why nothing can be computed from xs at this
// level, or "" when there is none.
func objection(xs []float64, level float64) string {
	if !(level > 0 && level < 1) {
		return fmt.Sprintf("the level of an interval lies between 0 and 1, not at %v", level)
	}
	if len(xs) == 0 {
		return "no attempts"
	}
	for i, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return fmt.Sprintf("value %d of %d is not a finite number", i+1, len(xs))
		}
		if math.Abs(x) > tooLarge {
			return fmt.Sprintf("value %d of %d is too large to compute with: %g", i+1, len(xs), x)
		}
	}
	return ""
}

// normalQuantile is the two-sided critical value of the standard normal.
func normalQuantile(level float64) float64 {
	return distuv.UnitNormal.Quantile(1 - (1-level)/2)
}

// StudentQuantile is the two-sided critical value of Student's t at a level of
// confidence, degrees of freedom above 0. To find one takes longer than most of what it
// is for, and whole degrees come again and again: those are kept.
func StudentQuantile(level, degrees float64) float64 {
	if degrees > mostKept || degrees != math.Trunc(degrees) {
		return studentQuantile(level, degrees)
	}
	key := [2]float64{level, degrees}
	if t, ok := keptQuantiles.Load(key); ok {
		return t.(float64)
	}
	t := studentQuantile(level, degrees)
	keptQuantiles.Store(key, t)
	return t
}

// mostKept bounds the memory: levels are few.
const mostKept = 1000

var keptQuantiles sync.Map // of level and degrees to float64

func studentQuantile(level, degrees float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: degrees}.Quantile(1 - (1-level)/2)
}

func sorted(xs []float64) []float64 {
	s := slices.Clone(xs)
	slices.Sort(s)
	return s
}

// middle is the median of values already sorted; there must be at least one.
func middle(s []float64) float64 {
	n := len(s)
	if n%2 == 1 {
		return s[n/2]
	}
	return s[n/2-1] + (s[n/2]-s[n/2-1])/2
}

// quantile is the p-quantile of sorted values by linear interpolation between
// order statistics, type 7 of Hyndman & Fan (1996), Am Stat 50:361–365.
func quantile(s []float64, p float64) float64 {
	h := p * float64(len(s)-1)
	i := int(math.Floor(h))
	if i < 0 {
		return s[0]
	}
	if i >= len(s)-1 {
		return s[len(s)-1]
	}
	return s[i] + (h-float64(i))*(s[i+1]-s[i])
}

func allEqual(xs []float64) bool {
	for _, x := range xs {
		if x != xs[0] {
			return false
		}
	}
	return true
}
