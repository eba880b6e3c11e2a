package scoring

import (
	"fmt"
	"math"
)

// arrangement is a row of n things as someone put them, each named by its right place 1
// to n, from the left.
type arrangement struct {
	order []int
}

// newArrangement takes the right places in the order laid; each of 1..n exactly once.
func newArrangement(order []int) (arrangement, error) {
	seen := make([]bool, len(order))
	for i, o := range order {
		if o < 1 || o > len(order) {
			return arrangement{}, fmt.Errorf("place %d holds %d: a row of %d holds 1 to %d", i+1, o, len(order), len(order))
		}
		if seen[o-1] {
			return arrangement{}, fmt.Errorf("%d lies in two places", o)
		}
		seen[o-1] = true
	}
	return arrangement{order: append([]int(nil), order...)}, nil
}

// inversions counts the pairs that lie in the wrong order, 0 to n(n−1)/2.
func (a arrangement) inversions() int {
	n := 0
	for i, left := range a.order {
		for _, right := range a.order[i+1:] {
			if left > right {
				n++
			}
		}
	}
	return n
}

// tauB is Kendall's τ-b between the order laid and the right one: 1 right, −1
// reversed. In an arrangement nothing is tied, so it is (P − Q)/(n(n−1)/2) with the
// pairs in order P and out of order Q.
func (a arrangement) tauB() Estimate {
	n := len(a.order)
	if n < 2 {
		return Undefined(n, "needs at least 2 things to put in order")
	}
	pairs := n * (n - 1) / 2
	return Point(float64(pairs-2*a.inversions())/float64(pairs), n)
}

// excessPath is how much longer the way along the row is than along the right order,
// Σd(laid)/Σd(right) − 1: 0 for the right order, 0.5 for half as long again. distance is
// a colour difference between two right places 1..n. The reversed order also has 0: look
// at tauB as well. It is below 0 where the "right" order is not the shortest way.
func (a arrangement) excessPath(distance func(i, j int) float64) Estimate {
	n := len(a.order)
	if n < 2 {
		return Undefined(n, "needs at least 2 things to put in order")
	}
	var laid, right float64
	for i := 1; i < n; i++ {
		laid += distance(a.order[i-1], a.order[i])
		right += distance(i, i+1)
	}
	if !(right > 0) || math.IsInf(right, 0) || math.IsNaN(laid) || math.IsInf(laid, 0) {
		return Undefined(n, "the things to be ordered have no distance from each other")
	}
	return Point(laid/right-1, n)
}
