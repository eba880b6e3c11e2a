package draw

import (
	"slices"
	"unicode"
	"unicode/utf8"

	"github.com/gdamore/tcell/v2"

	"shadedrill/colour"
)

// glyph is one cell as it is to be shown. Swatches are glyphs without text: a
// background colour and nothing on it. It holds no pointer and no gap between its
// fields, so that many are compared and copied at once.
type glyph struct {
	sign   sign
	ink    colour.SRGB
	ground colour.SRGB
	weight weight
}

// weight is that of a letter; two bytes, which fill the glyph's twelve.
type weight uint16

const bold weight = 1

func weightOf(isBold bool) weight {
	if isBold {
		return bold
	}
	return 0
}

// several are the glyphs that are compared at once.
const several = 40

// sign is what is written in a cell: a rune, or beyond the last rune a grapheme
// of several runes by its place in canvas.clusters.
type sign int32

const (
	blank        sign = 0
	rightHalf    sign = -1 // of a sign two columns wide
	firstCluster sign = unicode.MaxRune + 1
	upperHalf    sign = '▀'
)

// Canvas is a thin layer over a screen. A page paints the whole picture each
// time; only cells that differ from what is shown go to the screen. Every colour
// is given by its three bytes: palette colours follow a person's theme and would
// not be the colour of the trial.
type Canvas struct {
	screen  tcell.Screen
	Tone    Tones // greys that are legible on the ground
	w, h    int
	next    []glyph
	shown   []glyph
	stale   bool // what the screen shows is unknown
	zones   []Zone
	scratch tcell.CellBuffer
	// clusters are the graphemes of more than one rune that were ever written.
	clusters []string
}

// Zone is a place that answers the mouse: by a key, or by an item to choose.
type Zone struct {
	Rect
	Key  string
	Item int
}

// NewCanvas paints on a screen; its first picture goes there whole.
func NewCanvas(screen tcell.Screen) *Canvas {
	c := &Canvas{screen: screen, stale: true}
	c.scratch.Resize(4, 1)
	return c
}

// Begin starts a picture on an even ground.
func (c *Canvas) Begin(ground colour.SRGB) {
	w, h := c.screen.Size()
	if w != c.w || h != c.h {
		c.w, c.h = w, h
		c.next = make([]glyph, w*h)
		c.shown = make([]glyph, w*h)
		c.stale = true
	}
	if c.Tone.Ground != ground || c.Tone == (Tones{}) {
		c.Tone = tonesOn(ground)
	}
	empty := glyph{ground: ground, ink: ground}
	if len(c.next) > 0 {
		c.next[0] = empty
		for n := 1; n < len(c.next); n *= 2 {
			copy(c.next[n:], c.next[:n])
		}
	}
	c.zones = c.zones[:0]
}

// Forget makes the next picture go to the screen whole.
func (c *Canvas) Forget() { c.stale = true }

// All is the whole screen, as large as it was at the last Begin.
func (c *Canvas) All() Rect { return Rect{0, 0, c.w, c.h} }

// Swatch fills a rectangle with a colour and nothing else.
func (c *Canvas) Swatch(r Rect, fill colour.SRGB) {
	x0, x1 := max(r.X, 0), min(r.X+r.W, c.w)
	if x0 >= x1 {
		return
	}
	g := glyph{ground: fill, ink: fill}
	for y := max(r.Y, 0); y < min(r.Y+r.H, c.h); y++ {
		row := c.next[y*c.w+x0 : y*c.w+x1]
		for i := range row {
			row[i] = g
		}
	}
}

// halves paints one cell as two pixels, the upper and the lower half.
func (c *Canvas) halves(x, y int, upper, lower colour.SRGB) {
	if x < 0 || y < 0 || x >= c.w || y >= c.h {
		return
	}
	g := glyph{ground: lower, ink: lower}
	if upper != lower {
		g.sign, g.ink = upperHalf, upper
	}
	c.next[y*c.w+x] = g
}

// Write puts text on the ground that is there, cut off at the edge of the
// screen, and returns the column after it.
func (c *Canvas) Write(x, y int, text string, ink colour.SRGB, isBold bool) int {
	weight := weightOf(isBold)
	for text != "" {
		var g string
		var width int
		g, text, width = c.grapheme(text)
		if y >= 0 && y < c.h && x >= 0 && x+width <= c.w {
			at := &c.next[y*c.w+x]
			at.sign, at.ink, at.weight = c.sign(g), ink, weight
			if width == 2 {
				half := &c.next[y*c.w+x+1]
				half.sign, half.ink, half.weight = rightHalf, ink, weight
			}
		}
		x += width
	}
	return x
}

