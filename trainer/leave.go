package trainer

import "fmt"

// leavePage asks what shall become of a drill under way. Every answer given is
// in the book whatever is chosen.
type leavePage struct {
	*app
	drill *drillPage
	list  list
}

// leave asks before a drill is left; one without answers is just closed.
func (p *drillPage) leave() {
	if p.drill.Given() == 0 {
		if err := p.drill.End(p.ctx, true); err != nil {
			p.trouble("The end of the drill could not be written to the book.", err, p.leave)
			return
		}
		p.show(newMenuPage(p.app))
		return
	}
	l := &leavePage{app: p.app, drill: p}
	l.list.items = []listItem{
		{text: "go on with this drill", do: l.back},
		{text: "go on another time", extra: "it will be offered at the next start", do: func() { p.show(newMenuPage(p.app)) }},
		{text: "end it here", extra: "with a summary of what was given", do: func() { p.finish(true) }},
	}
	p.push(l)
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
	return n > 0 && p.given[n-1].attempt.Trial.Ordinal == p.trial.Ordinal
}

func (p *leavePage) title() (string, string) { return p.drill.kind.Title(), "" }

func (p *leavePage) body(c *canvas, in rect) {
	in = in.inset(sideMargin)
	n := p.drill.drill.Given()
	text := fmt.Sprintf("Your %s kept. What now?", count(n, "answer is", "answers are"))
	if n == 1 {
		text = "Your answer is kept. What now?"
	}
	y := c.paragraph(in, in.y+1, text, c.tone.plain, false)
	_, in = in.top(y - in.y + 1)
	p.list.draw(c, in)
}

func (p *leavePage) keys() []keyHelp {
	return append(p.list.keys(), help("Esc", "go on with the drill", "escape"))
}

func (p *leavePage) key(k string) bool {
	if k == "escape" {
		p.back()
		return true
	}
	if k == "q" {
		p.say("Choose a line and press Enter; Ctrl-C leaves the program at once and keeps the drill for another time.")
		return true
	}
	return p.list.key(k, p.say)
}

func (p *leavePage) pick(i int) { p.list.pick(i) }
