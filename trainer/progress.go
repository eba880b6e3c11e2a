package trainer

import (
	"bytes"
	"strings"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/learners"
	"shadedrill/trainer/draw"
)

// progressPage shows a learner's tables, the same that the command prints:
// one report value, written as text to the width of the window.
type progressPage struct {
	*app
	who    scoring.Learner
	report report.Report
	width  int // for which lines was made
	lines  []draw.Line
	text   draw.Prose
}

func newProgressPage(a *app, who scoring.Learner) {
	r, err := learners.Progress(a.ctx, a.cfg.Book, who, record.Filter{})
	if err != nil {
		a.trouble("The tables cannot be made.", err, nil)
		return
	}
	a.push(&progressPage{app: a, who: who, report: r})
}

func (p *progressPage) title() (string, string) { return "Progress", p.who.Name }

func (p *progressPage) body(c *draw.Canvas, in draw.Rect) {
	_, in = in.Inset(draw.Margin).Top(1)
	if p.width != in.W {
		p.width = in.W
		p.lines = reportLines(p.report, in.W)
	}
	p.text.Draw(c, in, p.lines)
}

// reportLines writes a report as text of a width.
func reportLines(r report.Report, width int) []draw.Line {
	var b bytes.Buffer
	if err := report.Write(&b, r, report.FormatText, report.Layout{Width: width}); err != nil {
		return []draw.Line{{Text: err.Error(), Strong: true}}
	}
	headings := map[string]bool{r.Title: true}
	for _, s := range r.Sections {
		headings[s.Title] = true
	}
	var lines []draw.Line
	for _, l := range strings.Split(strings.TrimRight(b.String(), "\n"), "\n") {
		lines = append(lines, draw.Line{Text: l, Strong: headings[l]})
	}
	return lines
}

func (p *progressPage) keys() []draw.KeyHelp {
	return append(p.text.Keys(), draw.Help("⌫", "back", "backspace"), draw.Help("q", "menu", "q"))
}

func (p *progressPage) key(k string) bool {
	switch k {
	case "backspace", "escape", "enter", "p":
		p.pop()
	case "q":
		p.toMenu()
	default:
		return p.text.Key(k)
	}
	return true
}

func (p *progressPage) pick(int) {}
