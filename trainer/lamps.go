package trainer

import (
	"fmt"
	"strings"

	"shadedrill/colour"
	"shadedrill/exercises"
)

// lampsPage is for looking, not for answering: one pair of surfaces that match in
// daylight, under every lamp at once with its difference there.
type lampsPage struct {
	*app
	seed  uint64
	looks []exercises.LampLook
}

func openLamps(a *app) {
	p := &lampsPage{app: a, seed: a.cfg.seed(a.drills)}
	p.make()
	a.push(p)
}

func (p *lampsPage) make() { p.looks = exercises.AllLamps(exercises.TeachingPair(p.seed)) }

func (p *lampsPage) title() (string, string) { return "One pair under all lamps", "" }

func (p *lampsPage) body(c *canvas, in rect) {
	line, in := in.top(2)
	c.write(line.x+sideMargin, line.y, "Two surfaces that match in daylight, and what other lamps make of them.", p.tone.plain, false)
	cols := 3
	rows := (len(p.looks) + cols - 1) / cols
	pitch := max(5, in.h/rows)
	for i, look := range p.looks {
		row := rect{in.x, in.y + i/cols*pitch, in.w, pitch - 4}
		r := across(row, cols)[i%cols]
		c.swatch(rect{r.x, r.y, r.w / 2, r.h}, look.First)
		c.swatch(rect{r.x + r.w/2, r.y, r.w - r.w/2, r.h}, look.Second)
		c.write(r.x, r.y+r.h+1, clip(c, shortName(c, look.Light.Name, r.w+1), r.w+1), p.tone.plain, false)
		what := fmt.Sprintf("ΔE00 %.1f", look.E)
		if !look.Fits {
			what += ", beyond this display"
		}
		c.write(r.x, r.y+r.h+2, what, p.tone.strong, true)
	}
}

// shortName leaves out the designation in brackets where there is no room.
func shortName(c *canvas, name string, width int) string {
	if short, _, ok := strings.Cut(name, " ("); ok && c.width(name) > width {
		return short
	}
	return name
}

func (p *lampsPage) keys() []keyHelp {
	return []keyHelp{help("n", "another pair", "n"), help("⌫", "back", "backspace"), help("?", "help", "?")}
}

func (p *lampsPage) key(k string) bool {
	switch k {
	case "n", "space":
		p.seed++
		p.make()
	case "backspace", "escape", "enter", "q":
		p.pop()
	default:
		return false
	}
	return true
}

func (p *lampsPage) pick(int) {}

func (p *lampsPage) help() []string {
	lines := []string{"Two surfaces of one colour in daylight part under a lamp when they reflect different parts of its light: that is metamerism. ΔE00 is computed from the colours shown, each adapted to the white of this display."}
	for _, l := range colour.Lights() {
		lines = append(lines, "· "+l.Name+": "+l.Note)
	}
	return lines
}
