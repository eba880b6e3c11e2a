package trainer

import (
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

// whoPage asks which of the people in the book is here.
type whoPage struct {
	*app
	list draw.List
}

func newWhoPage(a *app, people []scoring.Learner) *whoPage {
	a.cautioned = false
	p := &whoPage{app: a}
	for _, l := range people {
		if l.Simulated {
			continue
		}
		p.list.Items = append(p.list.Items, draw.Item{Text: l.Name, Do: func() {
			a.learner = l
			a.recall()
		}})
	}
	p.list.Items = append(p.list.Items, draw.Item{Text: "somebody new", Gap: len(p.list.Items) > 0, Do: func() {
		back := func() { a.show(p) }
		if a.asksNothing() && !a.cfg.SkipWelcome {
			a.show(newFirstPage(a, back))
			return
		}
		a.show(&namePage{app: a, back: back})
	}})
	return p
}

func (p *whoPage) title() (string, string) { return "Who is practising?", "" }

func (p *whoPage) body(c *draw.Canvas, in draw.Rect) {
	_, in = in.Inset(draw.Margin).Top(1)
	p.list.Draw(c, in)
}

func (p *whoPage) keys() []draw.KeyHelp {
	away := "leave"
	if p.known() {
		away = "menu"
	}
	return append(p.list.Keys(), draw.Help("q", away, "q"))
}

// known reports whether somebody practises already, who looks who else there is.
func (p *whoPage) known() bool { return p.learner.ID != "" }

func (p *whoPage) key(k string) bool {
	if k == "q" || k == "escape" {
		if p.known() {
			p.show(newMenuPage(p.app))
			return true
		}
		p.quit(nil)
		return true
	}
	return p.list.Key(k, p.say)
}

func (p *whoPage) pick(i int) { p.list.Pick(i) }
