package scoring

import (
	"math"
	"testing"

	"shadedrill/colour"
	"shadedrill/exercises"
)

// Each band holds its upper edge, and the next number belongs to the next band.
func TestBandsHoldTheirUpperEdges(t *testing.T) {
	for _, c := range []struct {
		edge       float64
		at, beyond Band
	}{
		{0.8, Excellent, Acceptable},
		{1.8, Acceptable, MismatchA},
		{3.6, MismatchA, MismatchB},
		{3 * Acceptability.Value, MismatchB, MismatchC}, // 5.4 to the last bit
	} {
		if got := BandOf(c.edge); got != c.at {
			t.Errorf("%.17g is %s, want %s", c.edge, got, c.at)
		}
		if got := BandOf(math.Nextafter(c.edge, 100)); got != c.beyond {
			t.Errorf("just beyond %g is %s, want %s", c.edge, got, c.beyond)
		}
	}
	if math.Abs(3*Acceptability.Value-5.4) > 1e-12 {
		t.Errorf("the last edge lies at %g", 3*Acceptability.Value)
	}
}

// A colour is right up to acceptability where nothing else is asked.
func TestAColourIsRightUpToAcceptability(t *testing.T) {
	for band, want := range map[Band]bool{Excellent: true, Acceptable: true, MismatchA: false, MismatchB: false, MismatchC: false} {
		if right, known := (Mark{HasColour: true, Band: band}).Right(); right != want || !known {
			t.Errorf("%s: right %v, known %v", band, right, known)
		}
	}
	if right, known := (Mark{}).Right(); right || known {
		t.Errorf("no answer: right %v, known %v", right, known)
	}
	if right, _ := (Mark{HasSheet: true, nearer: 1, HasColour: true, Band: Excellent}).Right(); right {
		t.Error("the second-best tab is right because its colour is close")
	}
}

// Bytes that no sheet offers can be nearer than every tab: nothing was lost then,
// and nothing won either.
func TestNoAnswerIsBetterThanTheBestTab(t *testing.T) {
	sheet := sheetOf(t, "starter")
	target := colour.SRGB{R: 214, G: 196, B: 163}
	best := sheet.See(target).Best()
	if best.E < 0.1 {
		t.Fatalf("the target is a tab (%.3f): nothing can be nearer", best.E)
	}
	a := exercises.TakeTab(sheet, best.I, best.J)
	a.Colour = &target
	m := markOf(exercises.Trial{Kind: exercises.ValueFirst, Target: target}, a, sheet)
	if m.Difference.E != 0 || m.Excess != 0 {
		t.Errorf("ΔE00 %g with an excess of %g over a best tab at %g", m.Difference.E, m.Excess, m.Best.E)
	}
}

// Two groups can be right: the nearest in value and the one of the best tab. Steps
// are counted from the nearer; halfway between, from the darker one, as too light.
func TestGroupStepsBetweenTwoRightGroups(t *testing.T) {
	for _, c := range []struct{ nearest, ofBest, chosen, want int }{
		{2, 6, 4, 2}, // halfway
		{6, 2, 4, 2}, // whichever of the two is the nearest in value
		{2, 6, 3, -1},
		{2, 6, 5, 1},
		{2, 3, 2, 0},
		{2, 3, 3, 0},
		{2, 6, 0, 2},
		{2, 6, 7, -1},
		{2, 2, 1, 1},
		{2, 2, 4, -2},
	} {
		if got := groupSteps(c.nearest, c.ofBest, c.chosen); got != c.want {
			t.Errorf("right are %d and %d, chosen %d: %+d steps, want %+d", c.nearest, c.ofBest, c.chosen, got, c.want)
		}
	}
}

// A part at perceptibility itself is not seen as a direction.
func TestADirectionIsShownBeyondPerceptibility(t *testing.T) {
	for part, want := range map[float64]int{0.8: 0, -0.8: 0, math.Nextafter(0.8, 1): 1, math.Nextafter(-0.8, -1): -1, 0: 0} {
		if got := (Direction{Part: part}).Shown(); got != want {
			t.Errorf("%+.17g shows %d, want %d", part, got, want)
		}
	}
}

// Two sittings that were broken off in a scene of one number are two teeth: what was
// said of the one is not laid against the other.
func TestAnotherSittingIsAnotherScene(t *testing.T) {
	light, dark := colour.SRGB{R: 222, G: 205, B: 175}, colour.SRGB{R: 190, G: 170, B: 140}
	patches := []exercises.Patch{{Role: exercises.Cervical, Colour: dark}, {Role: exercises.Middle, Colour: light}, {Role: exercises.Incisal, Colour: light}}
	var m Marking
	mark := func(sitting SittingID, third int) Mark {
		p := patches[third]
		return m.Mark(Attempt{Sitting: sitting, Trial: exercises.Trial{Kind: exercises.Thirds, Ordinal: third, Part: p.Role, Target: p.Colour, Patches: patches},
			Answer: exercises.Answer{Colour: &p.Colour}}, nil)
	}
	mark("one", 0)
	mark("one", 1)
	if got := mark("two", 2); len(got.Checks) > 0 {
		t.Errorf("the last third of one sitting is judged with the first two of another: %+v", got.Checks)
	}
	mark("two", 0)
	mark("two", 1)
	if got := mark("two", 2); len(got.Checks) == 0 {
		t.Error("a whole tooth is not judged: nothing was tried")
	}
}
