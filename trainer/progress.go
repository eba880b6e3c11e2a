package trainer

import (
	"bytes"
	"strings"

	"shadedrill/colour"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/learners"
	"shadedrill/trainer/draw"
)

// progressPage is what a learner sees of their progress first: how near, how often, the
// best, the bias, what is next. The tables stand behind a key.
type progressPage struct {
	*app
	who    scoring.Learner
	glance learners.Glance
}

func newProgressPage(a *app, who scoring.Learner) {
	g, err := learners.GlanceOf(a.ctx, a.cfg.Book, who.ID, a.now())
	if err != nil {
		a.trouble("The book cannot be read.", err, nil)
		return
	}
	a.push(&progressPage{app: a, who: who, glance: g})
}

func (p *progressPage) title() (string, string) { return "Progress", p.who.Name }

func (p *progressPage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	in.W = min(in.W, 100)
	_, in = in.Top(1)
	y := in.Y
	// Where there is little room the lines stand close.
	between := 0
	if in.H > 26 {
		between = 1
	}
	for i, l := range p.glance.Lines() {
		ink := c.Tone.Plain
		if i == 1 {
			ink = c.Tone.Strong
		}
		y = c.Paragraph(in, y, l, ink, i == 1) + between
	}
	if in.Y+in.H-y > 7 {
		y++
	}
	p.calendar(c, draw.Box(in.X, y, in.W, in.Y+in.H-y))
}

// calendar draws the last twelve weeks, a column each, the more practised the lighter.
func (p *progressPage) calendar(c *draw.Canvas, in draw.Rect) {
	if in.H < 7 {
		return
	}
	const wide = 4
	for d, name := range []string{"Mon", "", "Wed", "", "Fri", "", "Sun"} {
		c.Write(in.X, in.Y+d, name, c.Tone.Faint, false)
		for w := range learners.Weeks {
			n := p.glance.Calendar[w][d]
			if n < 0 {
				continue
			}
			c.Swatch(draw.Box(in.X+5+w*wide, in.Y+d, wide-1, 1), p.grey(n))
		}
	}
	x := in.X + 5 + learners.Weeks*wide + 2
	c.Write(x, in.Y, "12 weeks,", c.Tone.Faint, false)
	c.Write(x, in.Y+1, "a column each;", c.Tone.Faint, false)
	c.Write(x, in.Y+2, "lighter: more", c.Tone.Faint, false)
	c.Write(x, in.Y+3, "answers", c.Tone.Faint, false)
}

// grey is the shade of a day of so many answers: four of them, told apart from the room
// and from each other.
func (p *progressPage) grey(answers int) colour.SRGB {
	switch {
	case answers == 0:
		return colour.Grey(80)
	case answers < 10:
		return colour.Grey(120)
	case answers < 30:
		return colour.Grey(165)
	}
	return colour.Grey(215)
}

func (p *progressPage) keys() []draw.KeyHelp {
	return []draw.KeyHelp{draw.Help("t", "tables", "t"), draw.Help("⌫", "back", "backspace"), draw.Help("?", "help", "?"), draw.Help("q", "menu", "q")}
}

func (p *progressPage) key(k string) bool {
	switch k {
	case "t":
		newTablesPage(p.app, p.who)
	case "backspace", "escape", "enter", "p":
		p.pop()
	case "q":
		p.toMenu()
	default:
		return false
	}
	return true
}

func (p *progressPage) help() []string {
	return []string{"How near your shades would lie is told from all that you took, whatever the level: which way you see wrong, and how much it scatters. Below 0.8 fewer than half of people would see the difference, below 1.8 half would accept it.",
		"Levels keep about 85 % of your answers right. " + scoring.RightAtALevel}
}

func (p *progressPage) pick(int) {}

// tablesPage shows a learner's tables, the same that the command prints: one report
// value, written as text to the width of the window.
type tablesPage struct {
	*app
	who    scoring.Learner
	report report.Report
	width  int // for which lines was made
	lines  []draw.Line
	text   draw.Prose
}

func newTablesPage(a *app, who scoring.Learner) {
	r, err := learners.Progress(a.ctx, a.cfg.Book, who, record.Filter{}, a.now(), false)
	if err != nil {
		a.trouble("The tables cannot be made.", err, nil)
		return
	}
	a.push(&tablesPage{app: a, who: who, report: r})
}

func (p *tablesPage) title() (string, string) { return "Progress, tables", p.who.Name }

func (p *tablesPage) body(c *draw.Canvas, in draw.Rect) {
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
	if err := report.Write(&b, r, report.FormatText, report.Layout{Width: width, NoCommands: true}); err != nil {
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

func (p *tablesPage) keys() []draw.KeyHelp {
	return append(p.text.Keys(), draw.Help("⌫", "back", "backspace"), draw.Help("q", "menu", "q"))
}

func (p *tablesPage) key(k string) bool {
	switch k {
	case "backspace", "escape", "enter", "t":
		p.pop()
	case "q":
		p.toMenu()
	default:
		return p.text.Key(k)
	}
	return true
}

func (p *tablesPage) pick(int) {}