// sign finds the sign of a grapheme.
func (c *Canvas) sign(grapheme string) sign {
	r, size := utf8.DecodeRuneInString(grapheme)
	if size == len(grapheme) {
		return sign(r)
	}
	at := slices.Index(c.clusters, grapheme)
	if at < 0 {
		at = len(c.clusters)
		c.clusters = append(c.clusters, grapheme)
	}
	return firstCluster + sign(at)
}

// text is what a sign puts into a cell.
func (c *Canvas) text(s sign) string {
	switch {
	case s == blank:
		return " "
	case s >= firstCluster:
		return c.clusters[s-firstCluster]
	case s < 0x80:
		return ascii[s : s+1]
	}
	return string(rune(s))
}

// ascii spares an allocation for every letter.
var ascii = func() string {
	b := make([]byte, 0x80)
	for i := range b {
		b[i] = byte(i)
	}
	return string(b)
}()

// grapheme splits the first user-perceived character off a text. Control
// characters become a replacement mark: they must never reach a terminal.
func (c *Canvas) grapheme(text string) (g, rest string, width int) {
	if b := text[0]; b < 0x80 && (len(text) == 1 || text[1] < 0x80) {
		if b < ' ' || b == 0x7f {
			return "�", text[1:], 1
		}
		return text[:1], text[1:], 1
	}
	rest, width = c.scratch.Put(0, 0, text, tcell.StyleDefault)
	g = text[:len(text)-len(rest)]
	if width < 1 || width > 2 {
		return "�", rest, 1
	}
	return g, rest, width
}

// Width is how many columns a text takes.
func (c *Canvas) Width(text string) int {
	n := 0
	for text != "" {
		var w int
		_, text, w = c.grapheme(text)
		n += w
	}
	return n
}

// Click makes a rectangle answer the mouse like a key.
func (c *Canvas) Click(r Rect, key string) { c.zones = append(c.zones, Zone{Rect: r, Key: key}) }

// Item makes a rectangle answer the mouse by choosing an item.
func (c *Canvas) Item(r Rect, i int) { c.zones = append(c.zones, Zone{Rect: r, Item: i}) }

// At finds the zone at a cell; of several the one painted last.
func (c *Canvas) At(x, y int) (Zone, bool) {
	for i := len(c.zones) - 1; i >= 0; i-- {
		if c.zones[i].Contains(x, y) {
			return c.zones[i], true
		}
	}
	return Zone{}, false
}

// Blanker is a screen that takes a row of empty cells at once: patches are thousands
// of them.
type Blanker interface {
	Blank(x, y, n int, ground colour.SRGB)
}

// Row makes one row of the last picture even again, so that it alone is painted anew;
// false where the screen shows something else than that picture. [Canvas.End] then
// sends what has changed in it.
func (c *Canvas) Row(y int) bool {
	if w, h := c.screen.Size(); w != c.w || h != c.h || c.stale || y < 0 || y >= h {
		return false
	}
	c.Swatch(Rect{0, y, c.w, 1}, c.Tone.Ground)
	return true
}

// End sends what has changed to the screen.
func (c *Canvas) End() {
	var last glyph
	var style tcell.Style
	styled := false
	blanker, _ := c.screen.(Blanker)
	unequal := 0 // up to where glyphs are looked at one by one
	for i := 0; i < len(c.next); {
		if i >= unequal && !c.stale {
			if i+several <= len(c.next) && [several]glyph(c.next[i:i+several]) == [several]glyph(c.shown[i:i+several]) {
				i += several
				continue
			}
			unequal = i + several
		}
		g := c.next[i]
		if g == c.shown[i] && !c.stale {
			i++
			continue
		}
		c.shown[i] = g
		n := 1
		switch {
		case g.sign == rightHalf:
		case g.sign == blank && blanker != nil:
			for end := (i/c.w + 1) * c.w; i+n < end && c.next[i+n] == g && (c.stale || c.shown[i+n] != g); n++ {
				c.shown[i+n] = g
			}
			blanker.Blank(i%c.w, i/c.w, n, g.ground)
		default:
			if !styled || g.ink != last.ink || g.ground != last.ground || g.weight != last.weight {
				style = tcell.StyleDefault.Foreground(exact(g.ink)).Background(exact(g.ground)).Bold(g.weight == bold)
				last, styled = g, true
			}
			c.screen.Put(i%c.w, i/c.w, c.text(g.sign), style)
		}
		i += n
	}
	c.stale = false
	c.screen.Show()
}

func exact(s colour.SRGB) tcell.Color {
	return tcell.NewRGBColor(int32(s.R), int32(s.G), int32(s.B))
}
