package trainer

import (
	"shadedrill/colour"
)

// The picture of value first: the field above, and below it the strip of groups
// or the sheet of one group. In the row view everything that can be chosen
// stands beside the target at once.

func (v *valueFirst) draw(c *canvas, in rect, covered bool) {
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

func (v *valueFirst) drawField(c *canvas, in rect, covered bool) {
	if v.field != nil {
		v.field(c, in, v.chosen(), covered)
		return
	}
	drawField(c, in, v.setup.Viewing, matching(v.trial.Target, v.chosen()), covered)
}

func (v *valueFirst) groupChoices() []choice {
	var all []choice
	for i, g := range v.sheet.Groups() {
		all = append(all, choice{v.sheet.Shown(v.middle(i)), g.Name})
	}
	return all
}

func (v *valueFirst) drawStrip(c *canvas, in rect, covered bool) {
	patch := 3
	if in.h >= 34 {
		patch = 5
	}
	upper, lower := in.bottom(stripHeight(patch))
	field, _ := upper.bottom(1)
	v.drawField(c, field, covered)
	drawStrip(c, lower.inset(sideMargin), v.groupChoices(), marks{at: v.group, other: -1})
}

// drawGroupRows puts a pair for every group into as square a block as fits.
func (v *valueFirst) drawGroupRows(c *canvas, in rect, covered bool) {
	in = in.inset(sideMargin)
	all := v.groupChoices()
	t := c.tone
	columns, pitchY := blockOf(len(all), in)
	pitchX := in.w / columns
	visible := max(1, in.h/pitchY)
	at := v.group / columns
	v.from = max(at-visible+1, min(v.from, at))
	for i, ch := range all {
		row := i/columns - v.from
		if row < 0 || row >= visible {
			continue
		}
		cell := rect{in.x + (i%columns)*pitchX, in.y + row*pitchY, pitchX - 3, pitchY - 3}
		pairing(c, cell, v.setup.Viewing, v.trial.Target, ch.colour, covered)
		ink, on := t.faint, i == v.group
		if on {
			ink = t.strong
			bracket(c, cell.x, cell.y+cell.h, cell.w, ink)
		}
		c.write(cell.x+(cell.w-c.width(ch.label))/2, cell.y+cell.h+1, ch.label, ink, on)
		c.item(rect{cell.x, cell.y, cell.w, cell.h + 2}, i)
	}
}

// leastPairRows is what a pair with its caption needs: two rows of patch, the
// mark, the caption, a blank.
const leastPairRows = 5

// blockOf chooses in how many columns n pairs stand, so that each is as large as
// can be while about twice as wide as high, and how many rows each takes. A cell
// is about twice as high as wide.
func blockOf(n int, in rect) (columns, pitch int) {
	size := -1
	for cols := 1; cols <= 6; cols++ {
		rows := (n + cols - 1) / cols
		p := max(leastPairRows, min(in.h/rows, 14))
		if s := min((in.w/cols-3)/4, p-3); s > size {
			size, columns, pitch = s, cols, p
		}
	}
	return columns, pitch
}

// drawSheet paints the tabs of the group. With pairs each stands beside the
// target; otherwise the field above shows target and choice large.
func (v *valueFirst) drawSheet(c *canvas, in rect, covered, pairs bool) {
	upper, caption := in.bottom(1)
	v.drawCaption(c, caption)
	area := upper
	widest := max(2*widestPitch, 4*(area.h/v.grid().rows()))
	if !pairs {
		widest = widestPitch + 4
		rows := v.grid().rows()
		height := max(2*rows, min(upper.h*9/20/rows, 4)*rows)
		height = min(height, upper.h*2/3)
		var field rect
		field, area = upper.bottom(height)
		field, _ = field.bottom(1)
		v.drawField(c, field, covered)
	}
	area = area.inset(sideMargin)
	cells := v.grid().lay(area, v.tab, widest)
	m := marks{at: v.tab, other: -1}
	if v.step == chooseBetween {
		m.other = v.neighbour()
	}
	paint := c.swatch
	if pairs {
		paint = func(r rect, shown colour.SRGB) {
			pairing(c, r, v.setup.Viewing, v.trial.Target, shown, covered)
		}
	}
	drawGrid(c, cells, m, v.sheet.Shown, paint)
}

// drawCaption names the choice, and what the directions of the sheet mean.
func (v *valueFirst) drawCaption(c *canvas, line rect) {
	t := c.tone
	name := v.sheet.Name(v.tab)
	if v.step == chooseBetween {
		name = "between " + name + " and " + v.sheet.Name(v.neighbour())
	}
	in := line.inset(sideMargin)
	axes := "more chroma →   yellower ↓"
	c.write(in.x+in.w-c.width(axes), in.y, axes, t.faint, false)
	c.write(in.x, in.y, c.clip(name, in.w-c.width(axes)-2), t.strong, true)
}
