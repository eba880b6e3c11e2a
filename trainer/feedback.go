package trainer

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// feedbackPage shows what an answer was worth: target and choice edge to edge,
// the difference in numbers and words, and the best answer there was.
type feedbackPage struct {
	*app
	drill   *drillPage
	f       feedback
	sources bool
	text    prose
}

func newFeedbackPage(d *drillPage, f feedback) *feedbackPage {
	return &feedbackPage{app: d.app, drill: d, f: f}
}

func (p *feedbackPage) room() colour.SRGB { return p.f.setup.Viewing.Surround }

func (p *feedbackPage) title() (string, string) {
	title := p.drill.kind.Title()
	if part := p.drill.screen.part; part != nil {
		title += ": " + part(p.f.attempt.Trial)
	}
	return title, fmt.Sprintf("%s %d of %d, answered", p.drill.screen.unit(), p.drill.drill.Given(), max(p.drill.drill.Planned(), p.drill.drill.Given()))
}

func (p *feedbackPage) body(c *canvas, in rect) {
	_, in = in.top(1)
	var lines []proseLine
	for _, l := range p.lines() {
		for _, part := range c.wrap(l.text, in.w-2*sideMargin) {
			lines = append(lines, proseLine{text: part, strong: l.strong, faint: l.faint})
		}
	}
	room := in.h * 2 / 3
	if p.drill.screen.truth == nil && !p.f.mark.HasColour { // no picture
		room = in.h
	}
	picture, text := in.bottom(min(len(lines)+1, room))
	if room == in.h {
		text = in
	}
	if p.drill.screen.truth != nil {
		p.drill.screen.truth(c, picture, p.f)
	} else {
		p.drawPatches(c, picture)
	}
	_, text = text.inset(sideMargin).top(1)
	p.text.draw(c, text, lines)
}

// drawPatches shows target and choice edge to edge, a caption well below each.
// Where there was a better answer it stands at the other side of the target.
func (p *feedbackPage) drawPatches(c *canvas, in rect) {
	if !p.f.mark.HasColour {
		return
	}
	target, given := choice{p.f.attempt.Trial.Target, "target"}, choice{*p.f.attempt.Answer.Colour, "your answer"}
	shown := []choice{target, given}
	if best := p.f.mark.Best; p.f.mark.HasSheet && best.Colour != given.colour {
		shown = []choice{given, target, {best.Colour, "best there was"}}
	}
	drawRow(c, in, shown)
}

// lines are the words of the feedback.
func (p *feedbackPage) lines() []proseLine {
	var lines []proseLine
	m, a := p.f.mark, p.f.attempt.Answer
	if m.HasColour {
		lines = append(lines, proseLine{text: fmt.Sprintf("ΔE00 %.1f, %s", m.Difference.E, m.Band.Words()), strong: true},
			proseLine{text: "Your answer is " + scoring.PartsInWords(m.Difference, p.f.attempt.Trial.Target.Lab(), a.Colour.Lab()) + "."})
	}
	if m.HasGroup {
		lines = append(lines, proseLine{text: groupWords(m.GroupSteps, a.Group)})
	}
	if m.HasSheet && !m.Sparse { // the checks of a sparse choice tell it
		lines = append(lines, proseLine{text: bestWords(m, a, p.f.setup.Sheet)})
	}
	if p.drill.screen.words != nil {
		lines = append(lines, p.drill.screen.words(p.f)...)
	} else {
		lines = append(lines, checkLines(m.Checks)...)
	}
	if len(m.Checks) == 0 { // their words tell the measures already
		for _, measure := range m.Measures {
			lines = append(lines, proseLine{text: measureWords(measure), faint: true})
		}
	}
	if p.drill.screen.more != nil {
		for _, l := range p.drill.screen.more(p.f) {
			lines = append(lines, proseLine{text: l})
		}
	}
	if a.TimedOut {
		lines = append(lines, proseLine{text: "The answer came after the look had ended.", faint: true})
	} else if a.Looks > 1 {
		lines = append(lines, proseLine{text: fmt.Sprintf("You looked %d times.", a.Looks), faint: true})
	}
	if p.sources && m.HasColour {
		lines = append(lines,
			proseLine{text: fmt.Sprintf("perceptibility %.1f: %s", scoring.Perceptibility.Value, scoring.Perceptibility.Source), faint: true},
			proseLine{text: fmt.Sprintf("acceptability %.1f: %s", scoring.Acceptability.Value, scoring.Acceptability.Source), faint: true},
			proseLine{text: scoring.BandSource, faint: true})
	}
	return lines
}

// checkLines say what was right. A single check is the headline; of several
// each has its line.
func checkLines(checks []scoring.Check) []proseLine {
	verdict := func(right bool) string {
		if right {
			return "right"
		}
		return "not right"
	}
	if len(checks) == 1 {
		lines := []proseLine{{text: upperFirst(verdict(checks[0].Right)), strong: true}}
		if checks[0].Why != "" {
			lines = append(lines, proseLine{text: sentence(checks[0].Why)})
		}
		return lines
	}
	var lines []proseLine
	for _, c := range checks {
		text := upperFirst(c.Name) + ": " + verdict(c.Right)
		if c.Why != "" {
			text += "; " + c.Why
		}
		lines = append(lines, proseLine{text: text + "."})
	}
	return lines
}

func groupWords(steps int, group string) string {
	switch {
	case steps == 0:
		return "Value group " + group + " was right."
	case steps > 0:
		return fmt.Sprintf("Value group %s was %s too light.", group, count(steps, "step", "steps"))
	}
	return fmt.Sprintf("Value group %s was %s too dark.", group, count(-steps, "step", "steps"))
}

func bestWords(m scoring.Mark, a exercises.Answer, sheet *tabs.Sheet) string {
	points := fmt.Sprintf(" (%d of 10 points)", m.Points)
	if m.Excess < 0.005 {
		return "There was no better answer" + points + "."
	}
	best := "another answer"
	if sheet != nil && m.Best.I >= 0 && m.Best.I < sheet.Len() {
		best = sheet.Name(m.Best.I)
		if m.Best.J >= 0 {
			best = "between " + best + " and " + sheet.Name(m.Best.J)
		}
	}
	return fmt.Sprintf("Nearest was %s at ΔE00 %.1f%s.", best, m.Best.E, points)
}

func (p *feedbackPage) keys() []keyHelp {
	keys := append([]keyHelp{help("↵", "go on", "enter")}, p.text.keys()...)
	if p.f.mark.HasColour {
		keys = append(keys, help("s", "sources of the limits", "s"))
	}
	return append(keys, help("?", "help", "?"), help("q", "leave", "q"))
}

func (p *feedbackPage) key(k string) bool {
	switch k {
	case "enter", "space":
		p.pop()
		p.drill.next()
	case "s":
		if !p.f.mark.HasColour {
			return false
		}
		p.sources = !p.sources
	case "q", "escape":
		p.pop()
		p.drill.leave()
	default:
		return p.text.key(k)
	}
	return true
}

func (p *feedbackPage) pick(int) {}

func (p *feedbackPage) help() []string { return p.drill.help() }
