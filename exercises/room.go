package exercises

import (
	"math/rand/v2"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// Axes marks some of the three parts of a difference.
type Axes struct{ L, C, H bool }

// AllAxes are all three.
var AllAxes = Axes{true, true, true}

// all reports whether all three are marked.
func (a Axes) all() bool { return a == AllAxes }

// Nobody can answer lighter than the lightest tab. At the border of a library
// errors can run inwards only, so their mean shows a bias that is not the
// person's: of a simulated bias of 1 towards more chroma, with noise 0.7 and targets
// spread evenly over all tooth colours, the mean over all answers shows 0.86 with
// the library "natural" and 0.79 with "starter". So biases are taken from targets
// with room on both sides, a rule that looks at the target alone and therefore
// favours no answer; their mean shows 0.94 and 0.99 (of 6,000 answers each, 4,084 and 1,823).
//
// Errors are also rounded: to a group, and to the nearest tab or middle. That
// pulls up as often as down only over whole steps, so the rule does not ask where
// the target lies but which choice an observer without error would make for it: its value group
// must be neither the lightest nor the darkest, and the choice itself must have
// tabs on both sides (see [tabs.Choice]).

// roomAround says along which parts an answer from the sheet could err to either
// side of the target.
func roomAround(sheet *tabs.Sheet, target colour.Lab) Axes {
	group := sheet.NearestGroup(target)
	taken := sheet.NearestChoice(group, target)
	return Axes{L: inside(sheet, group), C: taken.RoomC, H: taken.RoomH}
}

// roomy reports whether there is room along all three parts. Whether the group has it is
// soon seen.
func roomy(sheet *tabs.Sheet, target colour.Lab) bool {
	return inside(sheet, sheet.NearestGroup(target)) && roomAround(sheet, target).all()
}

// RoomIn is [roomAround] for a target that the sheet has seen.
func RoomIn(sheet *tabs.Sheet, sight *tabs.Sight) Axes {
	return Axes{L: inside(sheet, sight.Group), C: sight.RoomC, H: sight.RoomH}
}

func inside(sheet *tabs.Sheet, group int) bool { return group > 0 && group < len(sheet.Groups())-1 }

// roomyShare of the natural targets have room on all sides, as most teeth have:
// published means (L* 73–84, C* 15–26, h 88–93°) lie in the middle of the
// library, not at its border. The rest come from the whole region.
const roomyShare = 0.75

// drawNatural draws a target from the colours of teeth.
func drawNatural(rng *rand.Rand, sheet *tabs.Sheet, lamp func(colour.Lab) colour.Lab) colour.SRGB {
	target := drawShown(rng, lamp, tabs.Teeth.Sample)
	if rng.Float64() >= roomyShare {
		return target
	}
	// A small library may have no such place; the bound keeps that cheap.
	for range 100 {
		if roomy(sheet, target.Lab()) {
			break
		}
		target = drawShown(rng, lamp, tabs.Teeth.Sample)
	}
	return target
}
