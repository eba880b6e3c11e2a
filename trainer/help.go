package trainer

import "shadedrill/scoring"

// helpPage explains the page under it: its keys, and how things are done here.
type helpPage struct {
	*app
	under page
	text  prose
}

// helped is a page with something of its own to explain.
type helped interface{ help() []string }

func (p *helpPage) title() (string, string) { return "Help", "" }

func (p *helpPage) lines(c *canvas, width int) []proseLine {
	var lines []proseLine
	add := func(text string, strong bool) {
		for _, l := range c.wrap(text, width) {
			lines = append(lines, proseLine{text: l, strong: strong})
		}
	}
	left, _ := p.under.title()
	add(left, true)
	if h, ok := p.under.(helped); ok {
		for _, l := range h.help() {
			add(l, false)
		}
	}
	lines = append(lines, proseLine{})
	add("Keys on that page", true)
	for _, k := range p.under.keys() {
		pad := k.show
		for c.width(pad) < 10 {
			pad += " "
		}
		add(pad+k.does, false)
		last := &lines[len(lines)-1]
		last.text = pad + k.does // wrapping would close the gap
	}
	lines = append(lines, proseLine{})
	add("Everywhere", true)
	for _, l := range []string{
		"A click chooses, a second click on the same thing takes it. A click on a key at the foot presses it, and the wheel turns like the arrows.",
		"Ctrl-C leaves at once. Every answer is on the disk before its feedback appears; a drill that was broken off is offered at the next start.",
		"The clock of a trial stands while you read this.",
	} {
		add(l, false)
	}
	lines = append(lines, proseLine{})
	add("The numbers", true)
	for _, l := range []string{
		"ΔE00 is the CIEDE2000 colour difference between what was shown and what you chose. Its parts say how much of it is value (lighter, darker), chroma (more, less) and hue (redder, yellower).",
		"Everything is computed from the very bytes that the screen was sent.",
	} {
		add(l, false)
	}
	lines = append(lines, proseLine{})
	for _, l := range scoring.Cautions {
		add(l, false)
	}
	return lines
}

func (p *helpPage) body(c *canvas, in rect) {
	_, in = in.inset(sideMargin).top(1)
	p.text.draw(c, in, p.lines(c, in.w))
}

func (p *helpPage) keys() []keyHelp {
	return append(p.text.keys(), help("⌫", "back", "backspace"))
}

func (p *helpPage) key(k string) bool {
	switch k {
	case "backspace", "escape", "enter", "?", "q":
		p.pop()
	default:
		return p.text.key(k)
	}
	return true
}

func (p *helpPage) pick(int) {}
