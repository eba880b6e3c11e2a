package trend

import (
	"fmt"

	"shadedrill/scoring"
)

// ShareClustered is a share 0..1 where the n answers come in clusters that hang
// together, such as the pairs of one round: whoever takes one tab for another errs
// twice. hits and sizes are counted a cluster each.
//
// The interval is Wilson's with the effective number of answers in place of n
// (after E. L. Korn and B. I. Graubard, Surv Methodol 24 (1998) 193–201, from
// memory): n divided by the design effect, which is the variance of the share
// between clusters (linearised ratio estimator) over the binomial one.
//
// Few clusters say little of their own spread. The design effect is therefore the
// mean of the one seen, with weight m − 1 for m clusters, and of the one expected
// by whoever knows how the answers hang together, with weight trust; it is never
// below 1. A single cluster, or one where every answer was right, has the expected
// one. Measured coverage stands beside the test in scoring/reports/history.
func ShareClustered(hits, sizes []int, expected, level float64) scoring.Estimate {
	h, n, m := 0, 0, 0
	for i, size := range sizes {
		if i >= len(hits) || hits[i] < 0 || hits[i] > size {
			return scoring.Undefined(n, "hits and answers do not fit together")
		}
		if size > 0 {
			h, n, m = h+hits[i], n+size, m+1
		}
	}
	if e := Share(h, n, level); !e.Defined() || m == n {
		return e // undefined, or every answer stands for itself
	}
	p, count := float64(h)/float64(n), float64(n)
	effect := max(1, expected)
	if m > 1 && h > 0 && h < n {
		sum := 0.0
		for i, size := range sizes {
			d := float64(hits[i]) - p*float64(size)
			sum += d * d
		}
		seen := float64(m) / float64(m-1) * sum / (p * (1 - p) * count)
		weight := float64(m - 1)
		effect = max(1, (seen*weight+effect*trust)/(weight+trust))
	}
	// No cluster counts for less than one answer.
	effective := max(float64(m), count/effect)
	lo, hi := wilson(p, effective, normalQuantile(level))
	if h == 0 {
		lo = 0
	}
	if h == n {
		hi = 1
	}
	e := scoring.Interval(p, lo, hi, level, n)
	if m == 1 {
		return e.Warn(fmt.Sprintf("all %d answers are of one piece and count as %.0f", n, effective))
	}
	return e
}

// trust is how many clusters the expected design effect is worth; house rule.
const trust = 8
