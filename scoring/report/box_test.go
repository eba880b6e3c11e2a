package report

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// Quartiles of 1..10 as R's quantile gives them by default (type 7, its own
// help page): 3.25, 5.5, 7.75. The rest by hand.
func TestBoxNumbers(t *testing.T) {
	nan := math.NaN()
	oneToTen := []float64{10, 9, 8, 7, 6, 5, 4, 3, 2, 1}
	for _, c := range []struct {
		name   string
		values []float64
		want   [5]float64
		beyond []float64
	}{
		{"one to ten", oneToTen, [5]float64{1, 3.25, 5.5, 7.75, 10}, nil},
		// Quartiles 3.5 and 8.5: the whiskers may reach to −4 and 16.
		{"one far above", append(slices.Clone(oneToTen), 30), [5]float64{1, 3.5, 6, 8.5, 10}, []float64{30}},
		{"both ends, the farthest kept", append(slices.Clone(oneToTen), 30, -40, 31, -19), [5]float64{1, 2.25, 5.5, 8.75, 10}, []float64{-40, 31}},
		{"nothing", []float64{nan, math.Inf(1)}, [5]float64{nan, nan, nan, nan, nan}, nil},
		{"one", []float64{2}, [5]float64{2, 2, 2, 2, 2}, nil},
		{"equal", []float64{2, 2, 2, nan}, [5]float64{2, 2, 2, 2, 2}, nil},
	} {
		b := BoxNumbersOf(c.values, 2)
		got := [5]float64{b.Low, b.Q1, b.Median, b.Q3, b.High}
		for i := range got {
			if math.Abs(got[i]-c.want[i]) > 1e-12 || math.IsNaN(got[i]) != math.IsNaN(c.want[i]) {
				t.Errorf("%s: %v instead of %v", c.name, got, c.want)
				break
			}
		}
		if !slices.Equal(b.Beyond, c.beyond) {
			t.Errorf("%s: beyond the whiskers %v instead of %v", c.name, b.Beyond, c.beyond)
		}
	}
}

// Whatever the order of the values, the box is that of the values in order.
func TestBoxOfAnyOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for n := 1; n < 200; n++ {
		values := make([]float64, n)
		for i := range values {
			values[i] = math.Round(10*rng.NormFloat64()*rng.ExpFloat64()) / 4
		}
		b := BoxNumbersOf(values, n)
		slices.Sort(values)
		at := func(p float64) float64 {
			h := p * float64(n-1)
			i := int(h)
			return values[i] + (h-float64(i))*(values[min(i+1, n-1)]-values[i])
		}
		if b.Q1 != at(0.25) || b.Median != at(0.5) || b.Q3 != at(0.75) {
			t.Errorf("%v: %+v", values, b)
		}
		within := slices.DeleteFunc(slices.Clone(values), func(x float64) bool { return slices.Contains(b.Beyond, x) })
		reach := 1.5 * (b.Q3 - b.Q1)
		if low, high := within[0], within[len(within)-1]; len(within)+len(b.Beyond) != n ||
			b.Low != min(low, b.Q1) || b.High != max(high, b.Q3) || low < b.Q1-reach || high > b.Q3+reach ||
			slices.ContainsFunc(b.Beyond, func(x float64) bool { return x >= b.Q1-reach && x <= b.Q3+reach }) {
			t.Errorf("%v: whiskers %g to %g, beyond %v", values, b.Low, b.High, b.Beyond)
		}
	}
}

// What lies beyond the whiskers is drawn and fits on the axis.
func TestBoxShowsWhatLiesBeyond(t *testing.T) {
	b := BoxNumbersOf([]float64{1, 2, 3, 4, 5, 40}, 6)
	picture := SVG(Plot{Title: "x", XNames: []string{"a"}, Series: []Series{b.Series(0)}})
	if strings.Count(picture, "<circle") != 1 || !strings.Contains(picture, ">40<") {
		t.Errorf("a value of 40 beyond the box is not on the picture:\n%s", picture)
	}
}
