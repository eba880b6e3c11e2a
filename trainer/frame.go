package trainer

import (
	"fmt"
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
	size := c.all()
	cramped := size.w < leastWidth || size.h < leastHeight
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
	c.write(head.x+sideMargin, head.y, left, c.tone.strong, true)
	c.write(head.x+head.w-sideMargin-c.width(right), head.y, right, c.tone.faint, false)
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
			x = c.write(x, foot.y+i, k.show, c.tone.strong, true)
			x = c.write(x+1, foot.y+i, k.does, c.tone.plain, false)
			if k.press != "" {
				c.click(rect{from, foot.y + i, x - from, 1}, k.press)
			}
			x += keySpace
		}
	}
	in, line := in.bottom(1)
	c.write(line.x+sideMargin, line.y, a.message, c.tone.strong, false)
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
	c, size := a.canvas, a.canvas.all()
	lines := []string{
		fmt.Sprintf("This window is %d × %d.", size.w, size.h),
		fmt.Sprintf("Please make it %d × %d or larger.", leastWidth, leastHeight),
		"Nothing is lost.",
	}
	y := max(0, (size.h-len(lines))/2)
	for i, l := range lines {
		c.write(max(0, (size.w-c.width(l))/2), y+i, l, c.tone.plain, false)
	}
}
