package web

import (
	"encoding/binary"
	"errors"
	"time"
	"unicode/utf8"

	"github.com/gdamore/tcell/v2"
)

// What the page sends, one message a thing. Every input names the picture that was
// on the screen when it was made.
//
//	hello   1 version:u8 w:u16 h:u16                once, before all else
//	key     2 picture:u32 modifiers:u8 name          "enter", "left", …, or what was typed: one code point
//	mouse   3 picture:u32 buttons:u8 x:u16 y:u16     buttons that are down; 8 and 16 are the wheel
//	size    4 w:u16 h:u16                            cells that there is room for
//	drawn   5 picture:u32                            the picture is drawn: the next may come
//	pong    6 token:u32
//	ask     7                                        are you there? (answered by a ping)
//	shown   8 JSON                                   what the browser says of its display
const (
	msgHello = 1 + iota
	msgKey
	msgMouse
	msgSize
	msgDrawn
	msgPong
	msgAsk
	msgShown
)

// The sizes in which a trainer can be shown; others are brought to the nearest.
const (
	leastWidth, leastHeight = 80, 24
	mostWidth, mostHeight   = 160, 50
)

// longest is the largest message that a page may send.
const longest = 1024

// message is a message from a page, read and found valid.
type message struct {
	kind    byte
	picture uint32 // or the token of a pong
	key     tcell.Key
	char    rune
	mods    tcell.ModMask
	buttons tcell.ButtonMask
	x, y    int // cells, or a size
	shown   *Shown
	at      time.Time // when it came
}

var errMalformed = errors.New("a message that no page sends")

var keyNames = map[string]tcell.Key{
	"enter": tcell.KeyEnter, "left": tcell.KeyLeft, "right": tcell.KeyRight, "up": tcell.KeyUp, "down": tcell.KeyDown,
	"home": tcell.KeyHome, "end": tcell.KeyEnd, "page up": tcell.KeyPgUp, "page down": tcell.KeyPgDn,
	"backspace": tcell.KeyBackspace2, "delete": tcell.KeyDelete, "escape": tcell.KeyEscape, "tab": tcell.KeyTab,
	"shift-tab": tcell.KeyBacktab, "space": tcell.KeyRune,
}

// parse reads a message. It believes nothing: whatever is not exactly as written
// above is refused.
func parse(b []byte) (message, error) {
	if len(b) == 0 {
		return message{}, errMalformed
	}
	m := message{kind: b[0]}
	b = b[1:]
	want := map[byte]int{msgHello: 5, msgMouse: 9, msgSize: 4, msgDrawn: 4, msgPong: 4, msgAsk: 0}
	if n, fixed := want[m.kind]; fixed && len(b) != n {
		return m, errMalformed
	}
	switch m.kind {
	case msgHello:
		if b[0] != version {
			return m, errMalformed
		}
		m.x, m.y = size(b[1:])
	case msgKey:
		if len(b) < 6 || len(b) > 5+9 || b[4] > 15 {
			return m, errMalformed
		}
		m.picture, m.mods = binary.BigEndian.Uint32(b), tcell.ModMask(b[4])
		return m, m.named(string(b[5:]))
	case msgMouse:
		m.picture, m.buttons = binary.BigEndian.Uint32(b), mouseButtons(b[4])
		m.x, m.y = int(binary.BigEndian.Uint16(b[5:])), int(binary.BigEndian.Uint16(b[7:]))
		if b[4] > 31 || m.x >= mostWidth || m.y >= mostHeight {
			return m, errMalformed
		}
	case msgSize:
		m.x, m.y = size(b)
	case msgDrawn, msgPong:
		m.picture = binary.BigEndian.Uint32(b)
	case msgAsk:
	case msgShown:
		var err error
		m.shown, err = readShown(b)
		return m, err
	default:
		return m, errMalformed
	}
	return m, nil
}

func (m *message) named(name string) error {
	if k, ok := keyNames[name]; ok {
		m.key, m.char = k, 0
		if k == tcell.KeyRune {
			m.char = ' '
		}
		return nil
	}
	r, n := utf8.DecodeRuneInString(name)
	if n != len(name) || r == utf8.RuneError || r < ' ' || r >= 0x7f && r < 0xa0 {
		return errMalformed
	}
	m.key, m.char = tcell.KeyRune, r
	return nil
}

// size reads a size and brings it to what can be shown.
func size(b []byte) (w, h int) {
	w, h = int(binary.BigEndian.Uint16(b)), int(binary.BigEndian.Uint16(b[2:]))
	return max(leastWidth, min(w, mostWidth)), max(leastHeight, min(h, mostHeight))
}

func mouseButtons(b byte) tcell.ButtonMask {
	var down tcell.ButtonMask
	for i, m := range []tcell.ButtonMask{tcell.ButtonPrimary, tcell.ButtonSecondary, tcell.ButtonMiddle, tcell.WheelUp, tcell.WheelDown} {
		if b&(1<<i) != 0 {
			down |= m
		}
	}
	return down
}
