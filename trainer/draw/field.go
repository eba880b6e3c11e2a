package draw

import (
	"shadedrill/colour"
	"shadedrill/exercises"
)

// The field is where every judgement is made: the target at the left, the
// candidate at the right, at the same place and size throughout a drill. The gap
// between them is part of the viewing conditions.

// Pair is what the field shows: two colours, and a caption outside of each.
type Pair struct {
	Left, Right         colour.SRGB
	LeftWord, RightWord string
}

func (f Pair) room() int { return max(len([]rune(f.LeftWord)), len([]rune(f.RightWord))) + 3 }

// Matching is the field of most exercises.
func Matching(target, candidate colour.SRGB) Pair {
	return Pair{target, candidate, "target", "candidate"}
}

// Field paints the two patches into the middle of a rectangle.
func Field(c *Canvas, in Rect, v exercises.Viewing, f Pair, covered bool) {
	left, right := fieldPatches(in, v.Gap, f.room())
	if covered {
		f.Left = Cover(v.Surround)
		f.Right = f.Left
	}
	c.Swatch(left, f.Left)
	c.Swatch(right, f.Right)
	y := in.Y + in.H/2
	c.Write(left.X-2-c.Width(f.LeftWord), y, f.LeftWord, c.Tone.Faint, false)
	c.Write(right.X+right.W+2, y, f.RightWord, c.Tone.Faint, false)
}

// Two shows below a field that it consists of two patches, each with a line of its
// own: two that match would look like one.
func Two(c *Canvas, in Rect, v exercises.Viewing, f Pair) {
	left, right := fieldPatches(in, v.Gap, f.room())
	for _, p := range []Rect{left, right} {
		Bracket(c, p.X, p.Y+p.H, p.W, c.Tone.Faint)
	}
}

// fieldPatches places the two patches: equal, as large as the captions beside
// them allow, and not wider than looks like a patch.
func fieldPatches(in Rect, gap, words int) (left, right Rect) {
	room := in.W - 2*words - gap
	w := max(1, min(room/2, in.H*3))
	x := in.X + (in.W-2*w-gap)/2
	return Rect{x, in.Y, w, in.H}, Rect{x + w + gap, in.Y, w, in.H}
}

// SmallPair paints target and candidate as one small pair, for the row view.
func SmallPair(c *Canvas, in Rect, v exercises.Viewing, target, candidate colour.SRGB, covered bool) {
	if covered {
		target = Cover(v.Surround)
		candidate = target
	}
	gap := min(v.Gap, max(0, in.W-2))
	half := (in.W - gap) / 2
	c.Swatch(Rect{in.X, in.Y, half, in.H}, target)
	c.Swatch(Rect{in.X + half + gap, in.Y, half, in.H}, candidate)
}

// Cover is the neutral grey that takes the place of patches when a look is
// over: a little off the surround, so that one sees where they were.
func Cover(surround colour.SRGB) colour.SRGB {
	if surround.R < 128 {
		return colour.Grey(surround.R + 14)
	}
	return colour.Grey(surround.R - 14)
}
