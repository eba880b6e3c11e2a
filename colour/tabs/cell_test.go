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
				inside := holds(s.Cell(group, k, len(choices), target), x, h)
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

// holds reads a cell as a sum over its strips takes it: from the middle of one to that of
// the next its ends run straight.
func holds(cell []tabs.Strip, x, h float64) bool {
	below, above := tabs.Strip{Chroma: math.Inf(-1)}, tabs.Strip{Chroma: math.Inf(1)}
	for _, strip := range cell {
		if strip.Chroma <= x && strip.Chroma > below.Chroma {
			below = strip
		}
		if strip.Chroma > x && strip.Chroma < above.Chroma {
			above = strip
		}
	}
	within := func(strip tabs.Strip) bool {
		return math.Abs(x-strip.Chroma) <= strip.Width/2 && h > strip.Reddest && h < strip.Yellowest
	}
	if math.IsInf(below.Chroma, 0) || math.IsInf(above.Chroma, 0) {
		return within(below) || within(above)
	}
	share := (x - below.Chroma) / (above.Chroma - below.Chroma)
	at := func(a, b float64) float64 {
		if math.IsInf(a, 0) || math.IsInf(b, 0) {
			if share < 0.5 {
				return a
			}
			return b
		}
		return a + share*(b-a)
	}
	return h > at(below.Reddest, above.Reddest) && h < at(below.Yellowest, above.Yellowest)
}
