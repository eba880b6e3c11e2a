package trainer

import (
	"fmt"
	"strings"

	"shadedrill/scoring"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// leavePage asks what shall become of a drill under way. Every answer given is
// in the book whatever is chosen.
type leavePage struct {
	*app
	drill *drillPage
	list  draw.List
}

// unsaved says what of the trial under way is lost if the drill is left; "" for nothing.
func (p *drillPage) unsaved() string {
	if a, ok := p.asker.(ask.Unsaved); ok && (p.phase == looking || p.phase == covered) {
		return a.Unsaved()
	}
	return ""
}

// forGood is what becomes of a drill that several people take, if it is ended early.
const forGood = "for good: it is done once, and counts as broken off"

// leave asks before a drill is left; one without answers is just closed.
func (p *drillPage) leave() {
	l := &leavePage{app: p.app, drill: p}
	if p.drill.Given() == 0 {
		if p.unsaved() == "" {
			p.close()
			return
		}
		l.list.Items = []draw.Item{{Text: "go on with this drill", Do: l.back}, {Text: "leave it", Do: p.close}}
		p.push(l)
		return
	}
	end := "with a summary of what was given"
	if p.drill.Sitting().Within != "" {
		end = forGood
	}
	l.list.Items = []draw.Item{
		{Text: "go on with this drill", Do: l.back},
		{Text: "go on another time", Extra: "it will be offered at the next start", Do: p.toMenu},
		{Text: "end it here", Extra: end, Do: func() { p.finish(true) }},
	}
	p.push(l)
}

// close ends a drill without answers.
func (p *drillPage) close() {
	if err := p.drill.End(p.ctx, true); err != nil {
		p.trouble("The end of the drill could not be written to the book.", err, p.close)
		return
	}
	p.toMenu()
}

func (p *leavePage) back() {
	p.pop()
	if _, under := p.drill.drill.Trial(); !under || p.drill.phase == resting && p.drill.asker != nil && p.drill.answered() {
		p.drill.next()
	}
}

// answered reports whether the trial on the screen has its answer already, as
// it has under the feedback.
func (p *drillPage) answered() bool {
	n := len(p.given)
	return n > 0 && p.given[n-1].Attempt.Trial.Ordinal == p.trial.Ordinal
}

func (p *leavePage) title() (string, string) { return p.drill.kind.Title(), "" }

func (p *leavePage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	n := p.drill.drill.Given()
	text := fmt.Sprintf("Your %s kept.", scoring.Count(n, "answer is", "answers are"))
	switch n {
	case 0:
		text = ""
	case 1:
		text = "Your answer is kept."
	}
	text = strings.TrimSpace(text + " " + p.drill.unsaved() + " What now?")
	y := c.Paragraph(in, in.Y+1, text, c.Tone.Plain, false)
	_, in = in.Top(y - in.Y + 1)
	p.list.Draw(c, in)
}

func (p *leavePage) keys() []draw.KeyHelp {
	away := "another time"
	if p.drill.drill.Given() == 0 {
		away = "leave it"
	}
	return append(p.list.Keys(), draw.Help("Esc", "go on with the drill", "escape"), draw.Help("q", away, "q"))
}

func (p *leavePage) key(k string) bool {
	if k == "escape" {
		p.back()
		return true
	}
	if k == "q" {
		p.list.Items[1].Do()
		return true
	}
	return p.list.Key(k, p.say)
}

func (p *leavePage) pick(i int) { p.list.Pick(i) }
