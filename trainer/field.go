package trainer

import (
	"shadedrill/colour"
	"shadedrill/exercises"
)

// The field is where every judgement is made: the target at the left, the
// candidate at the right, at the same place and size throughout a drill. The gap
// between them is part of the viewing conditions.

// fieldWords is the room that the captions beside the field take.
const fieldWords = 12

// drawField paints the two patches into the middle of a rectangle.
func drawField(c *canvas, in rect, v exercises.Viewing, t tones, target, candidate colour.SRGB, covered bool) {
	left, right := fieldPatches(in, v.Gap)
	if covered {
		target = cover(v.Surround)
		candidate = target
	}
	c.swatch(left, target)
	c.swatch(right, candidate)
	y := in.y + in.h/2
	c.write(left.x-2-c.width("target"), y, "target", t.faint, false)
	c.write(right.x+right.w+2, y, "candidate", t.faint, false)
}

// fieldPatches places the two patches: equal, as large as the captions beside
// them allow, and not wider than looks like a patch.
func fieldPatches(in rect, gap int) (left, right rect) {
	room := in.w - 2*fieldWords - gap
	w := max(1, min(room/2, in.h*3))
	x := in.x + (in.w-2*w-gap)/2
	return rect{x, in.y, w, in.h}, rect{x + w + gap, in.y, w, in.h}
}

// pairing paints target and candidate as one small pair, for the row view.
func pairing(c *canvas, in rect, v exercises.Viewing, target, candidate colour.SRGB, covered bool) {
	if covered {
		target = cover(v.Surround)
		candidate = target
	}
	gap := min(v.Gap, max(0, in.w-2))
	half := (in.w - gap) / 2
	c.swatch(rect{in.x, in.y, half, in.h}, target)
	c.swatch(rect{in.x + half + gap, in.y, half, in.h}, candidate)
}
