package scoring

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
)

// stockTrial is a crown beside teeth that lie so many ΔE00 lighter than it.
func stockTrial(t *testing.T, lighter ...float64) (exercises.Trial, []exercises.StockTooth) {
	t.Helper()
	crown, _ := colour.Lab{L: 72, A: 2, B: 20}.SRGB()
	trial := exercises.Trial{Kind: exercises.Combination, Target: crown}
	for _, e := range lighter {
		p := colour.Around(crown, e, colour.Lighter)
		if math.Abs(p.E-e) > 0.15 {
			t.Fatalf("no tooth %.1f lighter: %.2f", e, p.E)
		}
		trial.Patches = append(trial.Patches, exercises.Patch{Role: "stock 0 " + p.Sample.Lab().LCh().String(), Colour: p.Sample})
	}
	return trial, exercises.Stock(trial)
}

// The tooth is held against the best of the stock, the verdict against what that
// best one reaches, whatever was taken.
func TestMarkCombination(t *testing.T) {
	for _, c := range []struct {
		name           string
		lighter        []float64
		took           int
		said           string
		tooth, verdict bool
		strictness     float64
		points         int
	}{
		{"the best, blends", []float64{6, 0.4, 3}, 1, exercises.Blends, true, true, 0, 10},
		{"the best, too strict", []float64{6, 0.4, 3}, 1, exercises.Redo, true, false, 2, 10},
		{"the best, may stay", []float64{1.3, 6}, 0, exercises.Acceptable, true, true, 0, 10},
		{"the best, too lenient", []float64{1.3, 6}, 0, exercises.Blends, true, false, -1, 10},
		{"the best will not do", []float64{5, 2.6}, 1, exercises.Redo, true, true, 0, 10},
		{"the best will not do, and is let pass", []float64{5, 2.6}, 1, exercises.Acceptable, true, false, -1, 10},
		// The question is about the tooth taken: one slip is one mark.
		{"a poor one, refused", []float64{0.4, 4, 2.5}, 1, exercises.Redo, false, true, 0, 8},
		{"a poor one, let pass", []float64{0.4, 4}, 1, exercises.Blends, false, false, -2, 9},
		{"hardly farther than the best", []float64{2.6, 3.1}, 1, exercises.Redo, true, true, 0, 9},
	} {
		trial, stock := stockTrial(t, c.lighter...)
		m := markOf(trial, exercises.TakeStock(stock[c.took], c.said), nil)
		if len(m.Checks) != 2 || m.Checks[0].Right != c.tooth || m.Checks[1].Right != c.verdict {
			t.Errorf("%s: %+v", c.name, m.Checks)
			continue
		}
		if len(m.Measures) != 1 || m.Measures[0].Value != c.strictness || m.Points() != c.points {
			t.Errorf("%s: %d points, %+v", c.name, m.Points(), m.Measures)
		}
		// Excess and difference once more, from the bytes.
		least := math.Inf(1)
		for _, s := range stock {
			least = min(least, colour.DeltaE00(trial.Target.Lab(), s.Colour.Lab()))
		}
		e := colour.DeltaE00(trial.Target.Lab(), stock[c.took].Colour.Lab())
		isNear(t, c.name+": excess", m.Excess, e-least, 1e-12)
		isNear(t, c.name+": difference", m.Difference.E, e, 1e-9)
		if !m.HasColour || !m.Sparse || m.Free != (exercises.Axes{}) {
			t.Errorf("%s: a sparse stock shows no biases: %+v", c.name, m)
		}
	}
	trial, stock := stockTrial(t, 0.4, 4)
	foreign := stock[0]
	foreign.Name = "L1 C1 h1"
	if m := markOf(trial, exercises.TakeStock(foreign, exercises.Blends), nil); m.HasSheet || len(m.Checks) > 0 || !m.Sparse {
		t.Errorf("a tooth that is not in the stock: %+v", m)
	}
	if m := markOf(trial, exercises.TakeStock(stock[0], "no word"), nil); len(m.Measures) != 0 || m.Checks[1].Right {
		t.Errorf("a verdict that is none: %+v", m)
	}
	trial.Patches = nil
	if m := markOf(trial, exercises.Answer{}, nil); len(m.Checks)+len(m.Measures) != 0 || m.HasColour {
		t.Errorf("an empty trial: %+v", m)
	}
}

// The limits that the exercise draws crowns by are those that marks go by: a true
// eye is always right.
func TestCombinationTrueEye(t *testing.T) {
	s := exercises.Setup{Kind: exercises.Combination, Count: 300, Seed: 3, Sheet: sheetOf(t, "natural")}
	kind, _ := exercises.ByID(s.Kind)
	run, err := exercises.NewRun(s)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(4, 4))
	said := map[string]int{}
	for {
		trial, ok := run.Next()
		if !ok {
			break
		}
		a := kind.Simulate(trial, s, observer.Observer{}, rng)
		run.Take(trial, a)
		said[a.Choice]++
		m := markOf(trial, a, nil)
		if right, known := m.Right(); !right || !known || m.Points() != 10 || m.Excess != 0 {
			t.Fatalf("%+v: %+v", a, m)
		}
		for i, limit := range []float64{Perceptibility.Value, Acceptability.Value} {
			if off := math.Abs(m.Best.E - limit); off < 0.14 {
				t.Errorf("the best tooth lies %.2f from limit %d", off, i)
			}
		}
	}
	var words []string
	for _, v := range combinationVerdicts {
		words = append(words, v.word)
		if said[v.word] < 70 {
			t.Errorf("%q is right in %d of 300", v.word, said[v.word])
		}
	}
	if text := strings.Join(words, " "); text != "blends acceptable redo" {
		t.Errorf("the verdicts are %s", text)
	}
}
