package trainer

// offers is what pages one step below the menu have in common: a list to take
// from, a line about what is chosen, and the way back.
type offers struct {
	*app
	list  list
	about []string // a line for each item of the list
}

func (p *offers) keys() []keyHelp {
	return append(p.list.keys(), help("m", "menu", "m"), help("?", "help", "?"), help("q", "leave", "q"))
}

func (p *offers) key(k string) bool {
	switch k {
	case "m", "backspace", "escape":
		p.show(newMenuPage(p.app))
	case "q":
		p.quit(nil)
	default:
		return p.list.key(k, p.say)
	}
	return true
}

func (p *offers) pick(i int) { p.list.pick(i) }
