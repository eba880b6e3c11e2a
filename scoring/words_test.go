package scoring

import (
	"strings"
	"testing"

	"shadedrill/colour"
)

// The digit that decides is shown, and no more.
func TestFigure(t *testing.T) {
	for e, want := range map[float64]string{0.2: "0.2", 0.8: "0.8", 0.76: "0.76", 0.8004: "0.8004", 0.84: "0.84", 1.8: "1.8", 1.7999: "1.7999", 1.83: "1.83", 2.345: "2.3", 0: "0.0"} {
		if got := Figure(e); got != want {
			t.Errorf("%v is written %s instead of %s", e, got, want)
		}
	}
}

func TestInWords(t *testing.T) {
	tooth := colour.Lab{L: 75, A: 2, B: 20}
	for want, d := range map[string]colour.Difference{
		"a little darker and redder":                           {E: 2, L: -0.6, H: -1.2},
		"much lighter, weaker in chroma and a little yellower": {E: 6, L: 5, C: -2, H: 0.5},
		"": {E: 0.5, L: 0.3, C: 0.3, H: 0.3},
	} {
		if got := InWords(d, tooth, tooth); got != want {
			t.Errorf("%+v: %q instead of %q", d, got, want)
		}
	}
}

// What is said of a difference changes at the limits and nowhere within a grade of them.
func TestNoticed(t *testing.T) {
	for _, c := range []struct {
		e    float64
		says string
	}{{0, "Nobody"}, {0.4, "Hardly anybody"}, {0.8, "Fewer than half would see"}, {0.8001, "more than half would accept"},
		{1.8, "more than half would accept"}, {1.8001, "fewer than half would accept"}, {3.61, "hardly anybody accept"}} {
		if got := Noticed(c.e); !strings.Contains(got, c.says) {
			t.Errorf("%g: %s", c.e, got)
		}
	}
}

// The figures of the monitor study in ΔE00 are what CIEDE2000 makes of its steps.
func TestMonitorStudyInDeltaE00(t *testing.T) {
	tooth := colour.Lab{L: 75, A: 2, B: 20}
	for _, c := range []struct {
		to        colour.Lab
		low, high float64
	}{
		{colour.Lab{L: 76, A: 2, B: 20}, 0.65, 0.75}, {colour.Lab{L: 74, A: 2, B: 20}, 0.65, 0.75},
		{colour.Lab{L: 75, A: 3, B: 20}, 1.05, 1.15}, {colour.Lab{L: 75, A: 1, B: 20}, 1.05, 1.15},
		{colour.Lab{L: 75, A: 2, B: 22.6}, 1.25, 1.45}, {colour.Lab{L: 75, A: 2, B: 17.4}, 1.25, 1.45},
	} {
		if e := colour.DeltaE00(tooth, c.to); e < c.low || e > c.high {
			t.Errorf("to %+v it is %.3f", c.to, e)
		}
	}
	if !strings.Contains(MonitorStudy, "0.7, 1.1 and 1.3 to 1.4 ΔE00") {
		t.Error("the study is told with other figures")
	}
}
