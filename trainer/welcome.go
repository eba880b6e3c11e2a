package trainer

import "shadedrill/scoring"

// welcomePage opens the first start: what this is, and what it is not.
type welcomePage struct {
	*app
	next func()
}

func (p *welcomePage) title() (string, string) { return "shadedrill", "welcome" }

func (p *welcomePage) body(c *canvas, in rect) {
	in = in.middle(min(76, in.w-2*sideMargin), in.h)
	y := in.y + 1
	if in.h > 26 {
		y = in.y + in.h/5
	}
	for _, l := range []string{
		"Train your eye to take a shade: value first, then chroma and hue.",
		"A colour is shown beside others; you say which comes nearest. After each answer you see how far off it was in ΔE00 and in which direction, and over the days which way your eye leans and whether it gets better.",
	} {
		y = c.paragraph(in, y, l, c.tone.plain, false) + 1
	}
	y = c.paragraph(in, y, "Before you begin", c.tone.strong, true) + 1
	for _, l := range scoring.Cautions {
		y = c.bullet(in, y, l)
	}
	c.paragraph(in, y+1, "Dim the room evenly, and sit so that no lamp or window shows on the screen.", c.tone.plain, false)
}

func (p *welcomePage) keys() []keyHelp {
	return []keyHelp{help("↵", "go on", "enter"), help("q", "leave", "q")}
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
