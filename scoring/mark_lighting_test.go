package scoring

import (
	"math"
	"strings"
	"testing"

	"shadedrill/colour"
	"shadedrill/exercises"
)

func near(c colour.SRGB, r, g, b int) colour.SRGB {
	return colour.SRGB{R: uint8(int(c.R) + r), G: uint8(int(c.G) + g), B: uint8(int(c.B) + b)}
}

// The verdict follows from the bytes and the bands at 0.8 and 1.8 ΔE00.
func TestLightingVerdict(t *testing.T) {
	tooth := colour.SRGB{R: 202, G: 182, B: 148}
	sentence := map[string]string{exercises.Match: "they match", exercises.Acceptable: "it may stay", exercises.Mismatch: "it may not stay"}
	for _, c := range []struct {
		sample      colour.SRGB
		said, right string
		strictness  float64
	}{
		{tooth, exercises.Match, exercises.Match, 0},
		{tooth, exercises.Mismatch, exercises.Match, 2},
		{near(tooth, 0, 0, 1), exercises.Acceptable, exercises.Match, 1},
		{near(tooth, 5, 5, 5), exercises.Acceptable, exercises.Acceptable, 0},
		{near(tooth, 5, 5, 5), exercises.Match, exercises.Acceptable, -1},
		{near(tooth, 10, 10, 10), exercises.Mismatch, exercises.Mismatch, 0},
		{near(tooth, 10, 10, 10), exercises.Match, exercises.Mismatch, -2},
	} {
		trial := exercises.Trial{Kind: exercises.Lighting, Part: "a", Target: tooth, Patches: []exercises.Patch{{Role: "sample", Colour: c.sample}}}
		m := markOf(trial, exercises.Answer{Choice: c.said}, nil)
		end := ": " + sentence[c.right]
		if c.said != c.right {
			end += "; you said " + sentence[c.said]
		}
		if len(m.Checks) != 1 || m.Checks[0].Right != (c.said == c.right) || !strings.HasSuffix(m.Checks[0].Why, end) {
			t.Errorf("%s for %s: %+v", c.said, c.right, m.Checks)
		}
		if len(m.Measures) != 1 || m.Measures[0].Value != c.strictness {
			t.Errorf("%s for %s: %+v", c.said, c.right, m.Measures)
		}
	}
}

// The index takes out what separates the pair in daylight.
func TestLightingIndex(t *testing.T) {
	tooth := colour.SRGB{R: 202, G: 182, B: 148}
	trial := exercises.Trial{Kind: exercises.Lighting, Part: "a", Target: tooth, Patches: []exercises.Patch{
		{Role: "sample", Colour: near(tooth, 6, -2, 0)}, {Role: "daylight", Colour: tooth}, {Role: "daylight", Colour: near(tooth, 6, -2, 0)},
	}}
	index := func() float64 { return markOf(trial, exercises.Answer{Choice: exercises.Match}, nil).Measures[1].Value }
	if got := index(); got > 1e-9 {
		t.Errorf("a pair that differs alike under both lights has the index %.3f", got)
	}
	trial.Patches[2].Colour = tooth
	if got, want := index(), colour.DeltaEab(tooth.Lab(), near(tooth, 6, -2, 0).Lab()); math.Abs(got-want) > 1e-9 {
		t.Errorf("a pair that matches in daylight has the index %.3f instead of %.3f", got, want)
	}
}

func TestLightingPairThatBreaks(t *testing.T) {
	tooth := colour.SRGB{R: 202, G: 182, B: 148}
	trial := exercises.Trial{Kind: exercises.Lighting, Part: "f11", Key: "2", Target: tooth, Patches: []exercises.Patch{
		{Role: "pair-2", Colour: tooth}, {Role: "pair-2", Colour: tooth},
		{Role: "under-1", Colour: tooth}, {Role: "under-1", Colour: tooth},
		{Role: "under-2", Colour: tooth}, {Role: "under-2", Colour: near(tooth, 10, 10, 10)},
	}}
	for choice, right := range map[string]bool{"1": false, "2": true, "": false} {
		m := markOf(trial, exercises.Answer{Choice: choice}, nil)
		if len(m.Checks) != 1 || m.Checks[0].Right != right || !strings.Contains(m.Checks[0].Why, "pair 2 by 2.") || len(m.Measures) != 1 {
			t.Errorf("choice %q: %+v", choice, m)
		}
	}
}

// Marks survive trials and answers that hold nothing.
func TestMarksOfNothing(t *testing.T) {
	for _, kind := range []exercises.KindID{exercises.Halfway, exercises.TryIn, exercises.Lighting, exercises.Whitening, exercises.Bench} {
		for _, trial := range []exercises.Trial{{}, {Part: "no such lamp", Key: "9"}} {
			trial.Kind = kind
			for _, sheet := range []string{"", "starter"} {
				if sheet == "" {
					markOf(trial, exercises.Answer{}, nil)
				} else {
					markOf(trial, exercises.Answer{}, sheetOf(t, sheet))
				}
			}
		}
	}
}
