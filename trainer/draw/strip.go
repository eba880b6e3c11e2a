package draw

import "shadedrill/colour"

// Choice is one thing that can be chosen: its colour, and a caption set apart
// from it.
type Choice struct {
	Colour colour.SRGB
	Label  string
}

// Marks says which choices stand out.
type Marks struct {
	At    int
	Other int // the second tab of an answer "between these two"; −1 for none
}

func (m Marks) on(i int) bool { return i == m.At || i == m.Other && m.Other >= 0 }

// StripHeight is what a strip needs with patches of the given height: the
// patches, a blank row, the captions.
func StripHeight(patch int) int { return patch + 2 }

// Strip paints choices in one row. When there are more than fit, it shows
// the stretch around the selected one and says that there are more.
func Strip(c *Canvas, in Rect, all []Choice, m Marks) {
	if len(all) == 0 || in.H < 3 {
		return
	}
	pitch, from, to := stretchWithin(in.W, len(all), m.At, WidestPitch)
	x := in.X + (in.W-(to-from)*pitch+gapOf(pitch))/2
	patchRows := in.H - 2
	for i := from; i < to; i++ {
		w := pitch - gapOf(pitch)
		patch := Rect{x, in.Y, w, patchRows}
		c.Swatch(patch, all[i].Colour)
		ink := c.Tone.Faint
		if m.on(i) {
			ink = c.Tone.Strong
			Sides(c, patch, ink)
		}
		label := c.Clip(all[i].Label, pitch)
		c.Write(x+(w-c.Width(label))/2, in.Y+patchRows+1, label, ink, m.on(i))
		c.Item(Rect{x, in.Y, w, in.H}, i)
		x += pitch
	}
	if from > 0 {
		c.Write(in.X-2, in.Y+patchRows+1, "…", c.Tone.Plain, false)
	}
	if to < len(all) {
		c.Write(in.X+in.W, in.Y+patchRows+1, "…", c.Tone.Plain, false)
	}
}

const (
	WidestPitch = 14
	leastPitch  = 6
)

func gapOf(pitch int) int { return max(2, pitch/5) }

// stretchWithin chooses the pitch of n items in a width, no larger than widest, and
// which of them are shown when not all fit.
func stretchWithin(width, n, at, widest int) (pitch, from, to int) {
	pitch = max(leastPitch, min(widest, width/n))
	fit := max(1, (width+gapOf(pitch))/pitch)
	if n <= fit {
		return pitch, 0, n
	}
	from = max(0, min(at-fit/2, n-fit))
	return pitch, from, from + fit
}

// Sides marks what is chosen with an upright at each side, over the patch's whole
// height and half a column away from it: the same mark wherever there is a gap.
func Sides(c *Canvas, patch Rect, ink colour.SRGB) {
	for y := patch.Y; y < patch.Y+patch.H; y++ {
		c.Write(patch.X-1, y, "┃", ink, true)
		c.Write(patch.X+patch.W, y, "┃", ink, true)
	}
}

// Bracket underlines a patch in the row below it, in the middle of the row, so
// that it touches neither the patch above nor one below.
func Bracket(c *Canvas, x, y, w int, ink colour.SRGB) {
	for i := range w {
		g := "━"
		if w > 2 && i == 0 {
			g = "╺"
		} else if w > 2 && i == w-1 {
			g = "╸"
		}
		c.Write(x+i, y, g, ink, true)
	}
}

// Row paints patches edge to edge in the middle, and their captions below.
func Row(c *Canvas, in Rect, shown []Choice) {
	patches, captions := in.Bottom(2)
	w := max(16, min((in.W-24)/len(shown), patches.H*3))
	x := in.X + (in.W-w*len(shown))/2
	for i, s := range shown {
		c.Swatch(Rect{x + i*w, patches.Y, w, patches.H}, s.Colour)
		label := c.Clip(s.Label, w)
		c.Write(x+i*w+(w-c.Width(label))/2, captions.Y+1, label, c.Tone.Faint, false)
	}
}
