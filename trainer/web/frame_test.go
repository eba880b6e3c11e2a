package web

import (
	"encoding/binary"
	"math/rand/v2"
	"testing"

	"github.com/gdamore/tcell/v2"

	"shadedrill/colour"
	"shadedrill/trainer"
	"shadedrill/trainer/web/webtest"
)

// The signs that a picture may hold, of each kind.
var signsOfTest = []string{" ", "a", "Z", "Δ", "·", "▀", "▄", "█", "━", "𝄞", "é", "é\u0301\u0302", "漢", "👩‍👩‍👧", "\u0301", "\x1b", "�"}

// What is put is what the page has, cell by cell, whole and in steps.
func TestPicturesRoundTrip(t *testing.T) {
	seed := rand.Uint64()
	rng := rand.New(rand.NewPCG(seed, 1))
	colours := make([]tcell.Color, 9)
	for i := range colours {
		colours[i] = tcell.NewRGBColor(rng.Int32N(256), rng.Int32N(256), rng.Int32N(256))
	}
	s := New(Options{})
	var page webtest.Picture
	e := &encoder{colours: map[rgb]int{}}
	for n := range 300 {
		whole := n%50 == 0
		if whole {
			s.cells.resize(80+rng.IntN(81), 24+rng.IntN(27))
		}
		for range rng.IntN(400) {
			x, y := rng.IntN(s.cells.w+4)-2, rng.IntN(s.cells.h+4)-2
			style := tcell.StyleDefault.Foreground(colours[rng.IntN(9)]).Background(colours[rng.IntN(9)]).Bold(rng.IntN(3) == 0)
			for range 1 + rng.IntN(12) {
				_, width := s.Put(x, y, signsOfTest[rng.IntN(len(signsOfTest))], style)
				x += max(1, width)
			}
		}
		h := head{number: uint32(n + 1), whole: whole, refused: -1}
		if rng.IntN(4) == 0 {
			h.refused, h.keys = n, true
			h.telling = trainer.Telling{Typing: n%2 == 0, Keys: []trainer.Key{{Press: "left", Show: "←", Does: "lighter"}}}
		}
		e.picture(h, &s.cells)
		clear(s.cells.dirty)
		if e.buf[0] != version || e.buf[1] != picture {
			t.Fatalf("begins with % x", e.buf[:2])
		}
		if err := page.Read(e.buf[2:]); err != nil {
			t.Fatalf("seed %d, picture %d: %v", seed, n, err)
		}
		if h.keys && (page.Refused != n || len(page.Keys) != 1 || page.Typing != h.telling.Typing) {
			t.Fatalf("seed %d, picture %d: beside it stood %+v", seed, n, page.Keys)
		}
		for i, want := range s.cells.all {
			got := page.Cells[i]
			text := s.cells.text(i)
			if want.sign <= 0 {
				text = ""
			}
			if got.Text != text || got.Ground != shade(want.ground) || text != "" && got.Ink != shade(want.ink) || got.Bold != (want.bold && text != "") {
				t.Fatalf("seed %d, picture %d, cell %d,%d: the page has %+v, the screen %+v %q", seed, n, i%s.cells.w, i/s.cells.w, got, want, text)
			}
		}
	}
}

func shade(c rgb) colour.SRGB { return colour.SRGB{R: c[0], G: c[1], B: c[2]} }

// A wide sign that is written over leaves no half behind.
func TestWideSigns(t *testing.T) {
	s := New(Options{})
	s.cells.resize(80, 24)
	s.PutStr(0, 0, "漢字")
	s.Put(1, 0, "x", tcell.StyleDefault)
	if got, _, _ := s.Get(0, 0); got != " " {
		t.Errorf("half a sign stays: %q", got)
	}
	s.Put(78, 0, "漢", tcell.StyleDefault)
	s.Put(79, 0, "漢", tcell.StyleDefault)
	if got, _, _ := s.Get(79, 0); got != " " {
		t.Errorf("a sign hangs over the edge: %q", got)
	}
}

