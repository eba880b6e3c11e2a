package trainer

import (
	"strings"

	"shadedrill/trainer/draw"
)

// choicePage is a list of things to choose from.
type choicePage struct {
	*app
	head  string
	about string // above the list
	list  draw.List
}

func (p *choicePage) title() (string, string) { return p.head, p.learner.Name }

func (p *choicePage) body(c *draw.Canvas, in draw.Rect) {
	_, in = in.Inset(draw.Margin).Top(1)
	if p.about != "" {
		y := c.Paragraph(in, in.Y, p.about, c.Tone.Plain, false) + 1
		_, in = in.Top(y - in.Y)
	}
	p.list.Draw(c, in)
}

func (p *choicePage) keys() []draw.KeyHelp {
	return append(p.list.Keys(), draw.Help("⌫", "back", "backspace"), draw.Help("q", "menu", "q"))
}

func (p *choicePage) key(k string) bool {
	switch k {
	case "backspace", "escape":
		p.pop()
	case "q":
		p.toMenu()
	default:
		return p.list.Key(k, p.say)
	}
	return true
}

func (p *choicePage) pick(i int) { p.list.Pick(i) }

// linePage asks for a line of text; take says what is wrong with it, or goes on.
type linePage struct {
	*app
	head, ask, hint string
	text            string
	take            func(text string) (wrong string)
}

const longestLine = 120

func (p *linePage) title() (string, string) { return p.head, p.learner.Name }

func (p *linePage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	y := c.Paragraph(in, in.Y+1, p.ask, c.Tone.Plain, false)
	y = c.Paragraph(in, y, p.hint, c.Tone.Faint, false) + 1
	shown := []rune(p.text)
	shown = shown[max(0, len(shown)-in.W+2):]
	x := c.Write(in.X, y, string(shown), c.Tone.Strong, true)
	c.Write(x, y, "▌", c.Tone.Strong, false)
}

func (p *linePage) keys() []draw.KeyHelp {
	return []draw.KeyHelp{draw.Help("↵", "take it", "enter"), draw.Help("⌫", "delete a letter", "backspace"), draw.Help("Esc", "back", "escape")}
}

func (p *linePage) typed(text string) {
	if len([]rune(p.text+text)) > longestLine {
		p.say("That is too long.")
		return
	}
	p.text += text
}

func (p *linePage) key(k string) bool {
	switch k {
	case "enter":
		if wrong := p.take(strings.TrimSpace(p.text)); wrong != "" {
			p.say(wrong)
		}
	case "backspace", "delete":
		if r := []rune(p.text); len(r) > 0 {
			p.text = string(r[:len(r)-1])
		} else {
			p.say("There is nothing to delete.")
		}
	case "escape":
		p.pop()
	default:
		return false
	}
	return true
}

func (p *linePage) pick(int) {}
