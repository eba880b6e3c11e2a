package trainer

import (
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

// welcomePage opens the first start: what this is, and what it is not. Where nobody has
// said who practises, it asks for the name as well: one screen less before the first
// colour.
type welcomePage struct {
	*app
	next func()
}

func (p *welcomePage) title() (string, string) { return "shadedrill", "welcome" }

func (p *welcomePage) body(c *draw.Canvas, in draw.Rect) { p.draw(c, in) }

// draw paints the page and returns the row after it.
func (p *welcomePage) draw(c *draw.Canvas, in draw.Rect) int {
	in = in.Middle(min(76, in.W-2*draw.Margin), in.H)
	y := in.Y + 1
	if in.H > 26 {
		y = in.Y + in.H/5
	}
	y = c.Paragraph(in, y, "Train your eye to take a shade: value first, then chroma and hue. A colour is shown beside others; you say which comes nearest, and after each answer you learn how far off it was, which way, and what to look at.", c.Tone.Plain, false) + 1
	y = c.Paragraph(in, y, "Before you begin", c.Tone.Strong, true) + 1
	for _, l := range scoring.Cautions {
		y = c.Bullet(in, y, l)
	}
	return c.Paragraph(in, y+1, "Dim the room evenly, sit so that no lamp or window shows on the screen, and switch night-tint and automatic brightness off.", c.Tone.Plain, false)
}

func (p *welcomePage) keys() []draw.KeyHelp {
	return []draw.KeyHelp{draw.Help("↵", "go on", "enter"), draw.Help("q", "leave", "q")}
}

func (p *welcomePage) key(k string) bool {
	switch k {
	case "enter", "space":
		p.cautioned = true
		p.next()
	case "q", "escape":
		p.quit(nil)
	default:
		return false
	}
	return true
}

func (p *welcomePage) pick(int) {}

// firstPage is the welcome of somebody who has not said a name yet. It leads straight
// into a short first drill; the display check and the menu come after it.
type firstPage struct {
	*namePage
	welcome welcomePage
}

func newFirstPage(a *app, back func()) *firstPage {
	return &firstPage{namePage: &namePage{app: a, back: back, first: true}, welcome: welcomePage{app: a}}
}

func (p *firstPage) title() (string, string) { return p.welcome.title() }

func (p *firstPage) body(c *draw.Canvas, in draw.Rect) {
	y := p.welcome.draw(c, in)
	in = in.Middle(min(76, in.W-2*draw.Margin), in.H)
	x := c.Write(in.X, y+1, "Your name, or a nickname: ", c.Tone.Plain, false)
	x = c.Write(x, y+1, p.text, c.Tone.Strong, true)
	c.Write(x, y+1, "▌", c.Tone.Strong, false)
	c.Write(in.X, y+2, "Your answers are kept under it, on this computer.", c.Tone.Faint, false)
}

func (p *firstPage) keys() []draw.KeyHelp {
	keys := p.namePage.keys()
	keys[0] = draw.Help("↵", "begin with a short drill", "enter")
	return keys
}
