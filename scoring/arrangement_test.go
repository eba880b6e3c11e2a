package scoring

import (
	"math"
	"testing"
)

func isNear(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g within %g", what, got, want, tolerance)
	}
}

func arrange(t *testing.T, order ...int) arrangement {
	t.Helper()
	a, err := newArrangement(order)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func upTo(n int) []int {
	order := make([]int, n)
	for i := range order {
		order[i] = i + 1
	}
	return order
}

// τ by hand; for a permutation inversions = n(n−1)(1−τ)/4.
func TestOrderAgainstTheRightOne(t *testing.T) {
	swapped := upTo(10)
	swapped[3], swapped[4] = 5, 4
	for _, c := range []struct {
		order      []int
		tau        float64
		inversions int
	}{
		{[]int{3, 4, 1, 2, 5}, .2, 4},
		{swapped, .9555555556, 1},
		{[]int{5, 4, 3, 2, 1}, -1, 10},
		{upTo(7), 1, 0},
	} {
		a := arrange(t, c.order...)
		isNear(t, "τ", a.tauB().Value, c.tau, 1e-10)
		if got := a.inversions(); got != c.inversions {
			t.Errorf("%v: %d inversions, want %d", c.order, got, c.inversions)
		}
		n := float64(len(c.order))
		isNear(t, "inversions from τ", n*(n-1)*(1-a.tauB().Value)/4, float64(c.inversions), 1e-9)
	}
}

// A walk over a line: 1 2 4 3 5 goes 1+2+1+2 = 6 instead of 4.
func TestExcessPath(t *testing.T) {
	line := func(i, j int) float64 { return math.Abs(float64(i - j)) }
	isNear(t, "excess", arrange(t, 1, 2, 4, 3, 5).excessPath(line).Value, .5, 1e-12)
	isNear(t, "excess of the right order", arrange(t, upTo(6)...).excessPath(line).Value, 0, 1e-12)
	isNear(t, "excess of the reversed order", arrange(t, 3, 2, 1).excessPath(line).Value, 0, 1e-12)
	for name, e := range map[string]Estimate{
		"equal things": arrange(t, 2, 1, 3).excessPath(func(int, int) float64 { return 0 }),
		"one thing":    arrange(t, 1).excessPath(line),
		"no number":    arrange(t, 2, 1).excessPath(func(int, int) float64 { return math.NaN() }),
	} {
		if e.Defined() || len(e.Warnings) == 0 {
			t.Errorf("%s: %+v", name, e)
		}
	}
}

func TestImpossibleArrangementsAreRefused(t *testing.T) {
	for _, order := range [][]int{{0, 1}, {1, 3}, {1, 1}, {2}} {
		if _, err := newArrangement(order); err == nil {
			t.Errorf("%v passes for an arrangement", order)
		}
	}
	for _, n := range []int{0, 1, 2} {
		a := arrange(t, upTo(n)...)
		if a.inversions() != 0 {
			t.Errorf("a row of %d has errors", n)
		}
		if tau := a.tauB(); tau.Defined() != (n > 1) {
			t.Errorf("a row of %d has τ %+v", n, tau)
		}
	}
}
