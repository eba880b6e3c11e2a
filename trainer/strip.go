package trainer

import "shadedrill/colour"

// choice is one thing that can be chosen: its colour, and a caption set apart
// from it.
type choice struct {
	colour colour.SRGB
	label  string
}

// marks says which choices stand out.
type marks struct {
	at    int
	other int // the second tab of an answer "between these two"; −1 for none
}

func (m marks) on(i int) bool { return i == m.at || i == m.other && m.other >= 0 }

// stripHeight is what a strip needs with patches of the given height: the
// patches, the row of the mark, the captions.
func stripHeight(patch int) int { return patch + 2 }

// drawStrip paints choices in one row. When there are more than fit, it shows
// the stretch around the selected one and says that there are more.
func drawStrip(c *canvas, in rect, all []choice, m marks) {
	if len(all) == 0 || in.h < 3 {
		return
	}
	pitch, from, to := stretchWithin(in.w, len(all), m.at, widestPitch)
	x := in.x + (in.w-(to-from)*pitch+gapOf(pitch))/2
	patchRows := in.h - 2
	for i := from; i < to; i++ {
		w := pitch - gapOf(pitch)
		patch := rect{x, in.y, w, patchRows}
		c.swatch(patch, all[i].colour)
		ink := c.tone.faint
		if m.on(i) {
			ink = c.tone.strong
			bracket(c, x, in.y+patchRows, w, ink)
		}
		label := c.clip(all[i].label, pitch)
		c.write(x+(w-c.width(label))/2, in.y+patchRows+1, label, ink, m.on(i))
		c.item(rect{x, in.y, w, in.h}, i)
		x += pitch
	}
	if from > 0 {
		c.write(in.x-2, in.y+patchRows+1, "…", c.tone.plain, false)
	}
	if to < len(all) {
		c.write(in.x+in.w, in.y+patchRows+1, "…", c.tone.plain, false)
	}
}

const (
	widestPitch = 14
	leastPitch  = 7
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

// bracket underlines a patch in the row below it, in the middle of the row, so
// that it touches neither the patch above nor one below.
func bracket(c *canvas, x, y, w int, ink colour.SRGB) {
	for i := range w {
		g := "━"
		if w > 2 && i == 0 {
			g = "╺"
		} else if w > 2 && i == w-1 {
			g = "╸"
		}
		c.write(x+i, y, g, ink, true)
	}
}

// drawRow paints patches edge to edge in the middle, and their captions below.
func drawRow(c *canvas, in rect, shown []choice) {
	patches, captions := in.bottom(2)
	w := max(16, min((in.w-24)/len(shown), patches.h*3))
	x := in.x + (in.w-w*len(shown))/2
	for i, s := range shown {
		c.swatch(rect{x + i*w, patches.y, w, patches.h}, s.colour)
		label := c.clip(s.label, w)
		c.write(x+i*w+(w-c.width(label))/2, captions.y+1, label, c.tone.faint, false)
	}
}
