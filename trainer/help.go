package trainer

import (
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

// helpPage explains the page under it: its keys, and how things are done here.
type helpPage struct {
	*app
	under page
	text  draw.Prose
}

// helped is a page with something of its own to explain.
type helped interface{ help() []string }

func (p *helpPage) title() (string, string) { return "Help", "" }

func (p *helpPage) lines(c *draw.Canvas, width int) []draw.Line {
	var lines []draw.Line
	add := func(text string, strong bool) {
		for _, l := range c.Wrap(text, width) {
			lines = append(lines, draw.Line{Text: l, Strong: strong})
		}
	}
	left, _ := p.under.title()
	add(left, true)
	if h, ok := p.under.(helped); ok {
		for _, l := range h.help() {
			add(l, false)
		}
	}
	lines = append(lines, draw.Line{})
	add("Keys on that page", true)
	for _, k := range p.under.keys() {
		pad := k.Show
		for c.Width(pad) < 10 {
			pad += " "
		}
		add(pad+k.Does, false)
		last := &lines[len(lines)-1]
		last.Text = pad + k.Does // wrapping would close the gap
	}
	lines = append(lines, draw.Line{})
	add("Everywhere", true)
	for _, l := range []string{
		"A click chooses, a second click on the same thing takes it. A click on a key at the foot presses it, and the wheel turns like the arrows.",
		"Ctrl-C leaves at once. Every answer is on the disk before its feedback appears; a drill that was broken off is offered at the next start.",
		"The clock of a trial stops while you read this.",
	} {
		add(l, false)
	}
	if p.cfg.setAside != nil {
		add("Ctrl-Z gives the terminal back to the shell; fg goes on where you were.", false)
	}
	lines = append(lines, draw.Line{})
	add("ΔE00 is the CIEDE2000 colour difference, computed from the exact colours that were sent to the screen. The glossary (g) says what it means.", false)
	lines = append(lines, draw.Line{})
	for _, l := range scoring.Cautions {
		add(l, false)
	}
	return lines
}

func (p *helpPage) body(c *draw.Canvas, in draw.Rect) {
	_, in = in.Inset(draw.Margin).Top(1)
	p.text.Draw(c, in, p.lines(c, in.W))
}

func (p *helpPage) keys() []draw.KeyHelp {
	return append(p.text.Keys(), draw.Help("g", "glossary", "g"), draw.Help("⌫", "back", "backspace"))
}

func (p *helpPage) key(k string) bool {
	switch k {
	case "backspace", "escape", "enter", "?", "q":
		p.pop()
	default:
		return p.text.Key(k)
	}
	return true
}

func (p *helpPage) pick(int) {}
