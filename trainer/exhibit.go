package trainer

import (
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// exhibitPage shows something to look at, not to answer.
type exhibitPage struct {
	*app
	shown ask.Exhibit
}

func (p *exhibitPage) title() (string, string) { return p.shown.Title(), "" }

func (p *exhibitPage) body(c *draw.Canvas, in draw.Rect) { p.shown.Draw(c, in) }

func (p *exhibitPage) keys() []draw.KeyHelp {
	return []draw.KeyHelp{draw.Help("n", "another pair", "n"), draw.Help("⌫", "back", "backspace"), draw.Help("?", "help", "?"), draw.Help("q", "menu", "q")}
}

func (p *exhibitPage) key(k string) bool {
	switch k {
	case "n", "space":
		p.shown.Next()
	case "backspace", "escape", "enter":
		p.pop()
	case "q":
		p.toMenu()
	default:
		return false
	}
	return true
}

func (p *exhibitPage) pick(int) {}

func (p *exhibitPage) help() []string { return p.shown.Help() }
