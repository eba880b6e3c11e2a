package draw

// Prose is a scrolling page body: lines with an emphasis each.
type Prose struct {
	from int // first line shown
	last int // largest useful from, known after drawing
	page int
}

// Line is a line of a page's body.
type Line struct {
	Text   string
	Strong bool
	Faint  bool
	Drawn  bool // part of a drawing: not to be wrapped
}

// Draw paints the lines that fit, from where it was scrolled to.
func (p *Prose) Draw(c *Canvas, in Rect, lines []Line) {
	p.page = max(1, in.H)
	p.last = max(0, len(lines)-in.H)
	p.from = max(0, min(p.from, p.last))
	for i := 0; i < in.H && p.from+i < len(lines); i++ {
		l := lines[p.from+i]
		ink := c.Tone.Plain
		if l.Strong {
			ink = c.Tone.Strong
		} else if l.Faint {
			ink = c.Tone.Faint
		}
		c.Write(in.X, in.Y+i, c.Clip(l.Text, in.W), ink, l.Strong)
	}
}

// scrolls reports whether there is more than fits.
func (p *Prose) scrolls() bool { return p.last > 0 }

// Key scrolls; false for a key that does not.
func (p *Prose) Key(k string) bool {
	switch k {
	case "up":
		p.from--
	case "down":
		p.from++
	case "page up":
		p.from -= p.page
	case "page down", "space":
		p.from += p.page
	case "home":
		p.from = 0
	case "end":
		p.from = p.last
	default:
		return false
	}
	p.from = max(0, min(p.from, p.last))
	return true
}

// Keys are those that scroll; none where all lines fit.
func (p *Prose) Keys() []KeyHelp {
	if !p.scrolls() {
		return nil
	}
	return []KeyHelp{Help("↑ ↓", "scroll", "down"), Help("Home End", "first, last line", "end")}
}
