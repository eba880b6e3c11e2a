package ask

import (
	"shadedrill/colour"
	"shadedrill/trainer/draw"
)

// The picture of value first: the field above, and below it the strip of groups
// or the sheet of one group. In the row view everything that can be chosen
// stands beside the target at once.

func (v *valueFirst) Draw(c *draw.Canvas, in draw.Rect, covered bool) {
	switch {
	case v.step == chooseGroup && v.rows:
		v.drawGroupRows(c, in, covered)
	case v.step == chooseGroup:
		v.drawStrip(c, in, covered)
	case v.rows:
		v.drawSheet(c, in, covered, true)
	default:
		v.drawSheet(c, in, covered, false)
	}
}

func (v *valueFirst) drawField(c *draw.Canvas, in draw.Rect, covered bool) {
	if v.field != nil {
		v.field(c, in, v.chosen(), covered)
		return
	}
	draw.Field(c, in, v.Setup.Viewing, draw.Matching(v.Trial.Target, v.chosen()), covered)
}

func (v *valueFirst) groupChoices() []draw.Choice {
	var all []draw.Choice
	for _, g := range v.sheet.Groups() {
		all = append(all, draw.Choice{Colour: g.Shown, Label: g.Name})
	}
	return all
}

func (v *valueFirst) drawStrip(c *draw.Canvas, in draw.Rect, covered bool) {
	patch := 3
	if in.H >= 34 {
		patch = 5
	}
	field, lower := v.places(in)
	v.drawField(c, field, covered)
	lower, _ = lower.Top(draw.StripHeight(patch))
	draw.Strip(c, lower.Inset(draw.Margin), v.groupChoices(), draw.Marks{At: v.group, Other: -1})
}

// places divides the picture into the field and what lies below it: the strip of the
// first step and the sheet of the second. They are the same in both steps and for every
// group, so that nothing moves when one is taken.
func (v *valueFirst) places(in draw.Rect) (field, lower draw.Rect) {
	rows := 2
	for _, g := range v.sheet.Groups() {
		rows = max(rows, draw.Grid{Columns: g.Columns}.Rows())
	}
	in, _ = in.Bottom(1) // the caption of the sheet
	height := max(2*rows, min(in.H*9/20/rows, 4)*rows)
	upper, lower := in.Bottom(max(draw.StripHeight(3), min(height, in.H*2/3)))
	field, _ = upper.Bottom(1)
	return field, lower
}

// drawGroupRows puts a pair for every group into as square a block as fits.
func (v *valueFirst) drawGroupRows(c *draw.Canvas, in draw.Rect, covered bool) {
	in = in.Inset(draw.Margin)
	all := v.groupChoices()
	t := c.Tone
	columns, pitchY := blockOf(len(all), in)
	pitchX := in.W / columns
	visible := max(1, in.H/pitchY)
	at := v.group / columns
	v.from = max(at-visible+1, min(v.from, at))
	for i, ch := range all {
		row := i/columns - v.from
		if row < 0 || row >= visible {
			continue
		}
		cell := draw.Box(in.X+(i%columns)*pitchX, in.Y+row*pitchY, pitchX-3, pitchY-3)
		draw.SmallPair(c, cell, v.Setup.Viewing, v.Trial.Target, ch.Colour, covered)
		ink, on := t.Faint, i == v.group
		if on {
			ink = t.Strong
			draw.Sides(c, cell, ink)
		}
		c.Write(cell.X+(cell.W-c.Width(ch.Label))/2, cell.Y+cell.H+1, ch.Label, ink, on)
		c.Item(draw.Box(cell.X, cell.Y, cell.W, cell.H+2), i)
	}
}

// leastPairRows is what a pair with its caption needs: two rows of patch, the
// mark, the caption, a blank.
const leastPairRows = 5

// blockOf chooses in how many columns n pairs stand, so that each is as large as
// can be while about twice as wide as high, and how many rows each takes. A cell
// is about twice as high as wide.
func blockOf(n int, in draw.Rect) (columns, pitch int) {
	size := -1
	for cols := 1; cols <= 6; cols++ {
		rows := (n + cols - 1) / cols
		p := max(leastPairRows, min(in.H/rows, 14))
		if s := min((in.W/cols-3)/4, p-3); s > size {
			size, columns, pitch = s, cols, p
		}
	}
	return columns, pitch
}

// drawSheet paints the tabs of the group. With pairs each stands beside the
// target; otherwise the field above shows target and choice large.
func (v *valueFirst) drawSheet(c *draw.Canvas, in draw.Rect, covered, pairs bool) {
	upper, caption := in.Bottom(1)
	v.drawCaption(c, caption)
	area := upper
	widest := max(2*draw.WidestPitch, 4*(area.H/v.grid().Rows()))
	if !pairs {
		widest = draw.WidestPitch + 4
		var field draw.Rect
		field, area = v.places(in)
		v.drawField(c, field, covered)
	}
	area = area.Inset(draw.Margin)
	cells := v.grid().Lay(area, v.tab, widest)
	m := draw.Marks{At: v.tab, Other: -1}
	if v.step == chooseBetween {
		m.Other = v.neighbour()
	}
	paint := c.Swatch
	if pairs {
		paint = func(r draw.Rect, shown colour.SRGB) {
			draw.SmallPair(c, r, v.Setup.Viewing, v.Trial.Target, shown, covered)
		}
	}
	draw.Cells(c, cells, m, v.sheet.Shown, paint)
}

// drawCaption names the choice, and what the directions of the sheet mean.
func (v *valueFirst) drawCaption(c *draw.Canvas, line draw.Rect) {
	t := c.Tone
	name := v.sheet.Name(v.tab)
	if v.step == chooseBetween {
		name = "between " + name + " and " + v.sheet.Name(v.neighbour())
	}
	in := line.Inset(draw.Margin)
	axes := "more chroma →   yellower ↓"
	c.Write(in.X+in.W-c.Width(axes), in.Y, axes, t.Faint, false)
	c.Write(in.X, in.Y, c.Clip(name, in.W-c.Width(axes)-2), t.Strong, true)
}
