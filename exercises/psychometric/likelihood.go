package psychometric

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Count is what happened at one level: Yes of N answers were "different" (or
// right).
type Count struct {
	Level  float64
	Yes, N int
}

// Validate says in one line what is wrong with the count, or nil.
func (c Count) Validate() error {
	if math.IsNaN(c.Level) || math.IsInf(c.Level, 0) {
		return fmt.Errorf("level %v is not a finite number", c.Level)
	}
	if c.N < 0 || c.Yes < 0 || c.Yes > c.N {
		return fmt.Errorf("%d of %d answers at level %v cannot be", c.Yes, c.N, c.Level)
	}
	return nil
}

// Pool adds up the counts level by level and sorts them by level. Levels are the
// same only when they are equal to the last bit, as they are when both come from
// one list of what can be shown. Counts without answers are dropped.
func Pool(counts []Count) []Count {
	sorted := slices.Clone(counts)
	slices.SortStableFunc(sorted, func(a, b Count) int { return cmp.Compare(a.Level, b.Level) })
	var pooled []Count
	for _, c := range sorted {
		switch last := len(pooled) - 1; {
		case c.N == 0:
		case last >= 0 && pooled[last].Level == c.Level:
			pooled[last].Yes += c.Yes
			pooled[last].N += c.N
		default:
			pooled = append(pooled, c)
		}
	}
	return pooled
}

// LogLikelihood is Σ k·ln ψ + (n − k)·ln(1 − ψ), without the binomial constant,
// natural logarithm. It is −∞ when ψ makes an answer that was given impossible and
// NaN when ψ is not a probability at a level that was asked.
func LogLikelihood(psi func(x float64) float64, counts []Count) float64 {
	var sum float64
	for _, c := range counts {
		p := psi(c.Level)
		if !(p >= 0 && p <= 1) {
			return math.NaN()
		}
		sum += timesLog(float64(c.Yes), p) + timesLog1p(float64(c.N-c.Yes), -p)
	}
	return sum
}

// Deviance is 2·Σ k·ln(k/(nψ)) + (n − k)·ln((n − k)/(n(1 − ψ))): twice the
// distance, in log-likelihood, between ψ and a curve that goes through every point.
func Deviance(psi func(x float64) float64, counts []Count) float64 {
	var sum float64
	for _, c := range counts {
		if c.N == 0 {
			continue
		}
		p := psi(c.Level)
		if !(p >= 0 && p <= 1) {
			return math.NaN()
		}
		k, n := float64(c.Yes), float64(c.N)
		sum += timesLog(k, k/n) - timesLog(k, p) + timesLog(n-k, (n-k)/n) - timesLog1p(n-k, -p)
	}
	return 2 * sum
}

// timesLog is k·ln p with 0·ln 0 = 0.
func timesLog(k, p float64) float64 {
	if k == 0 {
		return 0
	}
	return k * math.Log(p)
}

// timesLog1p is k·ln(1 + q) with 0·ln 0 = 0.
func timesLog1p(k, q float64) float64 {
	if k == 0 {
		return 0
	}
	return k * math.Log1p(q)
}
