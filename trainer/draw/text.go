package draw

import (
	"strings"

	"shadedrill/colour"
	"shadedrill/scoring/report"
)

// Wrap breaks a text into lines of at most the given width, at spaces where it
// can.
func (c *Canvas) Wrap(text string, width int) []string {
	return report.WrapBy(text, width, func(text string) (int, int) {
		_, rest, w := c.grapheme(text)
		return len(text) - len(rest), w
	})
}

// Clip cuts a text to a width and says so with an ellipsis.
func (c *Canvas) Clip(text string, width int) string {
	if c.Width(text) <= width {
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

// Paragraph writes text broken into lines and returns the row after it.
func (c *Canvas) Paragraph(in Rect, y int, text string, ink colour.SRGB, bold bool) int {
	for _, l := range c.Wrap(text, in.W) {
		if y < in.Y+in.H {
			c.Write(in.X, y, l, ink, bold)
		}
		y++
	}
	return y
}

// Bullet writes one point of a list, its further lines set in.
func (c *Canvas) Bullet(in Rect, y int, text string) int {
	c.Write(in.X, y, "·", c.Tone.Plain, false)
	return c.Paragraph(Rect{in.X + 2, in.Y, in.W - 2, in.H}, y, text, c.Tone.Plain, false)
}
