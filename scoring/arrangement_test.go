package scoring

import (
	"math"
	"strconv"
	"strings"
	"testing"
)

func isNear(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g within %g", what, got, want, tolerance)
	}
}

func arrange(t *testing.T, order ...int) Arrangement {
	t.Helper()
	a, err := NewArrangement(order)
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

// Place errors and totals by hand.
func TestTotalErrorScore(t *testing.T) {
	for _, c := range []struct {
		order []int
		caps  []int
		want  int
	}{
		{upTo(10), []int{2, 2, 2, 2, 2, 2, 2, 2, 2, 2}, 0},
		{[]int{1, 2, 4, 3, 5, 6, 7, 8, 9, 10}, []int{2, 3, 3, 3, 3, 2, 2, 2, 2, 2}, 4},
		{[]int{1, 3, 2, 5, 4, 6, 10, 8, 9, 7}, []int{3, 3, 4, 4, 3, 6, 6, 3, 3, 6}, 21},
	} {
		a := arrange(t, c.order...)
		for i, e := range a.PlaceErrors() {
			if e != c.caps[i] {
				t.Errorf("%v: place %d has error %d, want %d", c.order, i+1, e, c.caps[i])
			}
		}
		if got := a.TotalErrorScore(); got != c.want {
			t.Errorf("%v: total error %d, want %d", c.order, got, c.want)
		}
	}
	adjacent, apart := upTo(85), upTo(85)
	adjacent[9], adjacent[10] = 11, 10
	apart[9], apart[11] = 12, 10
	if got := arrange(t, adjacent...).CircularErrorScore(); got != 4 {
		t.Errorf("one adjacent swap in a circle: %d, want 4", got)
	}
	if got := arrange(t, apart...).CircularErrorScore(); got != 8 {
		t.Errorf("two caps two places apart: %d, want 8", got)
	}
}

// The worked order of 85 caps in the help of R's CVD (exampleFM100), total error 132.
func TestWorkedOrderOf85(t *testing.T) {
	const order = `85 1 2 3 4 6 5 7 9 8 10 11 12 13 15 14 17 16 19 18 21 20 22 23 24 25 26 27 28 30 29 31 32 33 34 35 36 37 38
40 39 42 41 43 44 45 47 46 48 49 51 50 53 56 55 52 54 57 59 58 62 61 63 60 66 64 67 69 71 68 70 65 72 73 74 75 77 76 78 79 80 82 81 84 83`
	var laid []int
	for _, f := range strings.Fields(order) {
		n, err := strconv.Atoi(f)
		if err != nil {
			t.Fatal(err)
		}
		laid = append(laid, n)
	}
	if got := arrange(t, laid...).CircularErrorScore(); got != 132 {
		t.Errorf("total error %d, want 132", got)
	}
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
		isNear(t, "τ", a.TauB().Value, c.tau, 1e-10)
		if got := a.Inversions(); got != c.inversions {
			t.Errorf("%v: %d inversions, want %d", c.order, got, c.inversions)
		}
		n := float64(len(c.order))
		isNear(t, "inversions from τ", n*(n-1)*(1-a.TauB().Value)/4, float64(c.inversions), 1e-9)
	}
}

// A walk over a line: 1 2 4 3 5 goes 1+2+1+2 = 6 instead of 4.
func TestExcessPath(t *testing.T) {
	line := func(i, j int) float64 { return math.Abs(float64(i - j)) }
	isNear(t, "excess", arrange(t, 1, 2, 4, 3, 5).ExcessPath(line).Value, .5, 1e-12)
	isNear(t, "excess of the right order", arrange(t, upTo(6)...).ExcessPath(line).Value, 0, 1e-12)
	isNear(t, "excess of the reversed order", arrange(t, 3, 2, 1).ExcessPath(line).Value, 0, 1e-12)
	for name, e := range map[string]Estimate{
		"equal things": arrange(t, 2, 1, 3).ExcessPath(func(int, int) float64 { return 0 }),
		"one thing":    arrange(t, 1).ExcessPath(line),
		"no number":    arrange(t, 2, 1).ExcessPath(func(int, int) float64 { return math.NaN() }),
	} {
		if e.Defined() || len(e.Warnings) == 0 {
			t.Errorf("%s: %+v", name, e)
		}
	}
}

func TestImpossibleArrangementsAreRefused(t *testing.T) {
	for _, order := range [][]int{{0, 1}, {1, 3}, {1, 1}, {2}} {
		if _, err := NewArrangement(order); err == nil {
			t.Errorf("%v passes for an arrangement", order)
		}
	}
	for _, n := range []int{0, 1, 2} {
		a := arrange(t, upTo(n)...)
		if a.TotalErrorScore() != 0 || a.CircularErrorScore() != 0 || a.Inversions() != 0 {
			t.Errorf("a row of %d has errors", n)
		}
		if tau := a.TauB(); tau.Defined() != (n > 1) {
			t.Errorf("a row of %d has τ %+v", n, tau)
		}
	}
}
