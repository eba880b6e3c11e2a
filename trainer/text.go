package trainer

import (
	"fmt"
	"strings"
	"time"
	"unicode"

	"shadedrill/colour"
)

// wrap breaks a text into lines of at most the given width, at spaces where it
// can.
func (c *canvas) wrap(text string, width int) []string {
	width = max(1, width)
	var lines []string
	line, used := "", 0
	for _, word := range strings.Fields(text) {
		w := c.width(word)
		if used > 0 && used+1+w <= width {
			line, used = line+" "+word, used+1+w
			continue
		}
		if used > 0 {
			lines = append(lines, line)
		}
		for w > width { // a word longer than a line
			head := ""
			for n := 0; word != ""; {
				g, rest, gw := c.grapheme(word)
				if n+gw > width {
					break
				}
				head, word, n = head+g, rest, n+gw
			}
			if head == "" {
				break
			}
			lines = append(lines, head)
			w = c.width(word)
		}
		line, used = word, w
	}
	if used > 0 || len(lines) == 0 {
		lines = append(lines, line)
	}
	return lines
}

// clip cuts a text to a width and says so with an ellipsis.
func (c *canvas) clip(text string, width int) string {
	if c.width(text) <= width {
		return text
	}
	var b strings.Builder
	for n := 0; text != ""; {
		g, rest, w := c.grapheme(text)
		if n+w > width-1 {
			break
		}
		b.WriteString(g)
		text, n = rest, n+w
	}
	return b.String() + "…"
}

// paragraph writes text broken into lines and returns the row after it.
func (c *canvas) paragraph(in rect, y int, text string, ink colour.SRGB, bold bool) int {
	for _, l := range c.wrap(text, in.w) {
		if y < in.y+in.h {
			c.write(in.x, y, l, ink, bold)
		}
		y++
	}
	return y
}

// bullet writes one point of a list, its further lines set in.
func (c *canvas) bullet(in rect, y int, text string) int {
	c.write(in.x, y, "·", c.tone.plain, false)
	return c.paragraph(rect{in.x + 2, in.y, in.w - 2, in.h}, y, text, c.tone.plain, false)
}

// prose is a scrolling page body: lines with an emphasis each.
type prose struct {
	from int // first line shown
	last int // largest useful from, known after drawing
	page int
}

type proseLine struct {
	text   string
	strong bool
	faint  bool
	drawn  bool // part of a drawing: not to be wrapped
}

func (p *prose) draw(c *canvas, in rect, lines []proseLine) {
	p.page = max(1, in.h)
	p.last = max(0, len(lines)-in.h)
	p.from = max(0, min(p.from, p.last))
	for i := 0; i < in.h && p.from+i < len(lines); i++ {
		l := lines[p.from+i]
		ink := c.tone.plain
		if l.strong {
			ink = c.tone.strong
		} else if l.faint {
			ink = c.tone.faint
		}
		c.write(in.x, in.y+i, c.clip(l.text, in.w), ink, l.strong)
	}
}

// scrolls reports whether there is more than fits.
func (p *prose) scrolls() bool { return p.last > 0 }

func (p *prose) key(k string) bool {
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

func (p *prose) keys() []keyHelp {
	if !p.scrolls() {
		return nil
	}
	return []keyHelp{help("↑ ↓", "scroll", "down"), help("Home End", "first, last line", "end")}
}

func upperFirst(text string) string {
	for i, r := range text {
		return string(unicode.ToUpper(r)) + text[i+len(string(r)):]
	}
	return ""
}

// sentence gives a phrase its capital and its full stop.
func sentence(text string) string {
	text = upperFirst(text)
	if text != "" && !strings.ContainsAny(text[len(text)-1:], ".?!:") {
		text += "."
	}
	return text
}

// count writes a number with its noun.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// clockTime writes a duration as a clock does: "3:05", "1:02:07".
func clockTime(d time.Duration) string {
	s := int(d / time.Second)
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}
