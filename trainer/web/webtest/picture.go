// Package webtest is a page in Go: it opens the socket of a screen, reads pictures
// as the page's script does, and presses keys. Tests and the load generator use it.
package webtest

import (
	"bytes"
	"encoding/binary"
	"errors"
	"strings"
	"unicode/utf8"

	"shadedrill/colour"
)

// Cell is a character cell as a page has it.
type Cell struct {
	Text        string // "" is blank
	Ink, Ground colour.SRGB
	Bold        bool
	Wide        bool // two columns; the next cell is its right half
}

// Key is a key that the page offers.
type Key struct{ Press, Show, Does string }

// Picture is what stands on the page.
type Picture struct {
	Number  uint32
	W, H    int
	Cells   []Cell
	Keys    []Key
	Typing  bool
	Refused int
	Whole   bool // the last message brought all of it
	flat    []byte
}

// errWrong is a picture that no screen sends.
var errWrong = errors.New("a picture that is not understood")

// reader reads the numbers of a message; what is missing reads as an error at its
// end.
type reader struct {
	b       []byte
	bad     bool
	colours []colour.SRGB
}

func (r *reader) take(n int) []byte {
	if n < 0 || n > len(r.b) {
		r.bad, r.b = true, nil
		return make([]byte, max(0, min(n, 8)))
	}
	b := r.b[:n]
	r.b = r.b[n:]
	return b
}

func (r *reader) n() int {
	v, k := binary.Uvarint(r.b)
	if k <= 0 || v > 1<<30 {
		r.bad, r.b = true, nil
		return 0
	}
	r.b = r.b[k:]
	return int(v)
}

func (r *reader) rgb() colour.SRGB {
	b := r.take(3)
	return colour.SRGB{R: b[0], G: b[1], B: b[2]}
}

func (r *reader) colour() colour.SRGB {
	n := r.n()
	if n == 0 {
		r.colours = append(r.colours, r.rgb())
		n = len(r.colours)
	}
	if n > len(r.colours) {
		r.bad = true
		return colour.SRGB{}
	}
	return r.colours[n-1]
}

func (r *reader) text() string { return string(r.take(r.n())) }

// Read takes a picture message over, the two bytes of version and kind cut off.
func (p *Picture) Read(b []byte) error {
	r := &reader{b: b}
	number := binary.BigEndian.Uint32(r.take(4))
	flags := r.take(1)[0]
	p.Whole = flags&1 != 0
	if p.Whole {
		p.W, p.H = int(binary.BigEndian.Uint16(r.take(2))), int(binary.BigEndian.Uint16(r.take(2)))
		ground := r.rgb()
		if r.bad || p.W*p.H > 1<<20 {
			return errWrong
		}
		p.Cells = make([]Cell, p.W*p.H)
		for i := range p.Cells {
			p.Cells[i] = Cell{Ink: ground, Ground: ground}
		}
	}
	if flags&2 != 0 {
		p.Refused = r.n()
	}
	if flags&4 != 0 {
		p.Typing = r.take(1)[0] == 1
		p.Keys = nil
		for n := r.n(); n > 0 && !r.bad; n-- {
			p.Keys = append(p.Keys, Key{r.text(), r.text(), r.text()})
		}
	}
	for at := 0; len(r.b) > 0 && !r.bad; {
		at = p.run(r, at)
	}
	if r.bad || number != p.Number+1 && p.Number != 0 {
		return errWrong
	}
	p.Number = number
	return nil
}

func (p *Picture) run(r *reader, at int) int {
	head := r.n()
	at += head >> 3
	set := func(c Cell) {
		if at >= len(p.Cells) {
			r.bad = true
			return
		}
		p.Cells[at] = c
		at++
	}
	switch kind := head & 7; kind {
	case 0:
		n, g := r.n(), r.colour()
		if n < 0 || at < 0 || n > len(p.Cells)-at {
			r.bad = true
			return at
		}
		for row := p.Cells[at : at+n]; len(row) > 0; row = row[1:] {
			row[0] = Cell{Ground: g, Ink: g}
		}
		at += n
	case 1, 2:
		g, f, text := r.colour(), r.colour(), r.text()
		for _, s := range text {
			if s == ' ' {
				set(Cell{Ground: g, Ink: g})
			} else {
				set(Cell{Text: string(s), Ink: f, Ground: g, Bold: kind == 2})
			}
		}
	case 3:
		for n := r.n(); n > 0 && !r.bad; n-- {
			upper := r.colour()
			set(Cell{Text: "▀", Ink: upper, Ground: r.colour()})
		}
	case 4, 5:
		columns, g, f, text := r.take(1)[0], r.colour(), r.colour(), r.text()
		set(Cell{Text: text, Ink: f, Ground: g, Bold: kind == 5, Wide: columns == 2})
		if columns == 2 {
			set(Cell{Ink: f, Ground: g})
		}
	default:
		r.bad = true
	}
	return at
}

// Text is everything on the page, one line a row.
func (p *Picture) Text() string {
	var b strings.Builder
	for y := range p.H {
		row := strings.Builder{}
		for x := 0; x < p.W; x++ {
			c := p.Cells[y*p.W+x]
			if c.Text == "" {
				row.WriteByte(' ')
			} else {
				row.WriteString(c.Text)
			}
			if c.Wide {
				x++
			}
		}
		b.WriteString(strings.TrimRight(row.String(), " "))
		b.WriteByte('\n')
	}
	return b.String()
}

// Shows reports whether a text stands on the page, line breaks counting as spaces.
func (p *Picture) Shows(text string) bool {
	p.flat = p.flat[:0]
	spaced := true
	for i, c := range p.Cells {
		if p.W > 0 && i%p.W == 0 && !spaced {
			p.flat, spaced = append(p.flat, ' '), true
		}
		switch {
		case c.Text != "":
			p.flat, spaced = append(p.flat, c.Text...), false
		case i > 0 && p.Cells[i-1].Wide || spaced:
		default:
			p.flat, spaced = append(p.flat, ' '), true
		}
	}
	return bytes.Contains(p.flat, []byte(strings.Join(strings.Fields(text), " ")))
}

// Find is the cell where a text begins; ok is false when it does not stand there.
func (p *Picture) Find(text string) (x, y int, ok bool) {
	for y, row := range strings.Split(p.Text(), "\n") {
		if i := strings.Index(row, text); i >= 0 {
			return utf8.RuneCountInString(row[:i]), y, true
		}
	}
	return 0, 0, false
}
