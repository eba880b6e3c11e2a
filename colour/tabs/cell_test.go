package tabs_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// A cell holds the colours to which its choice is nearest of all, by the whole formula,
// from whichever target they are seen; but for those to which another choice is nearly
// as near. A thin cell may slip between two strips.
func TestCellHoldsWhatIsNearest(t *testing.T) {
	const equal = 0.1 // ΔE00 between the nearest and the next that may go either way
	for _, name := range tabs.Builtin() {
		s := sheet(t, name)
		rng := rand.New(rand.NewPCG(9, 9))
		checked, wrong, plainly := 0, 0, 0
		for range 4000 {
			target := tabs.Teeth.Sample(rng)
			group := s.NearestGroup(target)
			choices := s.Choices(group)
			if rng.IntN(3) == 0 {
				choices = choices[:len(s.Groups()[group].Tabs)]
			}
			seen := colour.Lab{L: 50, A: target.A + rng.NormFloat64(), B: target.B + 2*rng.NormFloat64()}
			own, least, next := 0, math.Inf(1), math.Inf(1)
			for k, c := range choices {
				if e := colour.DeltaE00(seen, c.Flat()); e < least {
					own, least, next = k, e, least
				} else {
					next = min(next, e)
				}
			}
			// Some colours of the cell of another choice, too.
			for _, k := range []int{own, rng.IntN(len(choices))} {
				x, h := colour.ChromaHue(target, seen)
				inside := false
				for _, strip := range s.Cell(group, k, len(choices), target) {
					if math.Abs(x-strip.Chroma) <= tabs.StripWidth/2 && h > strip.Reddest && h < strip.Yellowest {
						inside = true
					}
				}
				checked++
				farther := next - least
				if k != own {
					farther = colour.DeltaE00(seen, choices[k].Flat()) - least
				}
				if inside != (k == own) {
					wrong++
					if farther > equal {
						plainly++
					}
				}
			}
		}
		t.Logf("%s: of %d colours %d are told otherwise, %d of them plainly", name, checked, wrong, plainly)
		if plainly > checked/200 {
			t.Errorf("%s: of %d colours %d are told plainly wrong", name, checked, plainly)
		}
	}
}
