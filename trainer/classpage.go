package trainer

import (
	"fmt"
	"slices"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/classes"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/reports/panels"
	"shadedrill/trainer/draw"
)

// openClasses are the menu's lines for whoever looks after a class or a team: one that
// leads to the review or to who is where in a session, none for a learner and for a book
// without either.
func (a *app) openClasses() ([]draw.Item, error) {
	if a.learner.Role != scoring.RoleInstructor && a.learner.Role != scoring.RoleLead {
		return nil, nil
	}
	classes, err := a.cfg.Book.Classes(a.ctx)
	if err != nil {
		return nil, err
	}
	sessions, err := a.cfg.Book.Panels(a.ctx)
	sessions = slices.DeleteFunc(sessions, func(p record.Panel) bool { return !p.Closed.IsZero() })
	if err != nil || len(classes)+len(sessions) == 0 {
		return nil, err
	}
	item := draw.Item{Text: "Class review", Do: func() { a.push(newClassesPage(a, classes, sessions)) }}
	switch {
	case len(classes) == 1 && len(sessions) == 0:
		item.Do, item.Extra = func() { newClassPage(a, classes[0]) }, classes[0].Name
	case len(classes) == 0:
		item.Text = "Sessions now"
	}
	return []draw.Item{item}, nil
}

const aboutClasses = "Where a class stands: one row for each learner, who needs help and why. Of an open calibration session, who is at which item now."

// newClassesPage asks which class or which session is meant.
func newClassesPage(a *app, classes []scoring.Class, sessions []record.Panel) *choicePage {
	p := &choicePage{app: a, head: "Which class or session?"}
	for _, class := range classes {
		p.list.Items = append(p.list.Items, draw.Item{Text: class.Name, Do: func() { newClassPage(a, class) }})
	}
	for _, s := range sessions {
		p.list.Items = append(p.list.Items, draw.Item{Text: "Calibration session " + s.Name, Extra: "who is at which item now", Do: func() {
			newReportPage(a, "Session now", liveEvery, func() (report.Report, error) { return panels.Live(a.ctx, a.cfg.Book, s, a.now()) })
		}})
	}
	return p
}

// classPage is a class at a glance: rows that can be sorted by any column, and
// the whole of what a row says below them.
type classPage struct {
	*app
	of     scoring.Class
	class  classes.Scope
	review *classes.Review // nil until it has been read
	at     int             // the row chosen
	from   int             // the first row shown
	shown  int             // how many rows fitted
	by     int             // column that the rows are sorted by, −1 for flags
	turned bool
}

func newClassPage(a *app, class scoring.Class) {
	asked, err := classes.ScopeOf(a.ctx, a.cfg.Book, class)
	if err != nil {
		a.trouble("The class cannot be read.", err, nil)
		return
	}
	a.push(&classPage{app: a, of: class, class: asked, by: -1})
}

// due and tick let the page be drawn before its answers are read: a large class
// takes a moment.
func (p *classPage) due(now time.Time) (time.Time, bool) { return now, p.review == nil }

func (p *classPage) tick(time.Time) {
	if p.review != nil {
		return
	}
	r, err := classes.Read(p.ctx, p.cfg.Book, p.class, record.Filter{})
	if err != nil {
		a := p.app
		a.pop()
		a.trouble("The class cannot be reviewed.", err, nil)
		return
	}
	p.review = r
	r.Sort(p.order(), p.turned)
}

func (p *classPage) order() classes.Order {
	if p.by < 0 {
		return "flag"
	}
	return classColumns[p.by].by
}

// sort keeps the chosen learner chosen.
func (p *classPage) sort() {
	var chosen scoring.LearnerID
	if p.at < len(p.review.Rows) {
		chosen = p.review.Rows[p.at].Learner.ID
	}
	p.review.Sort(p.order(), p.turned)
	p.at = 0
	for i, r := range p.review.Rows {
		if r.Learner.ID == chosen {
			p.at = i
		}
	}
}

func (p *classPage) title() (string, string) { return "Class review: " + p.class.Name, p.learner.Name }

