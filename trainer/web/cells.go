package web

import (
	"unicode"
	"unicode/utf8"

	"github.com/gdamore/tcell/v2"
)

// rgb are the three bytes of a colour. They go to the page as they are.
type rgb [3]uint8

// cell is one character cell. It holds no pointer, and its size (12 bytes) is most
// of what a person on the server costs.
type cell struct {
	sign   sign
	ink    rgb
	ground rgb
	bold   bool
}

// sign is a rune, or beyond the last rune a place in cells.clusters.
type sign int32

const (
	blank        sign = 0
	rightHalf    sign = -1 // of a sign two columns wide
	upperHalf    sign = '▀'
	firstCluster sign = unicode.MaxRune + 1
)

// What a single cell may hold, and how many different ones: a name may be hostile.
const (
	longestCluster = 32 // bytes
	mostClusters   = 512
)

// cells are a picture and which of its cells the page does not have yet.
type cells struct {
	w, h     int
	all      []cell
	dirty    []uint64 // a bit a cell
	clusters []string
	scratch  tcell.CellBuffer // knows how wide a sign is
}

func (c *cells) resize(w, h int) {
	c.w, c.h = w, h
	c.all = make([]cell, w*h)
	c.dirty = make([]uint64, (w*h+63)/64)
	c.clusters = nil
	if sw, _ := c.scratch.Size(); sw == 0 {
		c.scratch.Resize(4, 1)
	}
}

func (c *cells) isDirty(i int) bool { return c.dirty[i/64]&(1<<(i%64)) != 0 }

func (c *cells) anyDirty() bool {
	for _, d := range c.dirty {
		if d != 0 {
			return true
		}
	}
	return false
}

func (c *cells) set(i int, to cell) {
	if c.all[i] != to {
		c.all[i] = to
		c.dirty[i/64] |= 1 << (i % 64)
	}
}

// put writes the first grapheme of a text, as tcell.Screen.Put does.
func (c *cells) put(x, y int, text string, style tcell.Style) (rest string, width int) {
	g, rest, width := c.grapheme(text)
	if x < 0 || y < 0 || x >= c.w || y >= c.h || width == 0 {
		return rest, width
	}
	fg, bg, attr := style.Decompose()
	to := cell{ink: exact(fg, rgb{229, 229, 229}), ground: exact(bg, rgb{}), bold: attr&tcell.AttrBold != 0}
	i := y*c.w + x
	if width == 2 && x+1 >= c.w { // no room for the right half
		g, width = " ", 1
	}
	switch to.sign = c.signOf(g); to.sign {
	case ' ':
		to.sign = blank
	case '▄':
		to.sign, to.ink, to.ground = upperHalf, to.ground, to.ink
	case '█':
		to.sign, to.ground = blank, to.ink
	}
	if to.sign == blank || to.sign == upperHalf {
		to.bold = false
		if to.sign == blank || to.ink == to.ground {
			to.sign, to.ink = blank, to.ground
		}
	}
	c.unpair(x, i)
	if width == 2 {
		c.unpair(x+1, i+1)
	}
	c.set(i, to)
	if width == 2 {
		to.sign = rightHalf
		c.set(i+1, to)
	}
	return rest, width
}

// blank empties n cells of a row.
func (c *cells) blank(x, y, n int, ground rgb) {
	if x < 0 || y < 0 || y >= c.h || x >= c.w {
		return
	}
	n = min(n, c.w-x)
	i := y*c.w + x
	c.unpair(x, i)
	c.unpair(x+n-1, i+n-1)
	to := cell{ink: ground, ground: ground}
	for ; n > 0; n-- {
		c.set(i, to)
		i++
	}
}

// unpair blanks the other half of a wide sign of which one half is written over.
func (c *cells) unpair(x, i int) {
	if c.all[i].sign == rightHalf && x > 0 {
		left := c.all[i-1]
		c.set(i-1, cell{ground: left.ground, ink: left.ground})
	}
	if x+1 < c.w && c.all[i+1].sign == rightHalf {
		right := c.all[i+1]
		c.set(i+1, cell{ground: right.ground, ink: right.ground})
	}
}

// grapheme splits off what a person sees as one sign.
func (c *cells) grapheme(text string) (g, rest string, width int) {
	if text == "" {
		return "", "", 0
	}
	if b := text[0]; b >= ' ' && b < 0x7f && (len(text) == 1 || text[1] < 0x80) {
		return text[:1], text[1:], 1
	}
	if r, n := utf8.DecodeRuneInString(text); n == len(text) && r >= 0x2500 && r < 0x25a0 {
		return text, "", 1 // lines and blocks, by the thousand
	}
	rest, width = c.scratch.Put(0, 0, text, tcell.StyleDefault)
	return text[:len(text)-len(rest)], rest, width
}

func (c *cells) signOf(g string) sign {
	r, n := utf8.DecodeRuneInString(g)
	switch {
	case r < ' ' || r == 0x7f || r == utf8.RuneError || len(g) > longestCluster:
		return '�'
	case n == len(g):
		return sign(r)
	}
	for i, known := range c.clusters {
		if known == g {
			return firstCluster + sign(i)
		}
	}
	if len(c.clusters) == mostClusters {
		return '�'
	}
	c.clusters = append(c.clusters, g)
	return firstCluster + sign(len(c.clusters)-1)
}

func (c *cells) text(i int) string {
	switch s := c.all[i].sign; {
	case s >= firstCluster:
		return c.clusters[s-firstCluster]
	case s <= 0:
		return " "
	default:
		return string(rune(s))
	}
}

// exact are the bytes of a colour. The trainer names every colour by its bytes; what
// else there is has the usual ones.
func exact(c tcell.Color, otherwise rgb) rgb {
	if c == tcell.ColorDefault {
		return otherwise
	}
	r, g, b := c.RGB()
	if r < 0 {
		return otherwise
	}
	return rgb{uint8(r), uint8(g), uint8(b)}
}
