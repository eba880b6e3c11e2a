package trend

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"shadedrill/scoring"
)

// What cannot be computed is said in words, whatever goes in; a number is never NaN
// and an interval always contains its value.
func TestOddInputIsAnsweredInWords(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	inputs := map[string][]float64{
		"nothing":         {},
		"one":             {1.5},
		"two":             {1, 2},
		"two equal":       {2, 2},
		"three":           {1, 2, 4},
		"all equal":       {3, 3, 3, 3, 3, 3, 3, 3},
		"all zero":        {0, 0, 0, 0, 0, 0},
		"mostly equal":    {3, 3, 3, 3, 3, 3, 3, 9},
		"not a number":    {1, nan, 2, 3, 4, 5, 6},
		"infinite":        {1, 2, inf, 3, 4, 5, 6},
		"negative":        {-1, -2, -3, -2, -1, 0, 5, 7},
		"huge and little": {1e300, -1e300, 1e-300, 5, 1e300, 2, 3},
	}
	statistics := map[string]func([]float64, float64) scoring.Estimate{
		"bias":               Bias,
		"median":             Median,
		"bias over sittings": func(x []float64, l float64) scoring.Estimate { return biasOverSittings([][]float64{x, nil, x}, l) },
		"one sitting":        func(x []float64, l float64) scoring.Estimate { return biasOverSittings([][]float64{x}, l) },
		"single attempts": func(x []float64, l float64) scoring.Estimate {
			var s [][]float64
			for _, v := range x {
				s = append(s, []float64{v})
			}
			return biasOverSittings(s, l)
		},
		"slope":         func(x []float64, l float64) scoring.Estimate { return TheilSen(nil, x, l).Slope },
		"intercept":     func(x []float64, l float64) scoring.Estimate { return TheilSen(nil, x, l).Intercept },
		"slope at x":    func(x []float64, l float64) scoring.Estimate { return TheilSen(x, x, l).Slope },
		"tau-a":         func(x []float64, l float64) scoring.Estimate { return MannKendall(x).TauA },
		"tau-b":         func(x []float64, l float64) scoring.Estimate { return MannKendall(x).TauB },
		"level":         func(x []float64, l float64) scoring.Estimate { return CurrentLevel(x, 0.3, l) },
		"level, λ 0":    func(x []float64, l float64) scoring.Estimate { return CurrentLevel(x, 0, l) },
		"learning rate": func(x []float64, l float64) scoring.Estimate { return LearningRate(nil, x, l).PerDoubling },
		"rate at x":     func(x []float64, l float64) scoring.Estimate { return LearningRate(x, x, l).Scale },
		"studentised": func(x []float64, l float64) scoring.Estimate {
			return BootstrapT(len(x), 50, rand.New(rand.NewPCG(1, 1)), meanWithError(x), l)
		},
		"no chance": func(x []float64, l float64) scoring.Estimate {
			return BootstrapT(len(x), 50, nil, meanWithError(x), l)
		},
	}
	for statistic, compute := range statistics {
		for input, x := range inputs {
			for _, level := range []float64{0.95, 0.5, 0.001, 0, 1, nan} {
				e := compute(x, level)
				checkSane(t, statistic+" of "+input, e)
			}
		}
	}
	for _, level := range []float64{0, 1, -1, nan} {
		if Share(3, 5, level).Defined() {
			t.Errorf("a share at level %v", level)
		}
	}
	for _, c := range [][2]int{{0, 0}, {1, 0}, {-1, 3}, {4, 3}, {0, -3}} {
		if Share(c[0], c[1], 0.95).Defined() {
			t.Errorf("%d of %d is a share", c[0], c[1])
		}
	}
}

func checkSane(t *testing.T, what string, e scoring.Estimate) {
	t.Helper()
	if !e.Defined() {
		if len(e.Warnings) == 0 || e.Warnings[0] == "" {
			t.Errorf("%s: undefined without a word", what)
		}
		return
	}
	if e.Level == 0 && len(e.Warnings) == 0 && !strings.HasPrefix(what, "tau") && !strings.HasPrefix(what, "intercept") {
		t.Errorf("%s: no interval and no word why", what)
	}
	if e.Level >= 0.5 && !(e.Lo <= e.Value && e.Value <= e.Hi) {
		t.Errorf("%s: %g lies outside its interval %g to %g", what, e.Value, e.Lo, e.Hi)
	}
}

func TestFewAttemptsAreSaid(t *testing.T) {
	for n, want := range map[int]string{1: "at least 6 attempts", 5: "at least 6 attempts"} {
		e := Median(ordinals(n), 0.95)
		if e.HasInterval() || len(e.Warnings) != 1 || !strings.Contains(e.Warnings[0], want) {
			t.Errorf("median of %d: %+v", n, e)
		}
	}
	if e := Median(ordinals(6), 0.95); !e.HasInterval() {
		t.Errorf("median of 6: %+v", e)
	}
	if e := Median(ordinals(7), 0.99); e.HasInterval() || !strings.Contains(e.Warnings[0], "at least 8") {
		t.Errorf("median of 7 at 99 %%: %+v", e)
	}
	if e := TheilSen(nil, []float64{1, 2, 2.5, 4}, 0.95).Slope; e.HasInterval() || !e.Defined() {
		t.Errorf("slope of 4: %+v", e)
	}
	if e := TheilSen(nil, []float64{1, 2, 2.5, 4, 5}, 0.95).Slope; !e.HasInterval() {
		t.Errorf("slope of 5: %+v", e)
	}
	if e := biasOverSittings([][]float64{{1, 2, 3}}, 0.95); len(e.Warnings) == 0 {
		t.Error("one sitting passes for many")
	}
	if m := MannKendall([]float64{1, 2, 3}); len(m.TauA.Warnings) == 0 || m.P < 0.3 {
		t.Errorf("a trend from 3 values: %+v", m)
	}
}

