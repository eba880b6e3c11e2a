package adaptive

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// trace runs a staircase over the answers and returns the levels shown.
func trace(t *testing.T, c StaircaseConfig, responses []bool) ([]float64, *Staircase) {
	t.Helper()
	s, err := NewStaircase(c)
	if err != nil {
		t.Fatal(err)
	}
	var levels []float64
	for _, yes := range responses {
		if s.Done() {
			break
		}
		x := s.Next()
		levels = append(levels, x)
		if err := s.Take(x, yes); err != nil {
			t.Fatal(err)
		}
	}
	return levels, s
}

func sameLevels(t *testing.T, what string, got, want []float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d levels, want %d", what, len(got), len(want))
	}
	for i := range want {
		if math.Abs(got[i]-want[i]) > 1e-9 {
			t.Errorf("%s: trial %d at %v, want %v", what, i, got[i], want[i])
		}
	}
}

func reversalTrials(s *Staircase) []int {
	var trials []int
	for _, r := range s.reversals {
		trials = append(trials, r.Trial)
	}
	return trials
}

func repeat(pattern string, n int) []bool {
	a := answers(pattern)
	var out []bool
	for i := range n {
		out = append(out, a[i%len(a)])
	}
	return out
}

// The expected levels printed in psychopy's tests (test_StairHandlers.py): 1-up/1-down
// until the first reversal, then 1-up/3-down.
func TestStaircaseWithInitialRule(t *testing.T) {
	c := Transformed(nil, 0.8, 3, Stop{Trials: 20, AtLeast: 20, Reversals: 4}, 0.1, 0.01, 0.001)
	c.Initial, c.Highest = true, 1
	got, s := trace(t, c, repeat("CCCCWWWW", 40))
	sameLevels(t, "1-up/3-down", got, []float64{0.8, 0.7, 0.6, 0.5, 0.4, 0.41, 0.42, 0.43, 0.44, 0.44, 0.44, 0.439,
		0.439, 0.44, 0.441, 0.442, 0.443, 0.443, 0.443, 0.442})
	if r := reversalTrials(s); !slices.Equal(r, []int{4, 10, 12, 18}) {
		t.Errorf("reversals in trials %v", r)
	}
	got, s = trace(t, Transformed(nil, 0.8, 1, Stop{Trials: 10}, 0.1), repeat("CCW", 40))
	sameLevels(t, "1-up/1-down", got, []float64{0.8, 0.7, 0.6, 0.7, 0.6, 0.5, 0.6, 0.5, 0.4, 0.5})
	if r := reversalTrials(s); !slices.Equal(r, []int{2, 3, 5, 6, 8, 9}) {
		t.Errorf("reversals in trials %v", r)
	}
}

// Traces worked out by hand from the rules, outside this project.
func TestStaircaseTraces(t *testing.T) {
	responses := answers("CCCCC W CC W CCCC WW CCCC W")
	got, s := trace(t, Transformed(nil, 4, 2, Stop{Trials: 20}, 0.5), responses)
	sameLevels(t, "1-up/2-down", got, []float64{4, 4, 3.5, 3.5, 3, 3, 3.5, 3.5, 3, 3.5, 3.5, 3, 3, 2.5, 3, 3.5, 3.5, 3, 3, 2.5})
	if r := reversalTrials(s); !slices.Equal(r, []int{5, 7, 8, 10, 13, 16, 19}) {
		t.Errorf("reversals in trials %v", r)
	}
	var levels []float64
	for _, r := range s.reversals {
		levels = append(levels, r.Level)
	}
	sameLevels(t, "reversals", levels, []float64{3, 3.5, 3, 3.5, 2.5, 3.5, 2.5})
	mean, sd, n, ok := s.ReversalMean(3)
	if !ok || n != 4 {
		t.Fatalf("mean of %d reversals, %v", n, ok)
	}
	near(t, "mean of the last four", mean, 3.0, 1e-12)
	near(t, "their sd", sd, math.Sqrt(1.0/3), 1e-12)
	if _, _, n, _ := s.ReversalMean(2); n != 4 {
		t.Errorf("of five reversals %d are averaged, want an even number", n)
	}
	if _, _, _, ok := s.ReversalMean(6); ok {
		t.Error("one reversal has a mean")
	}

	got, s = trace(t, Transformed(nil, 4, 3, Stop{Trials: 20}, 0.5), responses)
	sameLevels(t, "1-up/3-down", got, []float64{4, 4, 4, 3.5, 3.5, 3.5, 4, 4, 4, 4.5, 4.5, 4.5, 4, 4, 4.5, 5, 5, 5, 4.5, 4.5})
	if r := reversalTrials(s); !slices.Equal(r, []int{5, 11, 13, 17, 19}) {
		t.Errorf("reversals in trials %v", r)
	}

	c, err := Weighted(nil, 4, 0.75, 0.25, Stop{Trials: 20})
	if err != nil {
		t.Fatal(err)
	}
	got, _ = trace(t, c, responses)
	sameLevels(t, "weighted", got, []float64{4, 3.75, 3.5, 3.25, 3, 2.75, 3.5, 3.25, 3, 3.75, 3.5, 3.25, 3, 2.75, 3.5, 4.25, 4, 3.75, 3.5, 3.25})
}

