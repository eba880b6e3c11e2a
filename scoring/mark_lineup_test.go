package scoring

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
)

func measuresOf(m Mark) map[string]float64 {
	found := map[string]float64{}
	for _, x := range m.Measures {
		found[x.Name] = x.Value
	}
	return found
}

// Five greys a step of code 10 apart, laid as said: marks by hand.
func TestMarkLineUp(t *testing.T) {
	trial := exercises.Trial{Kind: exercises.LineUp, Part: "value", Target: colour.Grey(180)}
	for _, code := range []uint8{180, 200, 160, 190, 170} { // right order: 1 3 0 4 2
		trial.Patches = append(trial.Patches, exercises.Patch{Role: "patch", Colour: colour.Grey(code)})
	}
	for _, c := range []struct {
		order      []int
		tau        float64
		inversions float64
		right      bool
		why        string
	}{
		{[]int{1, 3, 0, 4, 2}, 1, 0, true, "all 5 patches stand in order"},
		{[]int{1, 3, 4, 0, 2}, 0.8, 1, false, "1 of 10 pairs stands"}, // ten codes are about 3 ΔE00
		{[]int{3, 0, 4, 2, 1}, 0.2, 4, false, "4 of 10 pairs stand"},
		{[]int{2, 4, 0, 3, 1}, -1, 10, false, "the other way round"},
	} {
		m := markOf(trial, exercises.Answer{Order: c.order}, nil)
		if len(m.Checks) != 1 || m.Checks[0].Name != "order of value" || m.Checks[0].Right != c.right || !strings.HasPrefix(strings.TrimPrefix(m.Checks[0].Why, "the row stands "), c.why) {
			t.Errorf("%v: %+v", c.order, m.Checks)
		}
		got := measuresOf(m)
		isNear(t, "tau-b", got["tau-b, value"], c.tau, 1e-12)
		isNear(t, "inversions", got["inversions, value"], c.inversions, 0)
		// The excess path again, from the colours in the order laid.
		path := func(order []int) (sum float64) {
			for i := 1; i < len(order); i++ {
				sum += colour.DeltaE00(trial.Patches[order[i-1]].Colour.Lab(), trial.Patches[order[i]].Colour.Lab())
			}
			return sum
		}
		isNear(t, "excess path", got["excess path, value"], 100*(path(c.order)/path([]int{1, 3, 0, 4, 2})-1), 1e-9)
		if m.HasColour || m.Free != (exercises.Axes{}) {
			t.Errorf("%v: an order says nothing of biases: %+v", c.order, m)
		}
	}
	for name, order := range map[string][]int{"none": nil, "short": {0, 1}, "twice": {0, 1, 2, 3, 3}, "outside": {0, 1, 2, 3, 5}, "below": {-1, 1, 2, 3, 4}} {
		if m := markOf(trial, exercises.Answer{Order: order}, nil); len(m.Checks)+len(m.Measures) != 0 {
			t.Errorf("%s was marked: %+v", name, m)
		}
	}
	trial.Part = "gloss"
	if m := markOf(trial, exercises.Answer{Order: []int{1, 3, 0, 4, 2}}, nil); len(m.Checks)+len(m.Measures) != 0 {
		t.Errorf("an unknown attribute was marked: %+v", m)
	}
}

// A swap of neighbours within acceptability leaves the order right; equal patches
// are never the wrong way round.
func TestMarkLineUpForgivesWhatNobodyMinds(t *testing.T) {
	trial := exercises.Trial{Kind: exercises.LineUp, Part: "value", Target: colour.Grey(180)}
	for _, code := range []uint8{200, 197, 180, 180} {
		trial.Patches = append(trial.Patches, exercises.Patch{Role: "patch", Colour: colour.Grey(code)})
	}
	m := markOf(trial, exercises.Answer{Order: []int{1, 0, 3, 2}}, nil)
	if len(m.Checks) != 1 || !m.Checks[0].Right || measuresOf(m)["inversions, value"] != 1 || !strings.Contains(m.Checks[0].Why, "within acceptability") {
		t.Errorf("%+v", m)
	}
}

