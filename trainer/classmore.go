package trainer

import (
	"time"

	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/classes"
	"shadedrill/trainer/draw"
)

// reportPage shows a report as text, made anew as often as it is asked to be.
type reportPage struct {
	*app
	head  string
	make  func() (report.Report, error)
	every time.Duration // 0: once
	next  time.Time
	width int
	made  report.Report
	lines []draw.Line
	text  draw.Prose
}

func newReportPage(a *app, head string, every time.Duration, make func() (report.Report, error)) {
	p := &reportPage{app: a, head: head, make: make, every: every}
	if p.again() {
		a.push(p)
	}
}

// again makes the report; what stands in the way is said.
func (p *reportPage) again() bool {
	r, err := p.make()
	if err != nil {
		p.app.trouble("The report cannot be made.", err, nil)
		return false
	}
	p.made, p.width = r, 0
	return true
}

func (p *reportPage) due(now time.Time) (time.Time, bool) {
	if p.every == 0 {
		return time.Time{}, false
	}
	if p.next.IsZero() {
		p.next = now.Add(p.every)
	}
	return p.next, true
}

func (p *reportPage) tick(now time.Time) {
	if p.every > 0 && !now.Before(p.next) {
		p.next = now.Add(p.every)
		p.again()
	}
}

func (p *reportPage) title() (string, string) { return p.head, p.learner.Name }

func (p *reportPage) body(c *draw.Canvas, in draw.Rect) {
	_, in = in.Inset(draw.Margin).Top(1)
	if p.width != in.W {
		p.width, p.lines = in.W, reportLines(p.made, in.W)
	}
	p.text.Draw(c, in, p.lines)
}

func (p *reportPage) keys() []draw.KeyHelp {
	return append(p.text.Keys(), draw.Help("⌫", "back", "backspace"), draw.Help("q", "menu", "q"))
}

func (p *reportPage) key(k string) bool {
	switch k {
	case "backspace", "escape", "enter":
		p.pop()
	case "q":
		p.toMenu()
	default:
		return p.text.Key(k)
	}
	return true
}

func (p *reportPage) pick(int) {}

// liveEvery is how often the page of who is at a drill is made anew; house choice.
const liveEvery = 3 * time.Second

// more opens what else there is to know of a class: whether it worked, its grades, who
// is at a drill now.
func (p *classPage) more(k string) bool {
	switch k {
	case "e":
		newReportPage(p.app, "Did it work?", 0, func() (report.Report, error) {
			return classes.Effect(p.ctx, p.cfg.Book, p.class, nil, record.Filter{})
		})
	case "g":
		newReportPage(p.app, "Grades", 0, func() (report.Report, error) {
			return classes.Grades(p.ctx, p.cfg.Book, p.of, 0, p.now(), false)
		})
	case "w":
		newReportPage(p.app, "Class review", 0, func() (report.Report, error) { return p.review.Report(p.order()) })
	case "a":
		p.assignments()
	case "n":
		newReportPage(p.app, "Who is at a drill now", liveEvery, func() (report.Report, error) {
			return classes.Live(p.ctx, p.cfg.Book, p.class, p.now())
		})
	default:
		return false
	}
	return true
}
