package trainer

import (
	"fmt"
	"strings"

	"shadedrill/colour"
	"shadedrill/exercises"
)

// lamps is for looking, not for answering: one pair of surfaces that match in
// daylight, under every lamp at once with its difference there.
type lamps struct {
	seed  uint64
	looks []exercises.LampLook
}

func newLamps(seed uint64) exhibit {
	l := &lamps{seed: seed}
	l.make()
	return l
}

func (l *lamps) make() { l.looks = exercises.AllLamps(exercises.TeachingPair(l.seed)) }

func (l *lamps) next() {
	l.seed++
	l.make()
}

func (l *lamps) title() string { return "One pair under all lamps" }

func (l *lamps) draw(c *canvas, in rect) {
	line, in := in.top(2)
	c.write(line.x+sideMargin, line.y, "Two surfaces that match in daylight, and what other lamps make of them.", c.tone.plain, false)
	cols := 3
	rows := (len(l.looks) + cols - 1) / cols
	pitch := max(5, in.h/rows)
	for i, look := range l.looks {
		row := rect{in.x, in.y + i/cols*pitch, in.w, pitch - 4}
		r := across(row, cols)[i%cols]
		c.swatch(rect{r.x, r.y, r.w / 2, r.h}, look.First)
		c.swatch(rect{r.x + r.w/2, r.y, r.w - r.w/2, r.h}, look.Second)
		c.write(r.x, r.y+r.h+1, c.clip(shortName(c, look.Light.Name, r.w+1), r.w+1), c.tone.plain, false)
		what := fmt.Sprintf("ΔE00 %.1f", look.E)
		if !look.Fits {
			what += ", beyond this display"
		}
		c.write(r.x, r.y+r.h+2, what, c.tone.strong, true)
	}
}

// shortName leaves out the designation in brackets where there is no room.
func shortName(c *canvas, name string, width int) string {
	if short, _, ok := strings.Cut(name, " ("); ok && c.width(name) > width {
		return short
	}
	return name
}

func (l *lamps) help() []string {
	lines := []string{"Two surfaces of one colour in daylight part under a lamp when they reflect different parts of its light: that is metamerism. ΔE00 is computed from the colours shown, each adapted to the white of this display."}
	for _, light := range colour.Lights() {
		lines = append(lines, "· "+light.Name+": "+light.Note)
	}
	return lines
}
