package tabs_test

import (
	"math"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// The example is computed by hand from the formula in the comment of Coverage.
func TestCoverageErrorExample(t *testing.T) {
	teeth := []colour.Lab{{L: 75, A: 2, B: 20}, {L: 70, A: 1, B: 18}}
	references := []colour.Lab{{L: 74, A: 2, B: 20}, {L: 72, A: 0.5, B: 16}}
	got := tabs.CoverageOf(teeth, references)
	if math.Abs(got.Mean-1.355797) > 1e-6 {
		t.Errorf("coverage error in ΔE00 is %.6f, want 1.355797", got.Mean)
	}
	if math.Abs(got.Max-1.977125) > 1e-6 {
		t.Errorf("largest error is %.6f, want 1.977125", got.Max)
	}
}

func TestBuiltinLibrariesLoad(t *testing.T) {
	for _, name := range tabs.Builtin() {
		l, err := tabs.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		s := tabs.NewSheet(l, nil)
		for i := range s.Len() {
			if !s.Fits(i) {
				t.Errorf("%s: tab %s cannot be shown", name, s.Name(i))
			}
			if n, e := s.Nearest(s.Lab(i)); n != i || e != 0 {
				t.Errorf("%s: the nearest tab to %s is %s at %g", name, s.Name(i), s.Name(n), e)
			}
		}
	}
}