func (p *classPage) help() []string {
	return []string{
		"Each row is a learner. Median ΔE00: half of the answers are nearer to their target than this; its 95 % interval stands in brackets. Trend: whether the errors shrink. Bias: the way in which the errors go. Threshold: the newest perceptibility threshold, relative to this screen and this room. Test: the latest proficiency test.",
		"An exclamation mark flags a learner whose errors grow, who has stopped while the class went on, whose bias is beyond acceptability, or whose answers scatter beyond it. The reason stands below the rows.",
		"Assignments: another due date, more time for one person, an excuse, an item left out of the grade, or the assignment taken back. Each is written down with your name and the time, and grades are computed by it.",
		history.EvenNote + " No two learners were asked the same.",
		"The whole review says more of the class: the numbers behind it, what changed, the items that several had alike, and what is taken for what. The command \"shadedrill class review\" writes it with pictures.",
	}
}

func (p *classPage) keys() []draw.KeyHelp {
	keys := []draw.KeyHelp{draw.Help("↑ ↓", "choose", "down"), draw.Help("← →", "sort by", "right"), draw.Help("r", "turn round", "r"), draw.Help("f", "flags first", "f")}
	if p.review != nil && len(p.review.Rows) > 0 {
		keys = append(keys, draw.Help("↵", "progress", "enter"))
	}
	keys = append(keys, draw.Help("e", "did it work", "e"), draw.Help("g", "grades", "g"), draw.Help("a", "assignments", "a"), draw.Help("n", "now", "n"), draw.Help("w", "whole review", "w"))
	return append(keys, draw.Help("⌫", "back", "backspace"), draw.Help("?", "help", "?"), draw.Help("q", "menu", "q"))
}

func (p *classPage) key(k string) bool {
	switch k {
	case "backspace", "escape":
		p.pop()
		return true
	case "q":
		p.toMenu()
		return true
	}
	if p.review == nil {
		return false
	}
	rows := len(p.review.Rows)
	page := max(1, p.shown)
	switch k {
	case "up":
		p.move(-1)
	case "down":
		p.move(1)
	case "page up":
		p.at = max(0, p.at-page)
	case "page down":
		p.at = max(0, min(rows-1, p.at+page))
	case "home":
		p.at = 0
	case "end":
		p.at = max(0, rows-1)
	case "left", "right":
		p.turnTo(k == "right")
	case "r":
		p.turned = !p.turned
		p.sort()
		p.sayOrder()
	case "f":
		p.by, p.turned = -1, false
		p.sort()
		p.sayOrder()
	case "enter":
		p.open()
	default:
		return p.more(k)
	}
	return true
}

func (p *classPage) move(by int) {
	switch at := p.at + by; {
	case at < 0:
		p.say("This is the first row.")
	case at >= len(p.review.Rows):
		p.say("This is the last row.")
	default:
		p.at = at
	}
}

// turnTo sorts by the next column to the right or to the left.
func (p *classPage) turnTo(right bool) {
	step := 1
	if !right {
		step = -1
	}
	n := len(classColumns)
	p.by, p.turned = (max(p.by, 0)+step+n)%n, false
	if !right && p.by == n-1 || right && p.by == 0 {
		p.say("The columns go round.")
	}
	p.sort()
	p.sayOrder()
}

func (p *classPage) sayOrder() {
	words := "Sorted: " + p.order().Words()
	if p.turned {
		words += ", turned round"
	}
	p.say(words + ".")
}

// open shows the tables of the learner chosen.
func (p *classPage) open() {
	if len(p.review.Rows) == 0 {
		p.say("There is nobody to look at.")
		return
	}
	newProgressPage(p.app, p.review.Rows[p.at].Learner)
}

func (p *classPage) pick(i int) {
	if p.review == nil || i >= len(p.review.Rows) {
		return
	}
	if i == p.at {
		p.open()
		return
	}
	p.at = i
}

// reason is the whole of what the chosen row says, for below the rows.
func (p *classPage) reason() []string {
	r := p.review.Rows[p.at]
	lines := []string{r.Learner.Name + ": " + r.FlagWords()}
	if len(r.Flags) == 0 {
		lines[0] = r.Learner.Name + ": nothing is flagged"
	}
	if r.Answers > 0 {
		lines = append(lines, fmt.Sprintf("Bias: %s. Trend: %s.", r.BiasWords(), r.TrendWord().Shown))
	}
	return lines
}
