package agreement

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/scoring"
)

// Concordance of rankings.
type Rankings struct {
	W         scoring.Estimate // 0 no agreement, 1 all raters order alike
	ChiSquare float64          // m(n−1)W on items − 1 degrees of freedom; NaN when undefined
	P         float64          // of no agreement, by χ²; rough for fewer than 8 items
}

// KendallW is the coefficient of concordance of several raters' orders of the same
// items, with the correction for ties (Kendall & Babington Smith 1939, Ann Math Stat
// 10:275–287; Siegel & Castellan 1988). Only each rater's order counts. When answers
// are missing the largest complete block is used and a warning says so.
func KendallW(r Ratings) Rankings {
	undefined := func(n int, why string) Rankings {
		return Rankings{W: scoring.Undefined(n, why), ChiSquare: math.NaN(), P: math.NaN()}
	}
	if why := r.objection(0.95); why != "" {
		return undefined(len(r), why)
	}
	if len(r) < 2 {
		return undefined(len(r), "one item only: there is no order")
	}
	block, warning := r.complete()
	if len(block) == 0 {
		return undefined(len(r), noSharedItems)
	}
	n, m := float64(len(block)), float64(len(block[0]))
	sums := make([]float64, len(block))
	var ties float64
	for j := range block[0] {
		ranks, t := midRanks(block.column(j))
		ties += t
		for i, rank := range ranks {
			sums[i] += rank
		}
	}
	var s float64
	for _, sum := range sums {
		s += sq(sum - m*(n+1)/2)
	}
	most := m*m*(n*n*n-n) - m*ties
	if most <= 0 {
		return undefined(len(block), "every rater gave all items the same rank: there is no order")
	}
	w := 12 * s / most
	c := Rankings{W: scoring.Point(w, len(block)), ChiSquare: m * (n - 1) * w}
	c.P = distuv.ChiSquared{K: n - 1}.Survival(c.ChiSquare)
	if warning != "" {
		c.W = c.W.Warn(warning)
	}
	if len(block) < 8 {
		c.W = c.W.Warn("fewer than 8 items: the probability by χ² is rough")
	}
	return c
}

// midRanks are the ranks of values, the mean rank where values are tied, and Σ(t³−t).
func midRanks(values []float64) (ranks []float64, ties float64) {
	order := make([]int, len(values))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(values[a], values[b]) })
	ranks = make([]float64, len(values))
	for start := 0; start < len(order); {
		end := start + 1
		for end < len(order) && values[order[end]] == values[order[start]] {
			end++
		}
		for _, i := range order[start:end] {
			ranks[i] = float64(start+end+1) / 2
		}
		t := float64(end - start)
		ties += t*t*t - t
		start = end
	}
	return ranks, ties
}