func TestNeighboursThatResembleEachOtherAreSaid(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	y := make([]float64, 60)
	for i := range y {
		y[i] = rng.NormFloat64()
		if i > 0 {
			y[i] += 0.8 * y[i-1]
		}
	}
	if e := TheilSen(nil, y, 0.95).Slope; len(e.Warnings) == 0 {
		t.Error("a wandering series is taken as independent")
	}
	warned := 0
	for range 400 {
		if e := TheilSen(nil, sample(rng, 30, (*rand.Rand).NormFloat64), 0.95).Slope; len(e.Warnings) > 0 {
			warned++
		}
	}
	if warned > 20 {
		t.Errorf("%d of 400 independent series are warned about", warned)
	}
}

// The level follows a jump, and without one it is the mean.
func TestCurrentLevelFollows(t *testing.T) {
	x := append(repeat(4, 10), repeat(2, 10)...)
	if e := CurrentLevel(x, 0.3, 0.95); math.Abs(e.Value-2) > 0.06 {
		t.Errorf("level %g after a jump from 4 to 2", e.Value)
	}
	if e := CurrentLevel([]float64{1, 2, 3, 6}, 1e-9, 0.95); math.Abs(e.Value-3) > 1e-6 {
		t.Errorf("level %g with hardly any forgetting, want the mean 3", e.Value)
	}
}

func repeat(v float64, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = v
	}
	return x
}

// An interval at one place must not depend on where the clock starts.
func TestSlopeOfTimesInMilliseconds(t *testing.T) {
	y := []float64{4.2, 3.9, 4.1, 3.5, 3.6, 3.1, 3.3, 2.8, 2.9, 2.5}
	x := make([]float64, len(y))
	const week = 7 * 864e5
	for i := range x {
		x[i] = 1.79e12 + week*float64(i)
	}
	got, want := TheilSen(x, y, 0.95), TheilSen(nil, y, 0.95)
	near(t, "slope a week", got.Slope.Value*week, want.Slope.Value, 1e-9)
	nearInterval(t, "slope", got.Slope, want.Slope.Lo/week, want.Slope.Hi/week, 1e-18)
}

// Without its interval a median is the same.
func TestMiddleIsTheMedian(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for n := range 60 {
		xs := make([]float64, n)
		for i := range xs {
			xs[i] = math.Round(20*rng.NormFloat64()) / 4
		}
		if got, want := Middle(xs), Median(xs, 0.95).Value; got != want && !(math.IsNaN(got) && math.IsNaN(want)) {
			t.Errorf("%v: %v, not %v", xs, got, want)
		}
	}
	if m := Middle([]float64{1, math.NaN(), 2}); !math.IsNaN(m) {
		t.Errorf("with NaN: %v", m)
	}
}

// The median of numbers is that of bounds that lie beyond it, whichever way they are
// open; where the bounds decide, it is a bound; where they lie on both sides, nothing.
func TestMedianOfBounds(t *testing.T) {
	number := func(x float64) scoring.Estimate { return scoring.Interval(x, x-1, x+1, 0.95, 9) }
	var plain, far, near, upper, lower, both []scoring.Estimate
	var values []float64
	for i := range 21 {
		x := float64(i - 10)
		values = append(values, x)
		e := number(x)
		plain = append(plain, e, scoring.Undefined(0, "no attempts"))
		up, down := scoring.AtLeast(x, 0.95, 9), scoring.AtMost(x, 0.95, 9)
		pick := func(open bool, bound scoring.Estimate) scoring.Estimate {
			if open {
				return bound
			}
			return e
		}
		far, near = append(far, pick(x > 8, up)), append(near, pick(x < -8, down))
		upper, lower = append(upper, pick(x > 2, up)), append(lower, pick(x < -2, down))
		switch {
		case x > 2:
			both = append(both, up)
		default:
			both = append(both, pick(x < -2, down))
		}
	}
	want := Median(values, 0.95)
	for name, list := range map[string][]scoring.Estimate{"numbers": plain, "bounds far above": far, "bounds far below": near} {
		if e := MedianOf(list, 0.95); e.Value != want.Value || e.Lo != want.Lo || e.Hi != want.Hi || e.N != 21 {
			t.Errorf("%s: %+v, want %+v", name, e, want)
		}
	}
	if e := MedianOf(upper, 0.95); e.Open() != 1 || e.Value != want.Lo {
		t.Errorf("bounds above: %+v", e)
	}
	if e := MedianOf(lower, 0.95); e.Open() != -1 || e.Value != want.Hi {
		t.Errorf("bounds below: %+v", e)
	}
	if e := MedianOf(both, 0.95); e.Defined() || e.N != 21 {
		t.Errorf("bounds on both sides: %+v", e)
	}
	if e := MedianOf(plain[:6], 0.95); e.HasInterval() || e.Value != -9 {
		t.Errorf("of three: %+v", e)
	}
	if e := MedianOf(upper[19:], 0.95); e.Defined() {
		t.Errorf("of two bounds: %+v", e)
	}
	if e := MedianOf(nil, 0.95); e.Defined() {
		t.Errorf("of nobody: %+v", e)
	}
}
