package agreement

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// meanSquare is a mean square of an analysis of variance with its degrees of freedom.
// For normal effects, value·df/expectation follows χ² on df, independently of others.
type meanSquare struct {
	value, df float64
}

// combine is Σ c·MS, as a variance component is of mean squares.
func combine(c []float64, ms []meanSquare) float64 {
	var sum float64
	for i, m := range ms {
		sum += c[i] * m.value
	}
	return sum
}

// spread holds how far mean squares may lie from their expectations, at one tail
// probability: all that the limits need and that does not depend on the coefficients.
type spread struct {
	ms   []meanSquare
	g, h []float64   // above, below the expectation, relative to the mean square
	f    [][]float64 // F exceeded with the tail probability, by numerator and denominator
	both [][]float64 // g of two mean squares taken as one
}

func spreadOf(ms []meanSquare, level float64) spread {
	tail := (1 - level) / 2
	s := spread{ms: ms, f: square(len(ms)), both: square(len(ms))}
	for i, m := range ms {
		s.g = append(s.g, 1-m.df/chiSquareUpper(m.df, tail))
		s.h = append(s.h, m.df/chiSquareUpper(m.df, 1-tail)-1)
		for j, other := range ms {
			if i != j {
				s.f[i][j] = fisherUpper(m.df, other.df, tail)
				s.both[i][j] = 1 - (m.df+other.df)/chiSquareUpper(m.df+other.df, tail)
			}
		}
	}
	return s
}

// interval is the modified large-sample interval of Σ c·E(MS), c of either sign (Ting,
// Burdick, Graybill, Jeyaratnam & Lu 1990, J Stat Comput Simul 35:135–143; formulas
// from memory, their coverage measured by this package's tests).
func (s spread) interval(c []float64) (lo, hi float64) {
	return s.lower(c), -s.lower(negated(c))
}

func negated(c []float64) []float64 {
	n := make([]float64, len(c))
	for i, v := range c {
		n[i] = -v
	}
	return n
}

// lower is the lower limit of Σ c·E(MS).
func (s spread) lower(c []float64) float64 {
	positive := 0
	for _, v := range c {
		if v > 0 {
			positive++
		}
	}
	var v float64
	for i, m := range s.ms {
		switch {
		case c[i] > 0:
			v += sq(s.g[i] * c[i] * m.value)
		case c[i] < 0:
			v += sq(s.h[i] * c[i] * m.value)
		}
		if !(c[i] > 0) {
			continue
		}
		for j, other := range s.ms {
			product := c[i] * c[j] * m.value * other.value
			switch {
			case c[j] < 0:
				f := s.f[i][j]
				v -= (sq(f-1) - sq(s.g[i]*f) - sq(s.h[j])) / f * product
			case c[j] > 0 && j < i:
				n1, n2 := m.df, other.df
				v += (sq(s.both[i][j]*(n1+n2))/(n1*n2) - sq(s.g[i])*n1/n2 - sq(s.g[j])*n2/n1) / float64(positive-1) * product
			}
		}
	}
	return combine(c, s.ms) - math.Sqrt(math.Max(0, v))
}

// ratio is an interval for Σ a·E(MS) / Σ b·E(MS), a share between 0 and 1: all ratios ρ
// for which the interval of Σ (a − ρb)·E(MS) contains 0. Both ends are found by
// bisection, as the limits fall while ρ rises when the denominator is a sum of variance
// components.
func (s spread) ratio(a, b []float64) (lo, hi float64) {
	at := func(rho float64) []float64 {
		c := make([]float64, len(a))
		for i := range c {
			c[i] = a[i] - rho*b[i]
		}
		return c
	}
	lo = lastTrue(func(rho float64) bool { return s.lower(at(rho)) > 0 })
	hi = lastTrue(func(rho float64) bool { return s.lower(negated(at(rho))) < 0 })
	return lo, hi
}

// lastTrue is where f, true at the left of 0..1 and false at the right, changes.
func lastTrue(f func(float64) bool) float64 {
	if !f(0) {
		return 0
	}
	if f(1) {
		return 1
	}
	lo, hi := 0.0, 1.0
	for range 50 {
		if mid := (lo + hi) / 2; f(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// chiSquareUpper is the value that χ² on df exceeds with probability p.
func chiSquareUpper(df, p float64) float64 { return distuv.ChiSquared{K: df}.Quantile(1 - p) }

// fisherUpper is the value that F on (df1, df2) exceeds with probability p.
func fisherUpper(df1, df2, p float64) float64 { return distuv.F{D1: df1, D2: df2}.Quantile(1 - p) }

func sq(x float64) float64 { return x * x }
