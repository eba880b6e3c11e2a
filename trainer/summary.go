package trainer

import (
	"fmt"
	"strings"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// summaryPage says how a drill went.
type summaryPage struct {
	*app
	drill *record.Drill
	kind  exercises.Kind
	lines []draw.Line
	text  draw.Prose
}

func newSummaryPage(a *app, d *record.Drill, kind exercises.Kind, results []ask.Result) *summaryPage {
	p := &summaryPage{app: a, drill: d, kind: kind}
	s := ask.ScreenOf(kind.ID())
	p.lines = []draw.Line{{Text: s.TrialCount(len(results)) + "."}, {}}
	if len(results) < d.Planned() {
		p.lines[0].Text = fmt.Sprintf("%d of %s.", len(results), s.TrialCount(d.Planned()))
	}
	if s.Summary != nil {
		p.lines = append(p.lines, s.Summary(d.Sitting().Setup, results)...)
	} else {
		p.lines = append(p.lines, summaryLines(d.Sitting().Setup.Sheet, results)...)
	}
	return p
}

// summaryLines describes the answers of one drill. They are few, so it counts
// and takes medians; what can be concluded from many drills is for the tables.
func summaryLines(sheet *tabs.Sheet, results []ask.Result) []draw.Line {
	var lines []draw.Line
	add := func(format string, args ...any) {
		lines = append(lines, draw.Line{Text: fmt.Sprintf(format, args...)})
	}
	var es []float64
	var judged []history.Judged
	seen, accepted, groups, hit, sheets, points, best := 0, 0, 0, 0, 0, 0, 0
	checks, rightChecks := 0, 0
	for _, r := range results {
		m := r.Mark
		if m.HasColour && !m.Sparse {
			es, judged = append(es, m.Difference.E), append(judged, history.Judge(r.Attempt, m, sheet))
			if m.Band == scoring.Excellent {
				seen++
			}
			if m.Band <= scoring.Acceptable {
				accepted++
			}
		}
		if m.HasGroup {
			groups++
			if m.GroupSteps == 0 {
				hit++
			}
		}
		if m.HasSheet {
			sheets++
			points += m.Points
			if m.Excess < 0.005 {
				best++
			}
		}
		for _, c := range m.Checks {
			checks++
			if c.Right {
				rightChecks++
			}
		}
	}
	if len(es) > 0 {
		lines = append(lines, draw.Line{Text: "median ΔE00 " + estimateWords(trend.Median(es, 0.95)), Strong: true})
		add("%d of %d within perceptibility (%.1f), %d within acceptability (%.1f)",
			seen, len(es), scoring.Perceptibility.Value, accepted, scoring.Acceptability.Value)
	}
	if groups > 0 {
		add("value group right in %d of %d", hit, groups)
	}
	if checks > 0 {
		add("%d of %d judgements right", rightChecks, checks)
	}
	if sheets > 0 {
		add("best possible answer given in %d of %d", best, sheets)
		add("%d of %d points", points, 10*sheets)
	}
	if len(es) > 0 {
		lines = append(lines, draw.Line{})
		biases := history.BiasOf([][]history.Judged{judged}) // as the tables have it
		for i, name := range []string{"Value", "Chroma", "Hue"} {
			axis := history.Axes[i]
			add("%s", biasWords(name, axis.Above, axis.Below, biases.Estimates[i]))
		}
		lines = append(lines, draw.Line{}, draw.Line{Text: "In brackets: the 95 % interval. Your tables say what holds over several drills.", Faint: true})
	}
	return lines
}

// estimateWords writes a number with its interval, or why there is none.
func estimateWords(e scoring.Estimate) string {
	switch {
	case !e.Defined():
		return "not known: " + strings.Join(e.Warnings, "; ")
	case e.HasInterval():
		return fmt.Sprintf("%.1f (%.1f to %.1f)", e.Value, e.Lo, e.Hi)
	case len(e.Warnings) > 0:
		return fmt.Sprintf("%.1f (%s)", e.Value, strings.Join(e.Warnings, "; "))
	}
	return fmt.Sprintf("%.1f", e.Value)
}

// biasWords says the bias of a drill's answers along one axis, as far
// as chance allows to say it.
func biasWords(axis, more, less string, e scoring.Estimate) string {
	switch {
	case !e.HasInterval():
		return axis + ": too few answers to tell a bias."
	case e.Open() > 0 && e.Value > 0:
		return fmt.Sprintf("%s: your answers were %s, by at least %.1f (the library ends there).", axis, more, e.Value)
	case e.Open() < 0 && e.Value < 0:
		return fmt.Sprintf("%s: your answers were %s, by at least %.1f (the library ends there).", axis, less, -e.Value)
	case e.Open() != 0:
		return axis + ": the library ends too soon to tell a bias."
	case e.Covers(0):
		return fmt.Sprintf("%s: no bias beyond chance, %+.1f (%+.1f to %+.1f).", axis, e.Value, e.Lo, e.Hi)
	case e.Value > 0:
		return fmt.Sprintf("%s: your answers were %s, %+.1f (%+.1f to %+.1f).", axis, more, e.Value, e.Lo, e.Hi)
	}
	return fmt.Sprintf("%s: your answers were %s, %+.1f (%+.1f to %+.1f).", axis, less, e.Value, e.Lo, e.Hi)
}

func (p *summaryPage) title() (string, string) { return p.kind.Title() + ": summary", p.learner.Name }

func (p *summaryPage) body(c *draw.Canvas, in draw.Rect) {
	_, in = in.Inset(draw.Margin).Top(1)
	var lines []draw.Line
	for _, l := range p.lines {
		if l.Drawn {
			lines = append(lines, l)
			continue
		}
		for _, part := range c.Wrap(l.Text, in.W) {
			lines = append(lines, draw.Line{Text: part, Strong: l.Strong, Faint: l.Faint})
		}
	}
	p.text.Draw(c, in, lines)
}

func (p *summaryPage) keys() []draw.KeyHelp {
	keys := []draw.KeyHelp{draw.Help("↵", "menu", "enter")}
	if next := p.nextToday(); next != "" {
		keys = []draw.KeyHelp{draw.Help("↵", next, "enter"), draw.Help("m", "menu", "m")}
	}
	keys = append(append(keys, draw.Help("a", "again, with new "+ask.ScreenOf(p.kind.ID()).Unit()+"s", "a")), p.text.Keys()...)
	return append(keys, draw.Help("p", "progress", "p"), draw.Help("q", "menu", "q"))
}

func (p *summaryPage) key(k string) bool {
	switch k {
	case "enter":
		if len(p.follow) > 0 {
			p.goOnToday()
			return true
		}
		p.show(newMenuPage(p.app))
	case "m":
		p.show(newMenuPage(p.app))
	case "a":
		s := p.drill.Sitting()
		if s.Within != "" {
			p.say("This drill belongs to a set that is taken once. The menu has others.")
			return true
		}
		s.Setup.Seed, s.Setup.Experience = 0, nil
		p.startDrill(s.Setup)
	case "p":
		newProgressPage(p.app, p.learner)
	case "q", "escape":
		p.toMenu()
	default:
		return p.text.Key(k)
	}
	return true
}

func (p *summaryPage) scene() string { return "summary" }

func (p *summaryPage) pick(int) {}
