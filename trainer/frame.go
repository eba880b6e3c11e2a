package trainer

import (
	"fmt"

	"shadedrill/colour"
)

// draw paints the page on top into its frame:
//
//	title                                              what is left
//	┌ body ───────────────────────────────────────────────────────┐
//	└─────────────────────────────────────────────────────────────┘
//	one line of message
//	every key that does something
func (a *app) draw() {
	p := a.top()
	ground := usualRoom
	if r, ok := p.(roomed); ok {
		ground = r.room()
	}
	c := a.canvas
	c.begin(ground)
	if a.tone.ground != ground || a.tone == (tones{}) {
		a.tone = tonesOn(ground)
	}
	cramped := c.w < leastWidth || c.h < leastHeight
	if cramped != a.cramped {
		if cramped {
			a.pauseTop()
			a.cramped = true
		} else {
			a.cramped = false
			a.resumeTop()
		}
	}
	switch b, isBare := p.(bare); {
	case cramped:
		a.drawCramped()
	case isBare && b.bare():
		p.body(c, c.all())
	default:
		keys := p.keys()
		a.drawFramed(p, keys)
		// Whether a text needs scrolling is known once it is laid out; then the
		// foot has other keys.
		if again := p.keys(); len(again) != len(keys) {
			c.begin(ground)
			a.drawFramed(p, again)
		}
	}
	c.end()
}

const sideMargin = 2

// The stage is the part of a large window that is used: beyond this size the
// eye would have to wander between text and patches, and the patches would
// light up the room.
const (
	stageWidth  = 132
	stageHeight = 46
)

func (a *app) drawFramed(p page, keys []keyHelp) {
	c, in := a.canvas, a.canvas.all().middle(stageWidth, stageHeight)
	head, in := in.top(1)
	left, right := p.title()
	c.write(head.x+sideMargin, head.y, left, a.tone.strong, true)
	c.write(head.x+head.w-sideMargin-c.width(right), head.y, right, a.tone.faint, false)
	in = a.drawFoot(keys, in)
	p.body(c, in)
}

// drawFoot paints the message and the keys and returns the room above them.
func (a *app) drawFoot(keys []keyHelp, in rect) rect {
	c := a.canvas
	rows := a.keyRows(keys, in.w-2*sideMargin)
	in, foot := in.bottom(len(rows))
	for i, row := range rows {
		x := foot.x + sideMargin
		for _, k := range row {
			from := x
			x = c.write(x, foot.y+i, k.show, a.tone.strong, true)
			x = c.write(x+1, foot.y+i, k.does, a.tone.plain, false)
			if k.press != "" {
				c.click(rect{from, foot.y + i, x - from, 1}, k.press)
			}
			x += keySpace
		}
	}
	in, line := in.bottom(1)
	c.write(line.x+sideMargin, line.y, a.message, a.tone.strong, false)
	return in
}

const keySpace = 3

// keyRows breaks the keys into as few lines as they need.
func (a *app) keyRows(keys []keyHelp, width int) [][]keyHelp {
	var rows [][]keyHelp
	used := width + 1
	for _, k := range keys {
		w := a.canvas.width(k.show) + 1 + a.canvas.width(k.does)
		if used+keySpace+w > width {
			rows, used = append(rows, nil), -keySpace
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], k)
		used += keySpace + w
	}
	return rows
}

// drawCramped says calmly that the window is too small. Whatever was under way
// waits below.
func (a *app) drawCramped() {
	c := a.canvas
	lines := []string{
		fmt.Sprintf("This window is %d × %d.", c.w, c.h),
		fmt.Sprintf("Please make it %d × %d or larger.", leastWidth, leastHeight),
		"Nothing is lost.",
	}
	y := max(0, (c.h-len(lines))/2)
	for i, l := range lines {
		c.write(max(0, (c.w-c.width(l))/2), y+i, l, a.tone.plain, false)
	}
}

// paragraph writes text broken into lines and returns the row after it.
func (a *app) paragraph(in rect, y int, text string, ink colour.SRGB, bold bool) int {
	for _, l := range wrap(a.canvas, text, in.w) {
		if y < in.y+in.h {
			a.canvas.write(in.x, y, l, ink, bold)
		}
		y++
	}
	return y
}
