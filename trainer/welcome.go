package trainer

import (
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

// welcomePage opens the first start: what this is, and what it is not.
type welcomePage struct {
	*app
	next func()
}

func (p *welcomePage) title() (string, string) { return "shadedrill", "welcome" }

func (p *welcomePage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Middle(min(76, in.W-2*draw.Margin), in.H)
	y := in.Y + 1
	if in.H > 26 {
		y = in.Y + in.H/5
	}
	for _, l := range []string{
		"Train your eye to take a shade: value first, then chroma and hue.",
		"A colour is shown beside others; you say which comes nearest. After each answer you see how far off it was in ΔE00 and in which direction, and over the days whether your errors go one way (bias) and whether they shrink (trend).",
	} {
		y = c.Paragraph(in, y, l, c.Tone.Plain, false) + 1
	}
	y = c.Paragraph(in, y, "Before you begin", c.Tone.Strong, true) + 1
	for _, l := range scoring.Cautions {
		y = c.Bullet(in, y, l)
	}
	c.Paragraph(in, y+1, "Dim the room evenly, and sit so that no lamp or window shows on the screen.", c.Tone.Plain, false)
}

func (p *welcomePage) keys() []draw.KeyHelp {
	return []draw.KeyHelp{draw.Help("↵", "go on", "enter"), draw.Help("q", "leave", "q")}
}

func (p *welcomePage) key(k string) bool {
	switch k {
	case "enter", "space":
		p.next()
	case "q", "escape":
		p.quit(nil)
	default:
		return false
	}
	return true
}

func (p *welcomePage) pick(int) {}
