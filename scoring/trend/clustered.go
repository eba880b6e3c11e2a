package trend

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/scoring"
)

// ShareClustered is a share 0..1 where the n answers come in clusters that hang
// together, such as the pairs of one round: whoever takes one tab for another errs
// twice. hits and sizes are counted a cluster each.
//
// The interval is Wilson's with the effective number of answers in place of n
// (E. L. Korn and B. I. Graubard, Surv Methodol 24 (1998) 193–201): n divided by
// the design effect, which is the variance of the share between clusters
// (linearised ratio estimator) over the binomial one, and never below 1; Student's
// quantile with m − 1 degrees of freedom takes the place of the normal one. From
// memory.
//
// Few clusters say little of their own spread. The design effect is therefore a
// mean of the one seen, with weight m − 1, and of the one in doubt, oneCluster, with
// weight inDoubt; the quantile has m − 1 + inDoubt degrees of freedom. Both are
// house rules, which simulation bears out: see the tests. A single cluster has an
// interval by the same rule, and a warning.
func ShareClustered(hits, sizes []int, level float64) scoring.Estimate {
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
	effect := 1.0
	if h > 0 && h < n && m > 1 {
		sum := 0.0
		for i, size := range sizes {
			d := float64(hits[i]) - p*float64(size)
			sum += d * d
		}
		effect = float64(m) / float64(m-1) * sum / (p * (1 - p) * count)
	}
	weight := float64(m - 1)
	effect = max(1, (effect*weight+oneCluster*inDoubt)/(weight+inDoubt))
	if h == 0 || h == n {
		effect = oneCluster
	}
	// No cluster counts for less than one answer.
	effective := max(float64(m), count/effect)
	q := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: weight + inDoubt}.Quantile((1 + level) / 2)
	lo, hi := wilson(p, effective, q)
	if h == 0 {
		lo = 0
	}
	if h == n {
		hi = 1
	}
	e := scoring.Interval(p, lo, hi, level, n)
	if m == 1 {
		return e.Warn(fmt.Sprintf("a single round: its %d answers hang together and are counted as %.0f", n, effective))
	}
	return e
}

const (
	// oneCluster is the design effect of errors that come two at a time.
	oneCluster = 2.0
	inDoubt    = 8.0
)

// wilson is the interval of a share p seen in n answers, for a quantile z.
func wilson(p, n, z float64) (lo, hi float64) {
	centre := (p + z*z/(2*n)) / (1 + z*z/n)
	half := z / (1 + z*z/n) * math.Sqrt(p*(1-p)/n+z*z/(4*n*n))
	return max(0, centre-half), min(1, centre+half)
}
