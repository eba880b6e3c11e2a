package report

import (
	"cmp"
	"math"
	"slices"

	"shadedrill/scoring/trend"
)

// BoxNumbers are what a box plot draws of a list of values (Tukey 1977,
// Exploratory Data Analysis): the median, the quartiles, the whiskers, which
// reach to the last value within 1.5 times the distance of the quartiles, and
// the values beyond.
type BoxNumbers struct {
	Low, Q1, Median, Q3, High float64 // NaN where there are no values
	Beyond                    []float64
}

// BoxNumbersOf computes them; what is not finite is left out. Quartiles are interpolated
// between order statistics, definition 7 of Hyndman & Fan (1996), Am Stat
// 50:361–365. Of the values beyond the whiskers at most so many are kept, the
// farthest.
func BoxNumbersOf(values []float64, mostBeyond int) BoxNumbers {
	s := slices.DeleteFunc(slices.Clone(values), func(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) })
	if len(s) == 0 {
		nan := math.NaN()
		return BoxNumbers{nan, nan, nan, nan, nan, nil}
	}
	at := func(p float64) float64 {
		h := p * float64(len(s)-1)
		i := int(h)
		lower := trend.Ranked(s, i)
		if i+1 == len(s) {
			return lower
		}
		return lower + (h-float64(i))*(slices.Min(s[i+1:])-lower)
	}
	b := BoxNumbers{Q1: at(0.25), Median: at(0.5), Q3: at(0.75)}
	reach := 1.5 * (b.Q3 - b.Q1)
	b.Low, b.High = b.Q1, b.Q3
	for _, x := range s {
		if x < b.Q1-reach || x > b.Q3+reach {
			b.Beyond = append(b.Beyond, x)
		} else {
			b.Low, b.High = min(b.Low, x), max(b.High, x)
		}
	}
	slices.Sort(b.Beyond)
	slices.SortStableFunc(b.Beyond, func(x, y float64) int {
		return cmp.Compare(math.Abs(y-b.Median), math.Abs(x-b.Median))
	})
	b.Beyond = slices.Clip(b.Beyond[:min(len(b.Beyond), mostBeyond)])
	return b
}

// Series draws the box at x.
func (b BoxNumbers) Series(x float64) Series {
	return Series{Style: Box, X: []float64{x}, Y: []float64{b.Low, b.Q1, b.Median, b.Q3, b.High}, Beyond: b.Beyond}
}
