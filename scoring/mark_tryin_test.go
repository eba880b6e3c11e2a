package scoring

import (
	"strings"
	"testing"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
)

// A direction is right by the signed part, the same up to 0.8; within a quarter of
// that limit nobody is told wrong.
func TestDirections(t *testing.T) {
	for _, c := range []struct {
		part             float64
		less, same, more bool
	}{
		{0, false, true, false},
		{0.5, false, true, false},
		{-0.5, false, true, false},
		{0.6, false, true, true},
		{0.8, false, true, true},
		{1.0, false, true, true},
		{-1.0, true, true, false},
		{1.1, false, false, true},
		{-1.1, true, false, false},
		{6, false, false, true},
	} {
		for said, want := range map[int]bool{-1: c.less, 0: c.same, 1: c.more} {
			if got := (Direction{"value", c.part, said}).Right(); got != want {
				t.Errorf("%+d for %+.1f: right is %v", said, c.part, got)
			}
		}
	}
}

func delivered(t *testing.T, dL, dC, dH float64) exercises.Trial {
	t.Helper()
	prescribed := colour.SRGB{R: 202, G: 182, B: 148}
	back, fits := observer.Shift(prescribed.Lab(), dL, dC, dH).SRGB()
	if !fits {
		t.Fatal("does not fit the display")
	}
	return exercises.Trial{Kind: exercises.TryIn, Target: prescribed, Patches: []exercises.Patch{{Role: "delivered", Colour: back}}}
}

// Directions and verdict, each against the bytes: seat up to 1.8, adjust up to 3.6.
func TestMarkTryIn(t *testing.T) {
	for _, c := range []struct {
		name       string
		dL, dC, dH float64
		said       exercises.Directions
		choice     string
		right      [4]bool
		strictness float64
		says       []string
	}{
		{"identical", 0, 0, 0, exercises.Directions{}, exercises.Seat, [4]bool{true, true, true, true}, 0,
			[]string{"the same", "the same", "the same", "within perceptibility: seat it"}},
		{"identical, refused", 0, 0, 0, exercises.Directions{Hue: 1}, exercises.Remake, [4]bool{true, true, false, false}, 2,
			[]string{"the same", "the same", "the same, answered yellower", "seat it; you said remake it"}},
		{"light", 1.5, 0, 0, exercises.Directions{Value: 1}, exercises.Seat, [4]bool{true, true, true, true}, 0,
			[]string{"1.", "the same (0.", "the same", "within acceptability: seat"}},
		{"light and strong", 2, 2, 0, exercises.Directions{Value: -1, Chroma: 1}, exercises.Seat, [4]bool{false, true, true, false}, -1,
			[]string{"lighter, answered darker", "more chromatic", "the same", "mismatch a, moderately unacceptable: adjust it; you said seat it"}},
		{"red", 0, 0, -3, exercises.Directions{Hue: -1}, exercises.Adjust, [4]bool{true, true, true, true}, 0,
			[]string{"the same", "the same", "redder", ": adjust"}},
		{"all wrong", -3, -3, 2, exercises.Directions{}, exercises.Adjust, [4]bool{false, false, false, false}, -1,
			[]string{"darker, answered the same", "less chromatic, answered the same", "yellower, answered the same", ": remake it; you said adjust it"}},
		{"far off", 6, 0, 0, exercises.Directions{Value: 1}, exercises.Remake, [4]bool{true, true, true, true}, 0,
			[]string{"lighter", "", "", "mismatch c, extremely unacceptable: remake"}},
	} {
		m := markOf(delivered(t, c.dL, c.dC, c.dH), exercises.Answer{Directions: &c.said, Choice: c.choice}, nil)
		if len(m.Checks) != 4 || len(m.Directions) != 3 || len(m.Measures) != 1 || m.HasColour {
			t.Errorf("%s: %+v", c.name, m)
			continue
		}
		whole := true
		for i, check := range m.Checks {
			whole = whole && c.right[i]
			if check.Right != c.right[i] || !strings.Contains(check.Why, c.says[i]) {
				t.Errorf("%s: %+v", c.name, check)
			}
		}
		if right, known := m.Right(); !known || right != whole {
			t.Errorf("%s: right as a whole is %v", c.name, right)
		}
		if m.Measures[0].Value != c.strictness {
			t.Errorf("%s: strictness %+g", c.name, m.Measures[0].Value)
		}
	}
}

// What is missing from an answer is not marked.
func TestMarkTryInOfLittle(t *testing.T) {
	trial := delivered(t, 2, 0, 0)
	if m := markOf(trial, exercises.Answer{Choice: exercises.Adjust}, nil); len(m.Checks) != 1 || len(m.Directions) != 0 {
		t.Errorf("%+v", m)
	}
	if m := markOf(trial, exercises.Answer{Directions: &exercises.Directions{Value: 7}}, nil); len(m.Checks) != 3 || !m.Checks[0].Right || len(m.Measures) != 0 {
		t.Errorf("%+v", m)
	}
	if m := markOf(trial, exercises.Answer{Directions: &exercises.Directions{}, Choice: "throw it away"}, nil); len(m.Checks) != 4 || m.Checks[3].Right || len(m.Measures) != 0 {
		t.Errorf("%+v", m)
	}
	trial.Patches = nil
	if m := markOf(trial, exercises.Answer{Choice: exercises.Seat}, nil); len(m.Checks) != 0 {
		t.Errorf("%+v", m)
	}
}
