package trainer

import "errors"

// troublePage says what went wrong. What has been answered is in the book all
// the same.
type troublePage struct {
	*app
	what  string
	err   error
	again func() // nil where another try cannot help
}

// hinted is an error that knows what to do about it.
type hinted interface{ Hint() string }

func (p *troublePage) title() (string, string) { return "shadedrill", "" }

func (p *troublePage) body(c *canvas, in rect) {
	in = in.inset(sideMargin)
	y := p.paragraph(in, in.y+1, p.what, p.tone.strong, true)
	y = p.paragraph(in, y+1, p.err.Error(), p.tone.plain, false)
	if h := hinted(nil); errors.As(p.err, &h) && h.Hint() != "" {
		y = p.paragraph(in, y+1, "hint: "+h.Hint(), p.tone.plain, false)
	}
	p.paragraph(in, y+1, "Every answer given before this is kept.", p.tone.plain, false)
}

func (p *troublePage) keys() []keyHelp {
	var keys []keyHelp
	if p.again != nil {
		keys = append(keys, help("r", "try again", "r"))
	}
	if p.learner.ID != "" {
		keys = append(keys, help("m", "menu", "m"))
	}
	return append(keys, help("q", "leave", "q"))
}

func (p *troublePage) key(k string) bool {
	switch k {
	case "r", "enter":
		if p.again == nil {
			p.say("Trying again cannot help here.")
			return true
		}
		p.again()
	case "m":
		if p.learner.ID == "" {
			return false
		}
		p.show(newMenuPage(p.app))
	case "q", "escape":
		p.quit(nil)
	default:
		return false
	}
	return true
}

func (p *troublePage) pick(int) {}
