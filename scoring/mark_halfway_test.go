package scoring

import (
	"math"
	"strings"
	"testing"

	"shadedrill/colour"
	"shadedrill/exercises"
)

// between makes a trial with ends that differ in chroma by some 6 ΔE00, the left
// one weaker, and a target at a share of the way.
func between(t *testing.T, share float64) (trial exercises.Trial, left, right colour.SRGB) {
	t.Helper()
	left, _ = colour.LCh{L: 75, C: 13, H: 88}.Lab().SRGB()
	right, _ = colour.LCh{L: 75, C: 24, H: 88}.Lab().SRGB()
	target, _ := left.Lab().Mix(right.Lab(), share).SRGB()
	return exercises.Trial{Kind: exercises.Halfway, Part: exercises.AttributeChroma, Target: target,
		Patches: []exercises.Patch{{Role: "left", Colour: left}, {Role: "right", Colour: right}}}, left, right
}

// The target's place is told by the bytes, the answer is held against it, and off
// is signed: + towards more chroma, + towards the right.
func TestMarkHalfway(t *testing.T) {
	for _, c := range []struct {
		share  float64
		place  int
		right  bool
		off    float64 // % of the way
		biases bool
	}{
		{0.5, 2, true, 0, true},
		{0.5, 3, false, 25, true},
		{0.5, 0, false, -50, true},
		{0.3, 1, true, -5, true},
		{0.45, 2, true, 5, true},
		{0.05, 0, true, -5, false},
		{0.95, 4, true, 5, false},
		{0.95, 1, false, -70, false},
	} {
		trial, left, right := between(t, c.share)
		for _, flipped := range []bool{false, true} {
			place, side := c.place, 1.0
			if flipped { // the same picture in a mirror
				trial.Patches[0].Colour, trial.Patches[1].Colour = right, left
				left, right, place, side = right, left, exercises.Places-1-place, -1
			}
			m := markOf(trial, exercises.TakePlace(left, right, place), nil)
			if len(m.Checks) != 1 || m.Checks[0].Right != c.right || m.Checks[0].Name != "place between two, chroma" {
				t.Errorf("place %d for %.2f: %+v", c.place, c.share, m.Checks)
				continue
			}
			if m.Free != (exercises.Axes{C: c.biases}) {
				t.Errorf("place %d for %.2f: biases %+v", c.place, c.share, m.Free)
			}
			// Bytes are steps of some 3 % of this way.
			if got := m.Measures[0].Value; math.Abs(got-c.off) > 3 || m.Measures[0].Unit != "% of the way, + too chromatic" {
				t.Errorf("place %d for %.2f is off by %.1f %%: %+v", c.place, c.share, got, m.Measures[0])
			}
			if got := m.Measures[1].Value; math.Abs(got-side*m.Measures[0].Value) > 1e-9 {
				t.Errorf("place %d for %.2f is off by %.1f %% towards the right", c.place, c.share, got)
			}
			if want := colour.DeltaE00(trial.Target.Lab(), exercises.InBetween(left, right, place).Lab()); math.Abs(m.Difference.E-want) > 1e-9 {
				t.Errorf("ΔE00 %.3f instead of %.3f", m.Difference.E, want)
			}
		}
	}
	trial, left, right := between(t, 0.3)
	if why := markOf(trial, exercises.TakePlace(left, right, 3), nil).Checks[0].Why; !strings.HasPrefix(why, "nearest to the target is a quarter") || !strings.HasSuffix(why, "you said three quarters") {
		t.Error(why)
	}
}

// Nothing is marked that was not asked or cannot be.
func TestMarkHalfwayOfLittle(t *testing.T) {
	trial, left, _ := between(t, 0.5)
	wrong := math.NaN()
	shown := left
	if m := markOf(trial, exercises.Answer{Colour: &shown, Number: &wrong}, nil); !m.HasColour || len(m.Checks)+len(m.Measures) > 0 {
		t.Errorf("%+v", m)
	}
	trial.Patches[1].Colour = left // both ends the same
	if m := markOf(trial, exercises.TakePlace(left, left, 1), nil); !m.HasColour || len(m.Checks) > 0 {
		t.Errorf("%+v", m)
	}
	trial.Patches = nil
	if m := markOf(trial, exercises.Answer{}, nil); m.HasColour {
		t.Errorf("%+v", m)
	}
}

// A pair that a lamp has turned tells nothing of one attribute.
func TestMarkHalfwayTurnedPair(t *testing.T) {
	left, _ := colour.LCh{L: 75, C: 16, H: 88}.Lab().SRGB()
	right, _ := colour.LCh{L: 71, C: 22, H: 88}.Lab().SRGB()
	target, _ := left.Lab().Mix(right.Lab(), 0.5).SRGB()
	trial := exercises.Trial{Kind: exercises.Halfway, Target: target,
		Patches: []exercises.Patch{{Role: "left", Colour: left}, {Role: "right", Colour: right}}}
	if m := markOf(trial, exercises.TakePlace(left, right, 2), nil); m.Free != (exercises.Axes{}) || len(m.Checks) != 1 {
		t.Errorf("%+v", m)
	}
}