// Half blocks and full blocks are colours, never signs of a font.
func TestBlocksAreColours(t *testing.T) {
	s := New(Options{})
	s.cells.resize(80, 24)
	upper, lower := tcell.NewRGBColor(1, 2, 3), tcell.NewRGBColor(4, 5, 6)
	s.Put(0, 0, "▀", tcell.StyleDefault.Foreground(upper).Background(lower))
	s.Put(1, 0, "▄", tcell.StyleDefault.Foreground(lower).Background(upper))
	s.Put(2, 0, "█", tcell.StyleDefault.Foreground(upper).Background(lower))
	if s.cells.all[0] != s.cells.all[1] {
		t.Errorf("%+v and %+v are the same picture", s.cells.all[0], s.cells.all[1])
	}
	if c := s.cells.all[2]; c.sign != blank || c.ground != (rgb{1, 2, 3}) {
		t.Errorf("a full block is %+v", c)
	}
}

// However large, a picture of half blocks of different colours can be sent.
func TestTheLargestPicture(t *testing.T) {
	s := New(Options{})
	s.cells.resize(mostWidth, mostHeight)
	for i := range s.cells.all {
		tone := func(v int) tcell.Color { return tcell.NewHexColor(int32(v)) }
		s.Put(i%mostWidth, i/mostWidth, "▀", tcell.StyleDefault.Foreground(tone(2*i)).Background(tone(2*i+1)))
	}
	e := &encoder{colours: map[rgb]int{}}
	e.picture(head{number: 1, whole: true, refused: -1}, &s.cells)
	if len(e.buf) > 80_000 {
		t.Errorf("%d bytes", len(e.buf))
	}
	var page webtest.Picture
	if err := page.Read(e.buf[2:]); err != nil {
		t.Error(err)
	}
}

func FuzzParse(f *testing.F) {
	for _, b := range [][]byte{webtest.Hello(80, 24), webtest.KeyOn(3, "enter"), webtest.KeyOn(3, "é"), webtest.MouseOn(3, 1, 5, 5),
		webtest.Size(0, 65535), webtest.Drawn(9), {6, 0, 0, 0, 1}, {7},
		append([]byte{8}, `{"gamut":"srgb","range":"standard","read_back":"exact","pixel_ratio":1,"cell_width":8,"cell_height":16}`...)} {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		m, err := parse(b)
		if err != nil {
			return
		}
		switch m.kind {
		case msgHello, msgSize:
			if m.x < leastWidth || m.x > mostWidth || m.y < leastHeight || m.y > mostHeight {
				t.Errorf("size %d × %d", m.x, m.y)
			}
		case msgKey:
			if m.key == tcell.KeyRune && m.char < ' ' {
				t.Errorf("control sign %q", m.char)
			}
		case msgMouse:
			if m.x < 0 || m.x >= mostWidth || m.y < 0 || m.y >= mostHeight {
				t.Errorf("place %d,%d", m.x, m.y)
			}
		case msgShown:
			if m.shown.Gamut == "" || m.shown.Range == "" || m.shown.ReadBack == "" {
				t.Errorf("a display without a word: %+v", m.shown)
			}
		}
	})
}

// FuzzPicture: the reader of pictures, which tests and the load generator use.
func FuzzPicture(f *testing.F) {
	s := New(Options{})
	s.cells.resize(80, 24)
	s.PutStr(0, 0, "ab 漢▀")
	e := &encoder{colours: map[rgb]int{}}
	e.picture(head{number: 1, whole: true, refused: 1, keys: true}, &s.cells)
	f.Add(append([]byte(nil), e.buf[2:]...))
	f.Add(binary.AppendUvarint(nil, 1<<40))
	f.Fuzz(func(t *testing.T, b []byte) {
		var p webtest.Picture
		p.Read(b)
	})
}

// BenchmarkStep is a move along a strip: half of a field, a mark, two captions.
func BenchmarkStep(b *testing.B) {
	s := New(Options{})
	s.cells.resize(120, 36)
	e := &encoder{colours: map[rgb]int{}}
	tone := []tcell.Style{tcell.StyleDefault.Background(tcell.NewHexColor(0xc8b898)), tcell.StyleDefault.Background(tcell.NewHexColor(0xcbbb9b))}
	b.ReportAllocs()
	size := 0
	for n := 0; b.Loop(); n++ {
		for y := 4; y < 24; y++ {
			for x := 60; x < 105; x++ {
				s.Put(x, y, " ", tone[n%2])
			}
		}
		e.picture(head{number: uint32(n), refused: -1}, &s.cells)
		clear(s.cells.dirty)
		size = len(e.buf)
	}
	b.ReportMetric(float64(size), "bytes/picture")
}
