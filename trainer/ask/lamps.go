package ask

import (
	"fmt"
	"strings"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/trainer/draw"
)

// lamps is for looking, not for answering: one pair of surfaces that match in
// daylight, under every lamp at once with its difference there.
type lamps struct {
	seed  uint64
	looks []exercises.LampLook
}

func newLamps(seed uint64) Exhibit {
	l := &lamps{seed: seed}
	l.make()
	return l
}

func (l *lamps) make() { l.looks = exercises.AllLamps(exercises.TeachingPair(l.seed)) }

func (l *lamps) Next() {
	l.seed++
	l.make()
}

func (l *lamps) Title() string { return "One pair under all lamps" }

func (l *lamps) Draw(c *draw.Canvas, in draw.Rect) {
	line, in := in.Top(2)
	c.Write(line.X+draw.Margin, line.Y, "Two surfaces that match in daylight, and what other lamps make of them.", c.Tone.Plain, false)
	cols := 3
	rows := (len(l.looks) + cols - 1) / cols
	pitch := max(5, in.H/rows)
	for i, look := range l.looks {
		row := draw.Box(in.X, in.Y+i/cols*pitch, in.W, pitch-4)
		r := across(row, cols)[i%cols]
		c.Swatch(draw.Box(r.X, r.Y, r.W/2, r.H), look.First)
		c.Swatch(draw.Box(r.X+r.W/2, r.Y, r.W-r.W/2, r.H), look.Second)
		c.Write(r.X, r.Y+r.H+1, c.Clip(shortName(c, look.Light.Name, r.W+1), r.W+1), c.Tone.Plain, false)
		what := fmt.Sprintf("ΔE00 %.1f", look.E)
		if !look.Fits {
			what += ", beyond this display"
		}
		c.Write(r.X, r.Y+r.H+2, what, c.Tone.Strong, true)
	}
}

// shortName leaves out the designation in brackets where there is no room, and that a
// lamp is white, not that it is modelled.
func shortName(c *draw.Canvas, name string, width int) string {
	if short, _, ok := strings.Cut(name, " ("); ok && c.Width(name) > width {
		return short
	}
	if c.Width(name) > width {
		return strings.Replace(name, "white ", "", 1)
	}
	return name
}

func (l *lamps) Help() []string {
	lines := []string{"Two surfaces of one colour in daylight part under a lamp when they reflect different parts of its light: that is metamerism. ΔE00 is computed from the colours shown, each adapted to the white of this display."}
	for _, light := range colour.Lights() {
		lines = append(lines, "· "+light.Name+": "+light.Note)
	}
	return lines
}