// What noise does to an order is known exactly: two patches that lie d apart are
// laid the wrong way round with probability Φ(−d/(σ√2)), so the expected number of
// inversions is the sum over pairs, and tau follows from it. The marks of many
// drills must agree with that, attribute by attribute.
func TestLineUpNoiseShowsAsItMust(t *testing.T) {
	for _, attribute := range []string{"value", "chroma", "hue"} {
		for _, who := range []observer.Observer{{Noise: 0.5}, {Noise: 1.2}} {
			s := exercises.Setup{Kind: exercises.LineUp, Attribute: attribute, Count: 24, Seed: 5}
			run, err := exercises.NewRun(s)
			if err != nil {
				t.Fatal(err)
			}
			kind, _ := exercises.ByID(s.Kind)
			rng := rand.New(rand.NewPCG(6, 7))
			const again = 30
			var n, expected, got, square, tauExpected, tau float64
			for {
				trial, ok := run.Next()
				if !ok {
					break
				}
				row := trial.PatchesOf("patch")
				wrong, pairs := 0.0, 0.0
				for i, a := range row {
					for _, b := range row[i+1:] {
						d := colour.Compare(a.Lab(), b.Lab(), colour.Unit)
						apart := map[string]float64{"value": d.L, "chroma": d.C, "hue": d.H}[attribute]
						wrong += distuv.UnitNormal.CDF(-math.Abs(apart) / (who.Noise * math.Sqrt2))
						pairs++
					}
				}
				for range again {
					a := kind.Simulate(trial, s, who, rng)
					m := measuresOf(markOf(trial, a, nil))
					x := m["inversions, "+attribute] - wrong
					n, expected, got, square = n+1, expected+wrong, got+m["inversions, "+attribute], square+x*x
					tauExpected, tau = tauExpected+1-2*wrong/pairs, tau+m["tau-b, "+attribute]
				}
				run.Take(trial, exercises.Answer{})
			}
			// Four standard errors, and one per cent for the curvature of CIEDE2000
			// between patches that lie far apart.
			off := 4*math.Sqrt(square/n/n) + 0.01*expected/n
			t.Logf("%s, noise %.1f: %.3f inversions a row, %.3f expected; tau-b %.4f, %.4f expected", attribute, who.Noise, got/n, expected/n, tau/n, tauExpected/n)
			if math.Abs(got-expected)/n > off {
				t.Errorf("%s, noise %.1f: %.3f inversions a row instead of %.3f", attribute, who.Noise, got/n, expected/n)
			}
			if math.Abs(tau-tauExpected)/n > off/5 { // a row has at least 10 pairs, and τ is 1 − 2·inversions/pairs
				t.Errorf("%s, noise %.1f: tau-b %.3f instead of %.3f", attribute, who.Noise, tau/n, tauExpected/n)
			}
		}
	}
}

// An observer without errors makes no mistake, and a lapse is any order at all: half of the pairs.
func TestLineUpTrueEyeAndGuessing(t *testing.T) {
	s := exercises.Setup{Kind: exercises.LineUp, Count: 300, Seed: 2, Options: map[string]string{exercises.OptionPatches: "5"}}
	kind, _ := exercises.ByID(s.Kind)
	for _, c := range []struct {
		who observer.Observer
		tau float64
	}{{observer.Observer{BiasL: 1, BiasC: 1, BiasH: -1}, 1}, {observer.Observer{Lapse: 1}, 0}} {
		run, err := exercises.NewRun(s)
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(1, 2))
		sum := 0.0
		for {
			trial, ok := run.Next()
			if !ok {
				break
			}
			m := markOf(trial, kind.Simulate(trial, s, c.who, rng), nil)
			sum += m.Measures[0].Value
			run.Take(trial, exercises.Answer{})
		}
		// The variance of τ of a random order is 2(2n+5)/(9n(n−1)), Kendall 1938.
		if got, se := sum/300, math.Sqrt(2*15./(9*5*4)/300); math.Abs(got-c.tau) > 4*se*(1-c.tau) {
			t.Errorf("%+v: mean tau-b %.3f instead of %g", c.who, got, c.tau)
		}
	}
}
