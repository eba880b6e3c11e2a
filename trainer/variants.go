package trainer

import (
	"fmt"
	"strings"

	"shadedrill/exercises"
	"shadedrill/scoring/reports/learners"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// variantsPage offers the drills of a kind that has several.
type variantsPage struct {
	offers
	kind exercises.Kind
}

func newVariantsPage(a *app, k exercises.Kind) *variantsPage {
	p := &variantsPage{offers: offers{app: a}, kind: k}
	for _, v := range ask.ScreenOf(k.ID()).Variants {
		do := func() { a.push(&exhibitPage{app: a, shown: v.Show(a.cfg.seed(a.drills))}) }
		if v.Show == nil {
			setup := v.Setup
			setup.Kind, setup.Adaptive = k.ID(), adapts(k)
			do = func() { a.startDrill(setup) }
		}
		// The title stands above already.
		text := v.Title
		if name, rest, ok := strings.Cut(text, ": "); ok && strings.HasPrefix(k.Title(), name) {
			text = draw.UpperFirst(rest)
		}
		p.list.Items = append(p.list.Items, draw.Item{Text: text, Do: do})
		p.about = append(p.about, v.About+p.takes(v))
	}
	return p
}

// takes says how long a measurement is, at the learner's own pace where that is known.
func (p *variantsPage) takes(v ask.Variant) string {
	trials := v.Setup.Count
	if trials == 0 {
		trials = ask.ScreenOf(p.kind.ID()).Trials
	}
	if !p.kind.Traits().MeasuresThreshold || v.Show != nil {
		return ""
	}
	minutes, own, err := learners.TakesMinutes(p.ctx, p.cfg.Book, p.learner.ID, p.kind.ID(), trials)
	if err != nil {
		return "" // the drill itself will say that the book cannot be read
	}
	words := fmt.Sprintf(" %s, %s", ask.ScreenOf(p.kind.ID()).TrialCount(trials), learners.AboutMinutes(minutes))
	if own {
		words += " at your pace"
	}
	return words + "."
}

func (p *variantsPage) title() (string, string) { return p.kind.Title(), p.learner.Name }

func (p *variantsPage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	in, about := in.Bottom(3)
	y := c.Paragraph(in, in.Y+1, draw.Sentence(p.kind.Trains()), c.Tone.Plain, false)
	_, in = in.Top(y - in.Y + 1)
	p.list.Draw(c, in)
	c.Paragraph(about, about.Y, p.about[p.list.At], c.Tone.Plain, false)
}
