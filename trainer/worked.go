package trainer

import (
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// workedPage goes through one trial with words, as somebody would who shows it to a
// colleague: the same pictures as in a drill, with what to look at in each. Nothing is
// answered and nothing kept.
type workedPage struct {
	*app
	asker ask.Asker
	steps []ask.Worked
	at    int
}

// worked shows the worked trial of the exercise whose brief is on the screen.
func (p *drillPage) worked() {
	w := p.screen.Worked
	t, ok := p.drill.Trial()
	if w == nil || !ok {
		return
	}
	t, steps := w(t, p.setup)
	asker, err := p.screen.Ask(ask.Question{Trial: t, Setup: p.setup})
	if err != nil {
		p.trouble("The trial cannot be shown.", err, nil)
		return
	}
	page := &workedPage{app: p.app, asker: asker, steps: steps, at: -1}
	page.next()
	p.push(page)
}

func (p *workedPage) next() {
	p.at++
	if p.at < len(p.steps) {
		for _, k := range p.steps[p.at].Keys {
			p.asker.Key(k)
		}
	}
}

func (p *workedPage) title() (string, string) { return "A worked trial", "nothing is kept" }

func (p *workedPage) body(c *draw.Canvas, in draw.Rect) {
	in, words := in.Bottom(4)
	line, in := in.Top(2)
	c.Write(line.X+draw.Margin, line.Y, c.Clip(p.asker.Prompt(), line.W-2*draw.Margin), c.Tone.Plain, false)
	p.asker.Draw(c, in, false)
	words = words.Inset(draw.Margin)
	c.Paragraph(words, words.Y+1, p.steps[p.at].Says, c.Tone.Strong, true)
}

func (p *workedPage) keys() []draw.KeyHelp {
	does := "next"
	if p.at == len(p.steps)-1 {
		does = "back, to begin"
	}
	return []draw.KeyHelp{draw.Help("↵", does, "enter"), draw.Help("⌫", "back", "backspace"), draw.Help("g", "glossary", "g")}
}

func (p *workedPage) key(k string) bool {
	switch k {
	case "enter", "space":
		if p.at == len(p.steps)-1 {
			p.pop()
			return true
		}
		p.next()
	case "backspace", "escape", "q":
		p.pop()
	default:
		return false
	}
	return true
}

func (p *workedPage) scene() scene { return scene{of: "worked", step: p.asker.Prompt()} }

func (p *workedPage) pick(int) {}
