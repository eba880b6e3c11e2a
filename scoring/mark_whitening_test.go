package scoring

import (
	"math"
	"strings"
	"testing"

	"shadedrill/exercises"
)

// Steps off are counted in rungs, whiteness off in WI_D; right is within 2.60.
func TestMarkWhitening(t *testing.T) {
	run, err := exercises.NewRun(exercises.Setup{Kind: exercises.Whitening, Count: 1, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	drawn, _ := run.Next()
	ladder := exercises.LadderOf(drawn)
	trial := exercises.Trial{Kind: exercises.Whitening, Target: ladder.Rungs[6], Patches: []exercises.Patch{{Role: "after", Colour: ladder.Rungs[11]}}}
	for _, c := range ladder.Rungs {
		trial.Patches = append(trial.Patches, exercises.Patch{Role: "rung", Colour: c})
	}
	for _, c := range []struct {
		said, off float64
		right     bool
		verdict   string
	}{
		{5, 0, true, "within perceptibility"},
		{5.25, 0.25, true, "within perceptibility"},
		{4, -1, true, "within acceptability"},
		{6, 1, true, "within acceptability"},
		{7, 2, false, "beyond acceptability"},
		{0, -5, false, "beyond acceptability"},
		{-3, -8, false, "beyond acceptability"},
		{40, 35, false, "beyond acceptability"},
	} {
		m := markOf(trial, exercises.Answer{Number: &c.said}, nil)
		if len(m.Checks) != 1 || m.Checks[0].Right != c.right || !strings.HasSuffix(m.Checks[0].Why, c.verdict) {
			t.Errorf("%g steps: %+v", c.said, m.Checks)
			continue
		}
		if got := m.Measures[0].Value; math.Abs(got-c.off) > 1e-9 {
			t.Errorf("%g steps are off by %.3f instead of %.3f", c.said, got, c.off)
		}
		if got := m.Measures[1].Value; math.Abs(got-c.off*exercises.LadderStep) > 0.3+1e-9 && math.Abs(c.off) < 9 {
			t.Errorf("%g steps are off by %.2f WI_D instead of about %.2f", c.said, got, c.off*exercises.LadderStep)
		}
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1)} {
		if m := markOf(trial, exercises.Answer{Number: &bad}, nil); len(m.Checks)+len(m.Measures) != 0 {
			t.Errorf("%g steps were marked: %+v", bad, m)
		}
	}
}

// Steps that are larger than what is accepted have numbers that no other is nearer than: they
// are right, and nothing that is said of them contradicts that.
func TestTheNearestNumberOfLargeStepsIsRight(t *testing.T) {
	run, err := exercises.NewRun(exercises.Setup{Kind: exercises.Whitening, Count: 300, Seed: 7}.AtLevel(1))
	if err != nil {
		t.Fatal(err)
	}
	far := 0
	for {
		trial, more := run.Next()
		if !more {
			break
		}
		said := math.Round(exercises.StepsWhiter(trial))
		given := exercises.Answer{Number: &said}
		m := markOf(trial, given, nil)
		run.Take(trial, given)
		if math.Abs(m.Measures[1].Value) > WhitenessAcceptability.Value {
			far++
		}
		if !m.Checks[0].Right || strings.Contains(m.Checks[0].Why, "beyond") {
			t.Errorf("%g steps: right %v, %q", said, m.Checks[0].Right, m.Checks[0].Why)
		}
	}
	if far == 0 {
		t.Error("no trial came so far")
	}
}
