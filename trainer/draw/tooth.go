package draw

import (
	"math"

	"shadedrill/colour"
)

// Tooth is drawn in half-block cells, two pixels above each other, which are
// about square. Its colour runs smoothly from the neck to the edge; in the
// middle of each third it is exactly the colour of that third, since answers are
// marked by those bytes.
//
//	cervical ─────╮ ╭─────     y = 0
//	            ╭──────╮
//	middle      │      │
//	           │        │
//	incisal    ╰────────╯     y = 1
type Tooth struct{ Cervical, Middle, Incisal colour.SRGB }

// plateau is how far from the middle of a third, as a share of the tooth's
// height, its colour holds before it begins to run into the next.
const plateau = 0.07

// at is the colour at a height, 0 at the neck and 1 at the edge.
func (t Tooth) at(y float64) colour.SRGB {
	thirds := [3]colour.SRGB{t.Cervical, t.Middle, t.Incisal}
	for i, from := range thirds[:2] {
		begin := (float64(i)+0.5)/3 + plateau
		end := (float64(i)+1.5)/3 - plateau
		switch {
		case y <= begin:
			return from
		case y < end:
			s := (y - begin) / (end - begin)
			s = s * s * (3 - 2*s) // no edge where the run begins
			mixed, _ := from.Lab().Mix(thirds[i+1].Lab(), s).SRGB()
			return mixed
		}
	}
	return t.Incisal
}

// halfWidth is the outline of an upper front tooth as a share of its greatest
// half-width: narrow and round at the neck, widest at three quarters, its corners
// a little rounded. A drawing, not an anatomy.
func halfWidth(y float64) float64 {
	s := math.Min(1, y/0.75)
	w := 0.72 + 0.28*s*s*(3-2*s)
	if y < 0.12 {
		d := 1 - y/0.12
		w *= 0.45 + 0.55*math.Sqrt(1-d*d)
	}
	if y > 0.93 {
		d := (y - 0.93) / 0.07
		w -= 0.14 * d * d
	}
	return w
}

// ToothWidth is how many columns a tooth of so many rows takes.
func ToothWidth(rows int) int { return max(5, rows*2*4/5) }

// ToothRows is how many rows a tooth of at most so many columns has.
func ToothRows(width int) int { return max(3, width*5/8) }

// Draw paints a tooth that fills the rectangle. ground is the colour around
// it.
func (t Tooth) Draw(c *Canvas, in Rect, ground colour.SRGB) {
	t.paint(c, in, in.W, func(int, int) colour.SRGB { return ground })
}

// DrawBeside paints a tooth with a patch at the right of one of its thirds, edge to
// edge along the outline; the patch goes on for so many columns beyond the rectangle. It
// has whole rows: the half blocks of many fonts leave a hairline, which would lie across it.
func (t Tooth) DrawBeside(c *Canvas, in Rect, ground colour.SRGB, third int, patch colour.SRGB, width int) {
	from, to := 2*(in.H*third/3), 2*(in.H*(third+1)/3)
	t.paint(c, in, in.W+width, func(x, y int) colour.SRGB {
		if x >= in.W/2 && y >= from && y < to {
			return patch
		}
		return ground
	})
}

// paint paints a tooth and so many columns of what lies behind and beside it.
func (t Tooth) paint(c *Canvas, in Rect, width int, behind func(x, y int) colour.SRGB) {
	shades := make([]colour.SRGB, 2*in.H)
	for y := range shades {
		shades[y] = t.at(heightOf(y, in.H))
	}
	pixel := func(x, y int) colour.SRGB {
		across := math.Abs(float64(x)+0.5-float64(in.W)/2) / (float64(in.W) / 2)
		if across > halfWidth(heightOf(y, in.H)) {
			return behind(x, y)
		}
		return shades[y]
	}
	for y := range in.H {
		for x := range width {
			c.halves(in.X+x, in.Y+y, pixel(x, 2*y), pixel(x, 2*y+1))
		}
	}
}

// heightOf is where the middle of a row of pixels lies on a tooth of so many
// rows of cells.
func heightOf(pixel, rows int) float64 { return (float64(pixel) + 0.5) / float64(2*rows) }
