package trainer

import (
	"errors"
	"fmt"
	"strings"

	"shadedrill/scoring/record"
	"shadedrill/trainer/draw"
)

// namePage asks for a new name.
type namePage struct {
	*app
	text string
	seen string // a name of which was said that it looks like another
	back func() // to where it came from; nil leaves the program
	// first says that the cautions stand above, and a first drill follows for a new name.
	first bool
}

const longestName = 60

func (p *namePage) title() (string, string) { return "Your name", "" }

func (p *namePage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	y := c.Paragraph(in, in.Y+1, "Under which name shall your answers be kept?", c.Tone.Plain, false)
	y = c.Paragraph(in, y, "It stays in the book on this computer. A nickname will do.", c.Tone.Faint, false) + 1
	x := c.Write(in.X, y, "name  ", c.Tone.Faint, false)
	x = c.Write(x, y, p.text, c.Tone.Strong, true)
	c.Write(x, y, "▌", c.Tone.Strong, false)
}

func (p *namePage) keys() []draw.KeyHelp {
	keys := []draw.KeyHelp{draw.Help("↵", "take this name", "enter"), draw.Help("⌫", "delete a letter", "backspace")}
	if p.back != nil {
		return append(keys, draw.Help("Esc", "back", "escape"))
	}
	return append(keys, draw.Help("Esc", "leave", "escape"))
}

func (p *namePage) typed(text string) {
	if len([]rune(p.text+text)) > longestName {
		p.say("A name may have at most 60 letters.")
		return
	}
	p.text += text
}

func (p *namePage) key(k string) bool {
	switch k {
	case "enter":
		if strings.TrimSpace(p.text) == "" {
			p.say("Please type a name first.")
			return true
		}
		name := strings.TrimSpace(p.text)
		if people, err := p.cfg.Book.Learners(p.ctx); err == nil && p.seen != name {
			if other, alike := record.LooksLike(name, people); alike {
				p.seen = name
				p.say(fmt.Sprintf("It looks like %s, with letters of another script. Enter again to be somebody else.", other.Name))
				return true
			}
		}
		if p.first {
			p.cautioned = true
			_, err := p.cfg.Book.LearnerByName(p.ctx, name)
			p.newcomer = errors.Is(err, record.ErrNotFound)
		}
		p.enter(name)
	case "backspace", "delete":
		if r := []rune(p.text); len(r) > 0 {
			p.text = string(r[:len(r)-1])
		} else {
			p.say("There is nothing to delete.")
		}
	case "escape":
		if p.back != nil {
			p.back()
		} else {
			p.quit(nil)
		}
	default:
		return false
	}
	return true
}

func (p *namePage) pick(int) {}
