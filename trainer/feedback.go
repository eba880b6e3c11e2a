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

// feedbackPage says what an answer teaches: in three sentences what was said and what
// it was, how far that is, and a rule of looking. Below the picture n shows the
// figures, f the answer and the target in turn at the same place.
type feedbackPage struct {
	*app
	f     ask.Feedback
	kind  exercises.Kind
	right string // at the upper right
	next  func() // what Enter leads to …
	leave func() // … and q

	figures bool
	sources bool
	side    int // of those shown in turn, from 1; 0 shows all beside each other
	text    draw.Prose
}

func newFeedbackPage(d *drillPage, f ask.Feedback) *feedbackPage {
	p := &feedbackPage{app: d.app, f: f, kind: d.kind,
		right: fmt.Sprintf("%s %d of %d, answered", d.screen.Unit(), d.drill.Given(), max(d.drill.Planned(), d.drill.Given()))}
	p.next = func() { p.pop(); d.next() }
	p.leave = func() { p.pop(); d.leave() }
	return p
}

func (p *feedbackPage) screenOf() ask.Screen { return ask.ScreenOf(p.kind.ID()) }

func (p *feedbackPage) room() colour.SRGB { return p.f.Setup.Viewing.Surround }

func (p *feedbackPage) title() (string, string) {
	title := p.kind.Title()
	if part := p.screenOf().Part; part != nil {
		title += ": " + part(p.f.Attempt.Trial)
	}
	return title, p.right
}

// lessonRows is what three sentences take in the smallest window, so that the picture
// stays where it is.
const lessonRows = 6

func (p *feedbackPage) body(c *draw.Canvas, in draw.Rect) {
	_, in = in.Top(1)
	var lines []draw.Line
	for _, l := range p.lines() {
		for _, part := range c.Wrap(l.Text, in.W-2*draw.Margin) {
			lines = append(lines, draw.Line{Text: part, Strong: l.Strong, Faint: l.Faint})
		}
	}
	picture, text := in.Bottom(max(lessonRows+1, min(len(lines)+1, in.H/2)))
	switch sides := ask.SidesOf(p.f); {
	case p.side > 0 && len(sides) > 0:
		s := sides[(p.side-1)%len(sides)]
		shown, caption := picture.Bottom(2)
		s.Paint(c, shown)
		c.Write(caption.X+(caption.W-c.Width(s.Label))/2, caption.Y+1, s.Label, c.Tone.Strong, true)
	case p.screenOf().Truth != nil:
		p.screenOf().Truth(c, picture, p.f)
	default:
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

// lines are the three sentences, or the figures.
func (p *feedbackPage) lines() []draw.Line {
	var lines []draw.Line
	if p.figures {
		lines = p.numbers()
	} else {
		l := ask.LessonOf(p.f)
		for i, text := range []string{l.What, l.Far, l.Rule} {
			if text != "" {
				lines = append(lines, draw.Line{Text: text, Strong: i == 0})
			}
		}
	}
	if p.sources {
		for _, s := range []string{
			fmt.Sprintf("Half of observers see a difference of %.1f: %s.", scoring.Perceptibility.Value, scoring.Perceptibility.Source),
			fmt.Sprintf("Half accept one of %.1f: %s.", scoring.Acceptability.Value, scoring.Acceptability.Source),
			scoring.NoticedSource, ask.RuleSource} {
			lines = append(lines, draw.Line{Text: s, Faint: true})
		}
		if p.figures {
			lines = append(lines, draw.Line{Text: scoring.BandSource, Faint: true})
		}
	}
	return lines
}

// numbers are what is behind the sentences.
func (p *feedbackPage) numbers() []draw.Line {
	var lines []draw.Line
	m, a := p.f.Mark, p.f.Attempt.Answer
	if m.HasColour {
		lines = append(lines, draw.Line{Text: fmt.Sprintf("ΔE00 %s, %s", scoring.Figure(m.Difference.E), m.Band.Words()), Strong: true},
			draw.Line{Text: "Your answer is " + scoring.PartsInWords(m.Difference, p.f.Attempt.Trial.Target.Lab(), a.Colour.Lab()) + "."})
	}
	if m.HasGroup {
		lines = append(lines, draw.Line{Text: groupWords(m.GroupSteps, a.Group)})
	}
	if m.HasSheet && !m.Sparse { // the checks of a sparse choice tell it
		lines = append(lines, draw.Line{Text: bestWords(m, p.f.Setup.Sheet)})
	}
	if p.screenOf().Words != nil {
		lines = append(lines, p.screenOf().Words(p.f)...)
	} else {
		lines = append(lines, checkLines(m.Checks)...)
	}
	if len(m.Checks) == 0 { // their words tell the measures already
		for _, measure := range m.Measures {
			lines = append(lines, draw.Line{Text: ask.MeasureWords(measure), Faint: true})
		}
	}
	if p.screenOf().More != nil {
		for _, l := range p.screenOf().More(p.f) {
			lines = append(lines, draw.Line{Text: l})
		}
	}
	if a.TimedOut {
		lines = append(lines, draw.Line{Text: "The answer came after the look had ended.", Faint: true})
	} else if a.Looks > 1 {
		lines = append(lines, draw.Line{Text: fmt.Sprintf("You looked %d times.", a.Looks), Faint: true})
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

func bestWords(m scoring.Mark, sheet *tabs.Sheet) string {
	points := fmt.Sprintf(" (%d of 10 points)", m.Points())
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
	keys := []draw.KeyHelp{draw.Help("↵", "go on", "enter")}
	if len(ask.SidesOf(p.f)) > 1 {
		keys = append(keys, draw.Help("f", "flip between them", "f"))
	}
	if p.side > 0 {
		keys = append(keys, draw.Help("⌫", "side by side", "backspace"))
	}
	words := "figures"
	if p.figures {
		words = "sentences"
	}
	return append(append(keys, draw.Help("n", words, "n"), draw.Help("s", "sources", "s")), append(p.text.Keys(),
		draw.Help("g", "glossary", "g"), draw.Help("?", "help", "?"), draw.Help("q", "leave", "q"))...)
}

func (p *feedbackPage) key(k string) bool {
	switch k {
	case "enter", "space":
		p.next()
	case "f":
		sides := ask.SidesOf(p.f)
		if len(sides) < 2 {
			p.say("There are no two things here to flip between.")
			return true
		}
		p.side = p.side%len(sides) + 1
	case "backspace":
		if p.side == 0 {
			p.say("Everything stands side by side already.")
		}
		p.side = 0
	case "n":
		p.figures = !p.figures
	case "s":
		p.sources = !p.sources
	case "q", "escape":
		p.leave()
	default:
		return p.text.Key(k)
	}
	return true
}

// scene: what the answer was worth is read before it is gone.
func (p *feedbackPage) scene() scene { return scene{of: "feedback"} }

func (p *feedbackPage) pick(int) {}

func (p *feedbackPage) help() []string { return helpOf(p.kind, p.f.Setup) }
