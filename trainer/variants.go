package trainer

import (
	"strings"

	"shadedrill/exercises"
)

// variantsPage offers the drills of a kind that has several.
type variantsPage struct {
	offers
	kind exercises.Kind
}

func newVariantsPage(a *app, k exercises.Kind) *variantsPage {
	p := &variantsPage{offers: offers{app: a}, kind: k}
	for _, v := range screenOf(k.ID()).variants {
		do := func() { a.push(&exhibitPage{app: a, shown: v.show(a.cfg.seed(a.drills))}) }
		if v.show == nil {
			setup := v.setup
			setup.Kind, setup.Adaptive = k.ID(), adapts(k)
			do = func() { a.startDrill(setup, "") }
		}
		// The title stands above already.
		text := v.title
		if rest, ok := strings.CutPrefix(text, k.Title()+": "); ok {
			text = upperFirst(rest)
		}
		p.list.items = append(p.list.items, listItem{text: text, do: do})
		p.about = append(p.about, v.about)
	}
	return p
}

func (p *variantsPage) title() (string, string) { return p.kind.Title(), p.learner.Name }

func (p *variantsPage) body(c *canvas, in rect) {
	in = in.inset(sideMargin)
	in, about := in.bottom(3)
	y := c.paragraph(in, in.y+1, sentence(p.kind.Trains()), c.tone.plain, false)
	_, in = in.top(y - in.y + 1)
	p.list.draw(c, in)
	c.paragraph(about, about.y, p.about[p.list.at], c.tone.plain, false)
}