// Levitt (1971): pⁿ = ½; Kaernbach (1991): p/(1 − p); García-Pérez (1998): printed
// percentages.
func TestStaircaseTargets(t *testing.T) {
	for n, want := range []float64{0.5, 0.707107, 0.793701, 0.840896, 0.870551, 0.890899} {
		p, ok := Transformed(nil, 1, n+1, Stop{Trials: 1}, 0.1).target()
		if !ok {
			t.Errorf("1-up/%d-down has no target", n+1)
		}
		near(t, "transformed", p, want, 5.1e-7)
	}
	two := Transformed(nil, 1, 1, Stop{Trials: 1}, 0.1)
	two.UpAfter = 2
	p, _ := two.target()
	near(t, "2-up/1-down", p, 0.292893, 5.1e-7)
	two.DownAfter = 2
	if _, ok := two.target(); ok {
		t.Error("2-up/2-down has a published target")
	}
	for p, ratio := range map[float64]float64{0.60: 1.5, 0.70: 2.3333, 0.75: 3, 0.80: 4, 0.90: 9, 0.25: 1.0 / 3} {
		c, err := Weighted(nil, 1, p, 0.1, Stop{Trials: 1})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "S_up/S_down", c.Steps[0].Up/c.Steps[0].Down, ratio, 5e-5)
		near(t, "smaller step", min(c.Steps[0].Up, c.Steps[0].Down), 0.1, 1e-12)
		got, _ := c.target()
		near(t, "target", got, p, 1e-12)
	}
	// His ratios of down to up, quoted from memory; the percentages are the printed ones.
	for n, c := range []struct{ ratio, want float64 }{{0.2845, 77.85}, {0.5488, 80.35}, {0.7393, 83.15}, {0.8415, 85.84}} {
		unequal := Transformed(nil, 1, n+1, Stop{Trials: 1}, 0.2)
		unequal.Steps = []Step{{Up: 0.2, Down: 0.2 * c.ratio}}
		p, _ := unequal.target()
		near(t, "unequal steps", 100*p, c.want, 0.005)
	}
}

// Long runs of an observer p(x) = .5 + .5/(1 + exp(−(x − 3)/.5)) on levels 0 to 8
// in steps of .05: the mean level and the proportion right there, computed outside
// this project from the stationary distribution.
func TestStaircaseStationaryLevel(t *testing.T) {
	observer := func(x float64) float64 { return 0.5 + 0.5/(1+math.Exp(-(x-3)/0.5)) }
	var levels Levels
	for i := range 161 {
		levels = append(levels, float64(i)*0.05)
	}
	const trials = 400_000
	weighted, err := Weighted(levels, 3, 0.75, 0.05, Stop{Trials: trials})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name       string
		config     StaircaseConfig
		level, psi float64
	}{
		{"1-up/2-down", Transformed(levels, 3, 2, Stop{Trials: trials}, 0.05), 2.81908, 0.70526},
		{"1-up/3-down", Transformed(levels, 3, 3, Stop{Trials: trials}, 0.05), 3.18005, 0.79453},
		{"weighted 3:1", weighted, 2.99917, 0.74979},
	} {
		rng := rand.New(rand.NewPCG(11, 7))
		s, err := NewStaircase(c.config)
		if err != nil {
			t.Fatal(err)
		}
		var sum float64
		for !s.Done() {
			x := s.Next()
			p := observer(x)
			sum += x
			if err := s.Take(x, rng.Float64() < p); err != nil {
				t.Fatal(err)
			}
		}
		// The mean of a correlated walk: its standard error here is about 0.003.
		near(t, c.name+" mean level", sum/trials, c.level, 0.01)
		near(t, c.name+" ψ at it", observer(sum/trials), c.psi, 0.004)
	}
}

