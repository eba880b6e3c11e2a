package trend

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/scoring"
)

// concordance counts how two rankings of the same n things agree, pair by pair.
type concordance struct {
	N          int
	Concordant int64 // pairs ordered alike
	Discordant int64 // pairs ordered against each other
	TiedX      int64 // pairs tied in x only
	TiedY      int64 // pairs tied in y only
	TiedBoth   int64 // pairs tied in both

	variance float64
}

// concord compares the orders of x and y in O(n log n) (Knight 1966, J Am Stat
// Assoc 61:436–439). The slices must be of one length and finite; the zero
// Concordance is returned otherwise.
func concord(x, y []float64) concordance {
	n := len(x)
	if n != len(y) {
		return concordance{}
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		return cmp.Or(cmp.Compare(x[i], x[j]), cmp.Compare(y[i], y[j]))
	})
	ys := make([]float64, n)
	for i, o := range order {
		ys[i] = y[o]
	}

	c := concordance{N: n}
	tiesX := tieSums(n, func(i, j int) bool { return x[order[i]] == x[order[j]] })
	both := tieSums(n, func(i, j int) bool { return x[order[i]] == x[order[j]] && ys[i] == ys[j] })
	c.Discordant = sortCountingInversions(ys) // leaves ys sorted
	tiesY := tieSums(n, func(i, j int) bool { return ys[i] == ys[j] })

	pairs := int64(n) * int64(n-1) / 2
	c.TiedBoth = both.pairs
	c.TiedX = tiesX.pairs - both.pairs
	c.TiedY = tiesY.pairs - both.pairs
	c.Concordant = pairs - c.Discordant - c.TiedX - c.TiedY - c.TiedBoth
	c.variance = varianceOfS(float64(n), tiesX, tiesY)
	return c
}

// s is Kendall's score, concordant minus discordant pairs.
func (c concordance) s() int64 { return c.Concordant - c.Discordant }

// varianceOfS is the variance of S when x and y are unrelated, with the correction
// for ties in both (Kendall 1970, Rank Correlation Methods, eq. 4.3).
func (c concordance) varianceOfS() float64 { return c.variance }

// tauA is S over all pairs; ties pull it towards 0.
func (c concordance) tauA() scoring.Estimate {
	if c.N < 2 {
		return scoring.Undefined(c.N, "needs at least 2 values")
	}
	return scoring.Point(float64(c.s())/(float64(c.N)*float64(c.N-1)/2), c.N)
}

// tauB is Kendall's τ-b, S over the geometric mean of the pairs untied in x and
// untied in y; it reaches ±1 in the presence of ties.
func (c concordance) tauB() scoring.Estimate {
	if c.N < 2 {
		return scoring.Undefined(c.N, "needs at least 2 values")
	}
	untied := float64(c.Concordant + c.Discordant)
	denominator := math.Sqrt((untied + float64(c.TiedX)) * (untied + float64(c.TiedY)))
	if denominator == 0 {
		return scoring.Undefined(c.N, "all values are equal: there is no order to compare")
	}
	return scoring.Point(float64(c.s())/denominator, c.N)
}

// z is S over its standard deviation under no relation, with the correction for
// continuity (S∓1); 0 when nothing varies.
func (c concordance) z() float64 {
	s := float64(c.s())
	if s == 0 || c.variance <= 0 {
		return 0
	}
	return (s - math.Copysign(1, s)) / math.Sqrt(c.variance)
}

// P is the two-sided probability of an S at least this far from 0 when x and y are
// unrelated: exact for fewer than 10 values without ties, otherwise by the normal
// approximation with the correction for continuity.
func (c concordance) P() float64 {
	ties := c.TiedX + c.TiedY + c.TiedBoth
	if c.N < exactBelow && ties == 0 {
		return exactP(c.N, c.Discordant)
	}
	return math.Min(1, 2*distuv.UnitNormal.Survival(math.Abs(c.z())))
}

// exactBelow is from how many values on the normal approximation is good enough.
const exactBelow = 10

// exactP counts permutations of n things by their inversions.
func exactP(n int, discordant int64) float64 {
	counts := []float64{1}
	for m := 2; m <= n; m++ { // the m-th thing adds 0..m−1 inversions
		next := make([]float64, len(counts)+m-1)
		for i, c := range counts {
			for add := range m {
				next[i+add] += c
			}
		}
		counts = next
	}
	most := len(counts) - 1
	near := min(int(discordant), most-int(discordant))
	var tail, all float64
	for i, c := range counts {
		all += c
		if i <= near {
			tail += c
		}
	}
	return math.Min(1, 2*tail/all)
}

// ties are sums over groups of t tied values.
type ties struct {
	pairs   int64   // Σ t(t−1)/2
	triples float64 // Σ t(t−1)(t−2)
	score   float64 // Σ t(t−1)(2t+5)
}

// tieSums runs over sorted values; same tells whether neighbours are tied.
func tieSums(n int, same func(i, j int) bool) ties {
	var sum ties
	for start := 0; start < n; {
		end := start + 1
		for end < n && same(end-1, end) {
			end++
		}
		t := float64(end - start)
		sum.pairs += int64(end-start) * int64(end-start-1) / 2
		sum.triples += t * (t - 1) * (t - 2)
		sum.score += t * (t - 1) * (2*t + 5)
		start = end
	}
	return sum
}

func varianceOfS(n float64, x, y ties) float64 {
	if n < 2 {
		return 0
	}
	v := (n*(n-1)*(2*n+5) - x.score - y.score) / 18
	v += 2 * float64(x.pairs) * float64(y.pairs) / (n * (n - 1))
	if n > 2 {
		v += x.triples * y.triples / (9 * n * (n - 1) * (n - 2))
	}
	return v
}

// sortCountingInversions sorts v and returns how many pairs stood in the wrong
// order; equal values are not inversions.
func sortCountingInversions(v []float64) int64 {
	return mergeCount(v, make([]float64, len(v)))
}

func mergeCount(v, scratch []float64) int64 {
	n := len(v)
	if n < 2 {
		return 0
	}
	mid := n / 2
	inversions := mergeCount(v[:mid], scratch[:mid]) + mergeCount(v[mid:], scratch[mid:])
	copy(scratch, v)
	left, right := scratch[:mid], scratch[mid:n]
	for i, j, k := 0, 0, 0; k < n; k++ {
		if j == len(right) || i < len(left) && left[i] <= right[j] {
			v[k] = left[i]
			i++
		} else {
			v[k] = right[j]
			j++
			inversions += int64(len(left) - i)
		}
	}
	return inversions
}
