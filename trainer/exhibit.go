package trainer

// exhibitPage shows something to look at, not to answer.
type exhibitPage struct {
	*app
	shown exhibit
}

func (p *exhibitPage) title() (string, string) { return p.shown.title(), "" }

func (p *exhibitPage) body(c *canvas, in rect) { p.shown.draw(c, in) }

func (p *exhibitPage) keys() []keyHelp {
	return []keyHelp{help("n", "another pair", "n"), help("⌫", "back", "backspace"), help("?", "help", "?")}
}

func (p *exhibitPage) key(k string) bool {
	switch k {
	case "n", "space":
		p.shown.next()
	case "backspace", "escape", "enter", "q":
		p.pop()
	default:
		return false
	}
	return true
}

func (p *exhibitPage) pick(int) {}

func (p *exhibitPage) help() []string { return p.shown.help() }
