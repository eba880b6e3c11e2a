package trainer

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// feedbackPage shows what an answer was worth: target and choice edge to edge,
// the difference in numbers and words, and the best answer there was.
type feedbackPage struct {
	*app
	drill   *drillPage
	f       ask.Feedback
	sources bool
	text    draw.Prose
}

func newFeedbackPage(d *drillPage, f ask.Feedback) *feedbackPage {
	return &feedbackPage{app: d.app, drill: d, f: f}
}

func (p *feedbackPage) room() colour.SRGB { return p.f.Setup.Viewing.Surround }

func (p *feedbackPage) title() (string, string) {
	title := p.drill.kind.Title()
	if part := p.drill.screen.Part; part != nil {
		title += ": " + part(p.f.Attempt.Trial)
	}
	return title, fmt.Sprintf("%s %d of %d, answered", p.drill.screen.Unit(), p.drill.drill.Given(), max(p.drill.drill.Planned(), p.drill.drill.Given()))
}

func (p *feedbackPage) body(c *draw.Canvas, in draw.Rect) {
	_, in = in.Top(1)
	var lines []draw.Line
	for _, l := range p.lines() {
		for _, part := range c.Wrap(l.Text, in.W-2*draw.Margin) {
			lines = append(lines, draw.Line{Text: part, Strong: l.Strong, Faint: l.Faint})
		}
	}
	room := in.H * 2 / 3
	if p.drill.screen.Truth == nil && !p.f.Mark.HasColour { // no picture
		room = in.H
	}
	picture, text := in.Bottom(min(len(lines)+1, room))
	if room == in.H {
		text = in
	}
	if p.drill.screen.Truth != nil {
		p.drill.screen.Truth(c, picture, p.f)
	} else {
		p.drawPatches(c, picture)
	}
	_, text = text.Inset(draw.Margin).Top(1)
	p.text.Draw(c, text, lines)
}

// drawPatches shows target and choice edge to edge, a caption well below each.
// Where there was a better answer it stands at the other side of the target.
func (p *feedbackPage) drawPatches(c *draw.Canvas, in draw.Rect) {
	if !p.f.Mark.HasColour {
		return
	}
	target, given := draw.Choice{Colour: p.f.Attempt.Trial.Target, Label: "target"}, draw.Choice{Colour: *p.f.Attempt.Answer.Colour, Label: "your answer"}
	shown := []draw.Choice{target, given}
	if best := p.f.Mark.Best; p.f.Mark.HasSheet && best.Colour != given.Colour {
		shown = []draw.Choice{given, target, {Colour: best.Colour, Label: "best there was"}}
	}
	draw.Row(c, in, shown)
}

// lines are the words of the feedback.
func (p *feedbackPage) lines() []draw.Line {
	var lines []draw.Line
	m, a := p.f.Mark, p.f.Attempt.Answer
	if m.HasColour {
		lines = append(lines, draw.Line{Text: fmt.Sprintf("ΔE00 %.1f, %s", m.Difference.E, m.Band.Words()), Strong: true},
			draw.Line{Text: "Your answer is " + scoring.PartsInWords(m.Difference, p.f.Attempt.Trial.Target.Lab(), a.Colour.Lab()) + "."})
	}
	if m.HasGroup {
		lines = append(lines, draw.Line{Text: groupWords(m.GroupSteps, a.Group)})
	}
	if m.HasSheet && !m.Sparse { // the checks of a sparse choice tell it
		lines = append(lines, draw.Line{Text: bestWords(m, a, p.f.Setup.Sheet)})
	}
	if p.drill.screen.Words != nil {
		lines = append(lines, p.drill.screen.Words(p.f)...)
	} else {
		lines = append(lines, checkLines(m.Checks)...)
	}
	if len(m.Checks) == 0 { // their words tell the measures already
		for _, measure := range m.Measures {
			lines = append(lines, draw.Line{Text: ask.MeasureWords(measure), Faint: true})
		}
	}
	if p.drill.screen.More != nil {
		for _, l := range p.drill.screen.More(p.f) {
			lines = append(lines, draw.Line{Text: l})
		}
	}
	if a.TimedOut {
		lines = append(lines, draw.Line{Text: "The answer came after the look had ended.", Faint: true})
	} else if a.Looks > 1 {
		lines = append(lines, draw.Line{Text: fmt.Sprintf("You looked %d times.", a.Looks), Faint: true})
	}
	if p.sources && m.HasColour {
		lines = append(lines,
			draw.Line{Text: fmt.Sprintf("perceptibility %.1f: %s", scoring.Perceptibility.Value, scoring.Perceptibility.Source), Faint: true},
			draw.Line{Text: fmt.Sprintf("acceptability %.1f: %s", scoring.Acceptability.Value, scoring.Acceptability.Source), Faint: true},
			draw.Line{Text: scoring.BandSource, Faint: true})
	}
	return lines
}

// checkLines say what was right. A single check is the headline; of several
// each has its line.
func checkLines(checks []scoring.Check) []draw.Line {
	verdict := func(right bool) string {
		if right {
			return "right"
		}
		return "not right"
	}
	if len(checks) == 1 {
		lines := []draw.Line{{Text: draw.UpperFirst(verdict(checks[0].Right)), Strong: true}}
		if checks[0].Why != "" {
			lines = append(lines, draw.Line{Text: draw.Sentence(checks[0].Why)})
		}
		return lines
	}
	var lines []draw.Line
	for _, c := range checks {
		text := draw.UpperFirst(c.Name) + ": " + verdict(c.Right)
		if c.Why != "" {
			text += "; " + c.Why
		}
		lines = append(lines, draw.Line{Text: text + "."})
	}
	return lines
}

func groupWords(steps int, group string) string {
	switch {
	case steps == 0:
		return "Value group " + group + " was right."
	case steps > 0:
		return fmt.Sprintf("Value group %s was %s too light.", group, scoring.Count(steps, "step", "steps"))
	}
	return fmt.Sprintf("Value group %s was %s too dark.", group, scoring.Count(-steps, "step", "steps"))
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

func (p *feedbackPage) keys() []draw.KeyHelp {
	keys := append([]draw.KeyHelp{draw.Help("↵", "go on", "enter")}, p.text.Keys()...)
	if p.f.Mark.HasColour {
		keys = append(keys, draw.Help("s", "sources of the limits", "s"))
	}
	return append(keys, draw.Help("?", "help", "?"), draw.Help("q", "leave", "q"))
}

func (p *feedbackPage) key(k string) bool {
	switch k {
	case "enter", "space":
		p.pop()
		p.drill.next()
	case "s":
		if !p.f.Mark.HasColour {
			return false
		}
		p.sources = !p.sources
	case "q", "escape":
		p.pop()
		p.drill.leave()
	default:
		return p.text.Key(k)
	}
	return true
}

// scene: what the answer was worth is read before it is gone.
func (p *feedbackPage) scene() string { return "feedback" }

func (p *feedbackPage) pick(int) {}

func (p *feedbackPage) help() []string { return p.drill.help() }
