package trend

import (
	"cmp"
	"math"
	"slices"
)

// Discoveries says which of many p values stand out when the expected share of false ones
// among them is held to q (Y. Benjamini and Y. Hochberg, J R Stat Soc B 57 (1995)
// 289–300, from memory): the k smallest, with the largest k for which p₍k₎ ≤ q·k/m. NaN
// is no p value: it is neither counted nor found.
func Discoveries(ps []float64, q float64) []bool {
	var order []int
	for i, p := range ps {
		if !math.IsNaN(p) {
			order = append(order, i)
		}
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(ps[a], ps[b]) })
	found := make([]bool, len(ps))
	for k := len(order); k > 0; k-- {
		if ps[order[k-1]] <= q*float64(k)/float64(len(order)) {
			for _, i := range order[:k] {
				found[i] = true
			}
			break
		}
	}
	return found
}
