package trainer

import "shadedrill/scoring"

// whoPage asks which of the people in the book is here.
type whoPage struct {
	*app
	list list
}

func newWhoPage(a *app, people []scoring.Learner) *whoPage {
	p := &whoPage{app: a}
	for _, l := range people {
		if l.Simulated {
			continue
		}
		p.list.items = append(p.list.items, listItem{text: l.Name, do: func() {
			a.learner = l
			a.recall()
		}})
	}
	p.list.items = append(p.list.items, listItem{text: "somebody new", gap: len(p.list.items) > 0, do: func() {
		a.show(&namePage{app: a, back: func() { a.show(p) }})
	}})
	return p
}

func (p *whoPage) title() (string, string) { return "Who is practising?", "" }

func (p *whoPage) body(c *canvas, in rect) {
	_, in = in.inset(sideMargin).top(1)
	p.list.draw(c, in)
}

func (p *whoPage) keys() []keyHelp { return append(p.list.keys(), help("q", "leave", "q")) }

func (p *whoPage) key(k string) bool {
	if k == "q" || k == "escape" {
		p.quit(nil)
		return true
	}
	return p.list.key(k, p.say)
}

func (p *whoPage) pick(i int) { p.list.pick(i) }
