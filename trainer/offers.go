package trainer

import "shadedrill/trainer/draw"

// offers is what pages one step below the menu have in common: a list to take
// from, a line about what is chosen, and the way back.
type offers struct {
	*app
	list  draw.List
	about []string // a line for each item of the list
}

func (p *offers) keys() []draw.KeyHelp {
	return append(p.list.Keys(), draw.Help("?", "help", "?"), draw.Help("q", "menu", "q"))
}

func (p *offers) key(k string) bool {
	switch k {
	case "m", "backspace", "escape":
		p.show(newMenuPage(p.app))
	case "q":
		p.toMenu()
	default:
		return p.list.Key(k, p.say)
	}
	return true
}

func (p *offers) pick(i int) { p.list.Pick(i) }
