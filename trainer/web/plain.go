package web

import (
	"errors"

	"github.com/gdamore/tcell/v2"

	"shadedrill/trainer/display"
)

// The rest of tcell.Screen: what a page has no use for, or what follows from Put.

// Colors is 24 bits, always.
func (s *Screen) Colors() int { return display.Depth }

// Clear blanks the picture.
func (s *Screen) Clear() { s.Fill(' ', tcell.StyleDefault) }

// Fill writes one sign into every cell.
func (s *Screen) Fill(r rune, style tcell.Style) {
	w, h := s.Size()
	for y := range h {
		for x := range w {
			s.Put(x, y, string(r), style)
		}
	}
}

// PutStr writes a text in the default style.
func (s *Screen) PutStr(x, y int, text string) { s.PutStrStyled(x, y, text, tcell.StyleDefault) }

// PutStrStyled writes a text up to the end of the row.
func (s *Screen) PutStrStyled(x, y int, text string, style tcell.Style) {
	w, _ := s.Size()
	for width := 0; text != "" && x < w; x += width {
		if text, width = s.Put(x, y, text, style); width == 0 {
			return
		}
	}
}

// SetCell is Put of several runes.
func (s *Screen) SetCell(x, y int, style tcell.Style, ch ...rune) {
	if len(ch) == 0 {
		ch = []rune{' '}
	}
	s.Put(x, y, string(ch), style)
}

// SetContent is Put of a rune and what combines with it.
func (s *Screen) SetContent(x, y int, primary rune, combining []rune, style tcell.Style) {
	s.Put(x, y, string(append([]rune{primary}, combining...)), style)
}

// Get reads a cell back.
func (s *Screen) Get(x, y int) (text string, style tcell.Style, width int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	c := &s.cells
	if x < 0 || y < 0 || x >= c.w || y >= c.h {
		return "", tcell.StyleDefault, 0
	}
	i := y*c.w + x
	at := c.all[i]
	tone := func(b rgb) tcell.Color { return tcell.NewRGBColor(int32(b[0]), int32(b[1]), int32(b[2])) }
	width = 1
	if x+1 < c.w && c.all[i+1].sign == rightHalf {
		width = 2
	}
	return c.text(i), tcell.StyleDefault.Foreground(tone(at.ink)).Background(tone(at.ground)).Bold(at.bold), width
}

// GetContent is Get in runes.
func (s *Screen) GetContent(x, y int) (primary rune, combining []rune, style tcell.Style, width int) {
	text, style, width := s.Get(x, y)
	for i, r := range text {
		if i == 0 {
			primary = r
		} else {
			combining = append(combining, r)
		}
	}
	return primary, combining, style, width
}

// ChannelEvents passes events on until quit is closed or the screen ends.
func (s *Screen) ChannelEvents(ch chan<- tcell.Event, quit <-chan struct{}) {
	defer close(ch)
	for {
		ev := s.PollEvent()
		if ev == nil {
			return
		}
		select {
		case <-quit:
			return
		case ch <- ev:
		}
	}
}

// PostEventWait is PostEvent; what does not fit is lost.
func (s *Screen) PostEventWait(ev tcell.Event) { _ = s.PostEvent(ev) }

var errNoTerminal = errors.New("a page is no terminal")

func (s *Screen) SetStyle(tcell.Style)                             {}
func (s *Screen) ShowCursor(int, int)                              {}
func (s *Screen) HideCursor()                                      {}
func (s *Screen) SetCursorStyle(tcell.CursorStyle, ...tcell.Color) {}
func (s *Screen) EnableMouse(...tcell.MouseFlags)                  {}
func (s *Screen) DisableMouse()                                    {}
func (s *Screen) EnablePaste()                                     {}
func (s *Screen) DisablePaste()                                    {}
func (s *Screen) EnableFocus()                                     {}
func (s *Screen) DisableFocus()                                    {}
func (s *Screen) HasMouse() bool                                   { return true }
func (s *Screen) CharacterSet() string                             { return "UTF-8" }
func (s *Screen) RegisterRuneFallback(rune, string)                {}
func (s *Screen) UnregisterRuneFallback(rune)                      {}
func (s *Screen) CanDisplay(rune, bool) bool                       { return true }
func (s *Screen) Resize(int, int, int, int)                        {}
func (s *Screen) HasKey(tcell.Key) bool                            { return true }
func (s *Screen) Suspend() error                                   { return errNoTerminal }
func (s *Screen) Resume() error                                    { return errNoTerminal }
func (s *Screen) Beep() error                                      { return nil }
func (s *Screen) SetSize(int, int)                                 {}
func (s *Screen) LockRegion(int, int, int, int, bool)              {}
func (s *Screen) Tty() (tcell.Tty, bool)                           { return nil, false }
func (s *Screen) SetTitle(string)                                  {}
func (s *Screen) SetClipboard([]byte)                              {}
func (s *Screen) GetClipboard()                                    {}

var _ tcell.Screen = (*Screen)(nil)
