package trainer

import (
	"fmt"
	"strings"

	"shadedrill/trainer/draw"
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
	c.Begin(ground)
	a.line = draw.Rect{}
	size := c.All()
	cramped := size.W < leastWidth || size.H < leastHeight
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
		a.tell(nil, nil)
	case isBare && b.bare():
		p.body(c, c.All())
		a.tell(p, p.keys())
	default:
		keys := p.keys()
		a.drawFramed(p, keys)
		// Whether a text needs scrolling is known once it is laid out; then the
		// foot has other keys.
		if again := p.keys(); len(again) != len(keys) {
			c.Begin(ground)
			keys = again
			a.drawFramed(p, keys)
		}
		a.tell(p, keys)
	}
	if !cramped {
		a.seen() // before it is shown: a key that comes at once must not come before it
	}
	c.End()
}

// drawTitle paints the title of the picture that is shown anew, and nothing else; false
// where that cannot be.
func (a *app) drawTitle() bool {
	if a.cramped {
		return false
	}
	c := a.canvas
	head, _ := c.All().Middle(stageWidth, stageHeight).Top(1)
	if !c.Row(head.Y) {
		return false
	}
	a.drawHead(head)
	c.End()
	return true
}

func (a *app) drawHead(head draw.Rect) {
	c := a.canvas
	left, right := a.top().title()
	c.Write(head.X+draw.Margin, head.Y, left, c.Tone.Strong, true)
	c.Write(head.X+head.W-draw.Margin-c.Width(right), head.Y, right, c.Tone.Faint, false)
}

// The stage is the part of a large window that is used: beyond this size the
// eye would have to wander between text and patches, and the patches would
// light up the room.
const (
	stageWidth  = 132
	stageHeight = 46
)

func (a *app) drawFramed(p page, keys []draw.KeyHelp) {
	c, in := a.canvas, a.canvas.All().Middle(stageWidth, stageHeight)
	head, in := in.Top(1)
	a.drawHead(head)
	rows := 0
	if s, ok := p.(still); ok {
		rows = s.footRows(in.W)
	}
	in = a.drawFoot(keys, rows, in)
	p.body(c, in)
}

// still is a page whose picture must not move when a key more is shown: it says how
// many rows its keys may take.
type still interface{ footRows(width int) int }

// drawFoot paints the message and the keys and returns the room above them.
func (a *app) drawFoot(keys []draw.KeyHelp, reserved int, in draw.Rect) draw.Rect {
	c := a.canvas
	rows := a.keyRows(keys, in.W-2*draw.Margin)
	in, foot := in.Bottom(max(len(rows), reserved))
	for i, row := range rows {
		x := foot.X + draw.Margin
		for _, k := range row {
			from := x
			x = c.Write(x, foot.Y+i, k.Show, c.Tone.Strong, true)
			x = c.Write(x+1, foot.Y+i, k.Does, c.Tone.Plain, false)
			if k.Press != "" {
				c.Click(draw.Box(from, foot.Y+i, x-from, 1), k.Press)
			}
			x += keySpace
		}
	}
	in, line := in.Bottom(1)
	c.Write(line.X+draw.Margin, line.Y, a.message, c.Tone.Strong, false)
	a.line = line
	return in
}

const keySpace = 3

// keyRows breaks the keys into as few lines as they need.
func (a *app) keyRows(keys []draw.KeyHelp, width int) [][]draw.KeyHelp {
	var rows [][]draw.KeyHelp
	used := width + 1
	for _, k := range keys {
		w := a.canvas.Width(k.Show) + 1 + a.canvas.Width(k.Does)
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
	c, size := a.canvas, a.canvas.All()
	lines := []string{
		fmt.Sprintf("This window is %d × %d.", size.W, size.H),
		fmt.Sprintf("Please make it %d × %d or larger.", leastWidth, leastHeight),
		"Nothing is lost.",
	}
	y := max(0, (size.H-len(lines))/2)
	if size.W < c.Width(lines[1]) {
		c.Paragraph(size, 0, strings.Join(lines, " "), c.Tone.Plain, false)
		return
	}
	for i, l := range lines {
		c.Write(max(0, (size.W-c.Width(l))/2), y+i, l, c.Tone.Plain, false)
	}
}
