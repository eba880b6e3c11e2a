package trainer

import "strings"

// namePage asks for a new name.
type namePage struct {
	*app
	text string
	back func() // to where it came from; nil leaves the program
}

const longestName = 60

func (p *namePage) title() (string, string) { return "Your name", "" }

func (p *namePage) body(c *canvas, in rect) {
	in = in.inset(sideMargin)
	y := c.paragraph(in, in.y+1, "Under which name shall your answers be kept?", c.tone.plain, false)
	y = c.paragraph(in, y, "It stays in the book on this computer. A nickname will do.", c.tone.faint, false) + 1
	x := c.write(in.x, y, "name  ", c.tone.faint, false)
	x = c.write(x, y, p.text, c.tone.strong, true)
	c.write(x, y, "▌", c.tone.strong, false)
}

func (p *namePage) keys() []keyHelp {
	keys := []keyHelp{help("↵", "take this name", "enter"), help("⌫", "delete a letter", "backspace")}
	if p.back != nil {
		return append(keys, help("Esc", "back", "escape"))
	}
	return append(keys, help("Esc", "leave", "escape"))
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
		p.enter(strings.TrimSpace(p.text))
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
