package draw

import (
	"testing"

	"github.com/gdamore/tcell/v2"

	"shadedrill/colour"
)

// A second picture of the same trial sends no cell at all, a changed candidate
// its patch and no more: that keeps a redraw quick, on any machine.
func TestRedrawSetsOnlyWhatChanged(t *testing.T) {
	s := &counting{Screen: tcell.NewSimulationScreen("UTF-8")}
	if err := s.Init(); err != nil {
		t.Fatal(err)
	}
	defer s.Fini()
	s.Screen.(tcell.SimulationScreen).SetSize(200, 60)
	c := NewCanvas(s)
	paint := func(right colour.SRGB) int {
		s.puts = 0
		c.Begin(colour.Grey(64))
		c.Swatch(Box(20, 5, 60, 30), colour.SRGB{R: 200, G: 180, B: 150})
		c.Swatch(Box(80, 5, 60, 30), right)
		c.Write(2, 0, "value first", colour.Grey(200), true)
		c.End()
		return s.puts
	}
	if n := paint(colour.SRGB{R: 190, G: 180, B: 150}); n != 200*60 {
		t.Errorf("the first picture sets %d cells", n)
	}
	if n := paint(colour.SRGB{R: 190, G: 180, B: 150}); n != 0 {
		t.Errorf("the same picture again sets %d cells", n)
	}
	if n := paint(colour.SRGB{R: 191, G: 180, B: 150}); n != 60*30 {
		t.Errorf("another candidate sets %d cells", n)
	}
	c.Forget()
	if n := paint(colour.SRGB{R: 191, G: 180, B: 150}); n != 200*60 {
		t.Errorf("what the screen forgot is sent with %d cells", n)
	}
}

type counting struct {
	tcell.Screen
	puts int
}

func (c *counting) Put(x, y int, s string, style tcell.Style) (string, int) {
	c.puts++
	return c.Screen.Put(x, y, s, style)
}
