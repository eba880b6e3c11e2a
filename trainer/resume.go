package trainer

import (
	"fmt"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// resumePage offers a drill that was broken off.
type resumePage struct {
	*app
	sitting scoring.Sitting
	kind    exercises.Kind
	given   int
	planned int
	last    time.Time // when the last answer was given
	list    draw.List
}

// newResumePage returns nil for a sitting without an answer, which is closed
// once nobody can be at it any more.
func newResumePage(a *app, s scoring.Sitting) (*resumePage, error) {
	kind, err := exercises.ByID(s.Setup.Kind)
	if err != nil || !ask.Shown(s.Setup.Kind) {
		return nil, nil // from a newer program: left alone
	}
	p := &resumePage{app: a, sitting: s, kind: kind, last: s.Started}
	for at, err := range a.cfg.Book.Attempts(a.ctx, record.Filter{Sitting: s.ID, Silent: true}) {
		if err != nil {
			return nil, err
		}
		p.given++
		p.last = at.At
	}
	if p.given == 0 {
		if a.now().Sub(s.Started) > 24*time.Hour {
			return nil, a.cfg.Book.EndSitting(a.ctx, s.ID, s.Started, true)
		}
		return nil, nil
	}
	p.planned = a.planned(s)
	end := draw.Item{Text: "keep what was given", Extra: "and end the drill there", Do: p.keep}
	if s.Within != "" {
		end.Text, end.Extra = "end it here", forGood
	}
	p.list.Items = []draw.Item{
		{Text: "go on with it", Do: p.goOn},
		end,
		{Text: "decide later", Do: a.home},
	}
	return p, nil
}

func (p *resumePage) goOn() {
	d, err := record.Resume(p.ctx, p.cfg.Book, p.sitting.ID, p.cfg.Clock)
	if err != nil {
		p.trouble("The drill cannot be taken up again. What was given is kept.", err, p.goOn)
		return
	}
	p.set, _ = p.testOf(p.sitting) // whose other parts follow
	p.following, p.planDay = p.sitting.Setup.Planned, p.now()
	p.drills++
	p.showDrill(d)
}

func (p *resumePage) keep() {
	if err := p.cfg.Book.EndSitting(p.ctx, p.sitting.ID, p.last, true); err != nil {
		p.trouble("The end of the drill could not be written to the book.", err, p.keep)
		return
	}
	p.offer()
}

func (p *resumePage) title() (string, string) { return "A drill was broken off", p.learner.Name }

func (p *resumePage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	what := "the drill “" + p.kind.Title() + "”"
	if name := p.sitting.SetTitle(); name != "" {
		what = "the " + name
	}
	text := fmt.Sprintf("You broke off %s on %s after %d of %s.",
		what, scoring.Zoned(p.last, "2 January at 15:04"), p.given, ask.ScreenOf(p.kind.ID()).TrialCount(p.planned))
	y := c.Paragraph(in, in.Y+1, text, c.Tone.Plain, false)
	_, in = in.Top(y - in.Y + 1)
	p.list.Draw(c, in)
}

func (p *resumePage) keys() []draw.KeyHelp {
	return append(p.list.Keys(), draw.Help("q", "another time", "q"))
}

func (p *resumePage) key(k string) bool {
	if k == "q" || k == "escape" {
		p.home()
		return true
	}
	return p.list.Key(k, p.say)
}

func (p *resumePage) pick(i int) { p.list.Pick(i) }
