package web

import (
	"encoding/binary"
	"sync"
	"unicode/utf8"

	"shadedrill/trainer"
)

// What the server sends. Numbers of several bytes are big-endian; n is an unsigned
// varint (seven bits a byte, low ones first, as encoding/binary writes them), text
// is n bytes of UTF-8 after their number n.
//
//	message  version kind …             a byte each
//	ping     token:u32                  to be returned in a pong at once
//	picture  number:u32 flags:u8 [size] [refused] [keys] runs
//	  size     w:u16 h:u16 ground:rgb   flag whole: forget all cells; each is now blank on ground
//	  refused  n                        flag refused: how many inputs came for a scene that was over
//	  keys     typing:u8 n (press:text show:text does:text)×n    flag keys
//	  run      n: skip<<3 | kind        skip cells from the end of the run before, row by row
//	    0 fill        n ground          n blank cells
//	    1 text        ground ink text   a cell a code point
//	    2 bold text   ground ink text
//	    3 halves      n (upper lower)×n cells of two pixels, one above the other
//	    4 grapheme    w:u8 ground ink text    one sign of several code points, or w = 2 columns wide
//	    5 bold grapheme
//	  colour   n, and if n is 0 three bytes: a new colour of this picture; otherwise the n-th of them
//
// Runs end with the message and do not cross the end of a row. Numbers of pictures
// grow by one and go on from one socket to the next.
const version = 1

// Kinds of message from the server.
const (
	picture = 1
	ping    = 2
)

// Flags of a picture.
const (
	flagWhole = 1 << iota
	flagRefused
	flagKeys
)

// Kinds of run.
const (
	runFill = iota
	runText
	runBold
	runHalves
	runGrapheme
	runBoldGrapheme
)

// encoder builds one message; its memory is shared by all screens.
type encoder struct {
	buf     []byte
	colours map[rgb]int
}

var encoders = sync.Pool{New: func() any { return &encoder{colours: map[rgb]int{}} }}

func (e *encoder) n(v int) { e.buf = binary.AppendUvarint(e.buf, uint64(v)) }

func (e *encoder) text(s string) {
	e.n(len(s))
	e.buf = append(e.buf, s...)
}

func (e *encoder) colour(c rgb) {
	if at, ok := e.colours[c]; ok {
		e.n(at)
		return
	}
	e.colours[c] = len(e.colours) + 1
	e.buf = append(e.buf, 0, c[0], c[1], c[2])
}

func (e *encoder) ping(token uint32) {
	e.buf = binary.BigEndian.AppendUint32(append(e.buf[:0], version, ping), token)
}

// head is what stands before the runs of a picture.
type head struct {
	number  uint32
	whole   bool
	refused int // −1: not said
	keys    bool
	telling trainer.Telling
}

// picture writes the cells that the page does not have, or all of them.
func (e *encoder) picture(h head, c *cells) {
	clear(e.colours)
	e.buf = binary.BigEndian.AppendUint32(append(e.buf[:0], version, picture), h.number)
	var flags byte
	if h.whole {
		flags |= flagWhole
	}
	if h.refused >= 0 {
		flags |= flagRefused
	}
	if h.keys {
		flags |= flagKeys
	}
	e.buf = append(e.buf, flags)
	var base cell
	if h.whole {
		ground := c.all[0].ground
		base = cell{ground: ground, ink: ground}
		e.buf = binary.BigEndian.AppendUint16(e.buf, uint16(c.w))
		e.buf = binary.BigEndian.AppendUint16(e.buf, uint16(c.h))
		e.buf = append(e.buf, ground[0], ground[1], ground[2])
	}
	if h.refused >= 0 {
		e.n(h.refused)
	}
	if h.keys {
		typing := byte(0)
		if h.telling.Typing {
			typing = 1
		}
		e.buf = append(e.buf, typing)
		e.n(len(h.telling.Keys))
		for _, k := range h.telling.Keys {
			e.text(k.Press)
			e.text(k.Show)
			e.text(k.Does)
		}
	}
	wanted := func(i int) bool {
		if h.whole {
			return c.all[i] != base
		}
		return c.isDirty(i)
	}
	last := 0
	for i := 0; i < len(c.all); {
		switch {
		case !h.whole && c.dirty[i/64] == 0:
			i = (i/64 + 1) * 64
		case !wanted(i) || c.all[i].sign == rightHalf:
			i++
		default:
			end := (i/c.w + 1) * c.w
			to := e.run(c, i, end, i-last, wanted)
			i, last = to, to
		}
	}
}

// run writes the run that begins at i and returns the cell after it.
func (e *encoder) run(c *cells, i, end, skip int, wanted func(int) bool) int {
	first := c.all[i]
	to := i + 1
	switch {
	case first.sign == blank:
		for to < end && c.all[to] == first && wanted(to) {
			to++
		}
		e.n(skip<<3 + runFill)
		e.n(to - i)
		e.colour(first.ground)
	case first.sign == upperHalf:
		for to < end && c.all[to].sign == upperHalf && wanted(to) {
			to++
		}
		e.n(skip<<3 | runHalves)
		e.n(to - i)
		for _, h := range c.all[i:to] {
			e.colour(h.ink)
			e.colour(h.ground)
		}
	case first.sign >= firstCluster || to < end && c.all[to].sign == rightHalf:
		kind := runGrapheme
		if first.bold {
			kind = runBoldGrapheme
		}
		if to < end && c.all[to].sign == rightHalf {
			to++
		}
		e.n(skip<<3 | kind)
		e.buf = append(e.buf, byte(to-i))
		e.colour(first.ground)
		e.colour(first.ink)
		e.text(c.text(i))
	default:
		e.words(c, i, end, skip, wanted, &to)
	}
	return to
}

// gap is how many blanks a run of text goes on over.
const gap = 4

// words writes text. Blanks between words belong to it, also those that the page has.
func (e *encoder) words(c *cells, i, end, skip int, wanted func(int) bool, to *int) {
	first := c.all[i]
	size := utf8.RuneLen(rune(first.sign))
	for at, blanks := i+1, 0; at < end; at++ {
		next := c.all[at]
		if next.sign == blank && next.ground == first.ground && blanks < gap {
			blanks++
			continue
		}
		if next.sign <= 0 || next.sign >= firstCluster || next.sign == upperHalf || at+1 < end && c.all[at+1].sign == rightHalf ||
			next.ink != first.ink || next.ground != first.ground || next.bold != first.bold || !wanted(at) {
			break
		}
		size += blanks + utf8.RuneLen(rune(next.sign))
		*to, blanks = at+1, 0
	}
	kind := runText
	if first.bold {
		kind = runBold
	}
	e.n(skip<<3 | kind)
	e.colour(first.ground)
	e.colour(first.ink)
	e.n(size)
	for _, t := range c.all[i:*to] {
		if t.sign == blank {
			e.buf = append(e.buf, ' ')
		} else {
			e.buf = utf8.AppendRune(e.buf, rune(t.sign))
		}
	}
}
