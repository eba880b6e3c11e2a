package agreement

import (
	"math"

	"shadedrill/scoring/trend"
)

// shareInterval is the interval of a coefficient of agreement that lies between least
// and 1: Wilson's (1927, J Am Stat Assoc 22:209) for its place between the two, taken
// as a share of as many items as give the variance. Its quantile is Student's on
// items − 1, since the variance comes from the items themselves. With a variance of 0,
// as where everybody agrees throughout, every item counts once: the interval is then
// that of so many successes without a failure, and not a point.
//
// Intervals of value ± t errors are no match for it: few values are possible, most near
// one end, and the error vanishes just where nobody disagreed by chance.
func shareInterval(value, least, variance float64, items int, level float64) (lo, hi float64) {
	n := float64(items)
	reach := 1 - least
	u := min(max((value-least)/reach, 0), 1)
	effective := n
	if v := variance / (reach * reach); v > 1e-12 && u*(1-u) > 1e-12 {
		effective = u * (1 - u) / v
	}
	z := trend.StudentQuantile(level, n-1)
	centre := (u + z*z/(2*effective)) / (1 + z*z/effective)
	half := z / (1 + z*z/effective) * math.Sqrt(u*(1-u)/effective+z*z/(4*effective*effective))
	return min(value, least+reach*max(0, centre-half)), max(value, least+reach*min(1, centre+half))
}

// jackknifeVariance is the variance of a statistic from what it becomes without each
// item (Tukey 1958; Efron 1982, The Jackknife, eq. 3.1): 0 where it cannot do without
// one of them.
func jackknifeVariance(without []float64) float64 {
	n := float64(len(without))
	mean := total(without) / n
	var squares float64
	for _, v := range without {
		squares += sq(v - mean)
	}
	if math.IsNaN(squares) {
		return 0
	}
	return squares * (n - 1) / n
}