func TestStaircaseSnapsAndClamps(t *testing.T) {
	levels := Levels{0.31, 0.52, 0.8, 1.3, 2.4}
	c := Transformed(levels, 2, 1, Stop{Trials: 100}, 0.3)
	got, s := trace(t, c, answers("CCCCCCCCW"))
	for _, x := range got {
		if !slices.Contains(levels, x) {
			t.Errorf("%v cannot be shown", x)
		}
	}
	if got[0] != 2.4 || s.clamps != 3 {
		t.Errorf("starts at %v with %d clamps, want 2.4 and 3", got[0], s.clamps)
	}
	// A step smaller than the gaps still moves.
	small, _ := trace(t, Transformed(levels, 2.4, 1, Stop{Trials: 100}, 0.05), repeat("C", 60))
	if small[59] != 0.31 {
		t.Errorf("small steps stick at %v", small[59])
	}
	c.Start = 99
	_, s = trace(t, c, nil)
	if s.Next() != 2.4 || s.clamps != 1 {
		t.Errorf("a start out of range shows %v, %d clamps", s.Next(), s.clamps)
	}
}

func TestStaircaseByFactors(t *testing.T) {
	c := Transformed(nil, 4, 1, Stop{Trials: 50, Reversals: 3}, 2, math.Sqrt2)
	c.Ratio, c.Lowest, c.Highest = true, 0.1, 8
	got, s := trace(t, c, answers("CCWCW"))
	sameLevels(t, "factors", got, []float64{4, 2, 1, math.Sqrt2, 1})
	if !s.Done() {
		t.Error("not done after three reversals")
	}
}

func TestMalformedStaircases(t *testing.T) {
	good := Transformed(Levels{0.3, 1}, 1, 2, Stop{Trials: 10}, 0.1)
	for name, spoil := range map[string]func(*StaircaseConfig){
		"no steps":     func(c *StaircaseConfig) { c.Steps = nil },
		"zero step":    func(c *StaircaseConfig) { c.Steps = []Step{{0, 1}} },
		"factor 1":     func(c *StaircaseConfig) { c.Ratio, c.Steps = true, []Step{{1, 2}} },
		"factors at 0": func(c *StaircaseConfig) { c.Ratio, c.Steps, c.Levels = true, []Step{{2, 2}}, Levels{0, 1} },
		"start":        func(c *StaircaseConfig) { c.Start = math.NaN() },
		"up after 0":   func(c *StaircaseConfig) { c.UpAfter = 0 },
		"endless":      func(c *StaircaseConfig) { c.Stop.Trials = 0 },
		"limits":       func(c *StaircaseConfig) { c.Levels, c.Lowest, c.Highest = nil, 2, 1 },
	} {
		c := good
		spoil(&c)
		if _, err := NewStaircase(c); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := Weighted(nil, 1, 1, 0.1, Stop{Trials: 1}); err == nil {
		t.Error("a staircase to 100 %")
	}
	s, err := NewStaircase(good)
	if err != nil {
		t.Fatal(err)
	}
	if s.Take(math.NaN(), true) == nil || s.Trials() != 0 {
		t.Error("a level that is no number is taken")
	}
}

// target is the proportion of positive answers at which the staircase with its
// last steps converges: (1 + r)^(−1/n) for 1-up/n-down with r = Δdown/Δup, and
// 1 − (1 + 1/r)^(−1/m) for m-up/1-down, the proportion at which the expected moves up
// and down cancel. With factors for steps, r is the ratio of their logarithms. ok
// is false for other rules.
func (c StaircaseConfig) target() (p float64, ok bool) {
	if len(c.Steps) == 0 {
		return math.NaN(), false
	}
	s := c.Steps[len(c.Steps)-1]
	if c.Ratio {
		s = Step{Up: math.Log(s.Up), Down: math.Log(s.Down)}
	}
	r := s.Down / s.Up
	switch {
	case c.UpAfter == 1:
		return math.Pow(1+r, -1/float64(c.DownAfter)), true
	case c.DownAfter == 1:
		return 1 - math.Pow(1+1/r, -1/float64(c.UpAfter)), true
	}
	return math.NaN(), false
}
