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

// byAttribute are the variants of a kind that can be narrowed to one attribute: first
// the usual drill, then each attribute alone, with a half sentence about it.
func byAttribute(title string, usual variant, alone string) []variant {
	list := []variant{usual}
	for _, name := range exercises.AttributeNames() {
		list = append(list, variant{title + ": " + name + " alone", "Only " + name + ": " + alone + ".", exercises.Setup{Attribute: name}, nil})
	}
	return list
}

func newVariantsPage(a *app, k exercises.Kind) *variantsPage {
	p := &variantsPage{offers: offers{app: a}, kind: k}
	for _, v := range screens[k.ID()].variants {
		do := func() { v.open(a) }
		if v.open == nil {
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
	y := p.paragraph(in, in.y+1, sentence(p.kind.Trains()), p.tone.plain, false)
	_, in = in.top(y - in.y + 1)
	p.list.draw(p.app, in)
	p.paragraph(about, about.y, p.about[p.list.at], p.tone.plain, false)
}
