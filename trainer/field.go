package trainer

import (
	"shadedrill/colour"
	"shadedrill/exercises"
)

// The field is where every judgement is made: the target at the left, the
// candidate at the right, at the same place and size throughout a drill. The gap
// between them is part of the viewing conditions.

// fieldOf is what the field shows: two colours, and a caption outside of each.
type fieldOf struct {
	left, right         colour.SRGB
	leftWord, rightWord string
}

func (f fieldOf) room() int { return max(len([]rune(f.leftWord)), len([]rune(f.rightWord))) + 3 }

// matching is the field of most exercises.
func matching(target, candidate colour.SRGB) fieldOf {
	return fieldOf{target, candidate, "target", "candidate"}
}

// drawField paints the two patches into the middle of a rectangle.
func drawField(c *canvas, in rect, v exercises.Viewing, f fieldOf, covered bool) {
	left, right := fieldPatches(in, v.Gap, f.room())
	if covered {
		f.left = cover(v.Surround)
		f.right = f.left
	}
	c.swatch(left, f.left)
	c.swatch(right, f.right)
	y := in.y + in.h/2
	c.write(left.x-2-c.width(f.leftWord), y, f.leftWord, c.tone.faint, false)
	c.write(right.x+right.w+2, y, f.rightWord, c.tone.faint, false)
}

// fieldPatches places the two patches: equal, as large as the captions beside
// them allow, and not wider than looks like a patch.
func fieldPatches(in rect, gap, words int) (left, right rect) {
	room := in.w - 2*words - gap
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

// cover is the neutral grey that takes the place of patches when a look is
// over: a little off the surround, so that one sees where they were.
func cover(surround colour.SRGB) colour.SRGB {
	if surround.R < 128 {
		return colour.Grey(surround.R + 14)
	}
	return colour.Grey(surround.R - 14)
}
