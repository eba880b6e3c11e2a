package trainer

import (
	"fmt"
	"strings"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/reports/learners"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// todayPage shows the day's practice: its drills one after the other, what is done of
// it, and when all is, that it is over and what tomorrow will hold. It is made from the
// book each time it is shown: nothing of it is remembered here.
type todayPage struct {
	*app
	day learners.Day
	at  int
}

// today opens the plan of the day.
func (a *app) today() {
	a.planDay = a.now()
	a.goOnToday(false)
}

// goOnToday shows the plan, or goes on with its next drill at once.
func (a *app) goOnToday(atOnce bool) {
	day, err := a.readDay()
	if err != nil {
		a.trouble("The book cannot be read.", err, a.today)
		return
	}
	p := &todayPage{app: a, day: day, at: max(0, day.Plan.Next())}
	if atOnce && !day.Plan.Done() {
		p.begin()
		return
	}
	a.following = false
	a.show(p)
}

// overMidnight is how long after its beginning a plan may be ended although the next day is
// here: who sat down late goes on, who comes back after a night begins anew. House rule.
const overMidnight = 6 * time.Hour

// overNight reports whether the plan begun is one of a day that is over.
func (a *app) overNight() bool {
	return scoring.DaysBetween(a.planDay, a.now()) > 0 && a.now().Sub(a.planDay) > overMidnight
}

// readDay plans the day that was begun. Who practises over midnight ends the plan of the
// day before.
func (a *app) readDay() (learners.Day, error) {
	if a.now().Before(a.planDay) || a.overNight() {
		a.planDay = a.now()
	}
	minutes := a.minutes
	if a.cfg.Minutes > 0 {
		minutes = a.cfg.Minutes
	}
	day, err := learners.PracticeDay(a.ctx, a.cfg.Book, a.learner.ID, a.planDay, a.now(), minutes, ask.Shown)
	if err != nil {
		return day, err
	}
	for i := range day.Plan.Drills {
		s := &day.Plan.Drills[i]
		if a.cfg.Count > 0 && !s.Again() {
			s.Minutes *= float64(a.cfg.Count) / float64(max(1, s.Count))
			s.Count = a.cfg.Count
			s.Done = s.Done || s.Given >= s.Count
		}
	}
	return day, nil
}

func (p *todayPage) title() (string, string) { return "Today's practice", p.learner.Name }

func (p *todayPage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	in.W = min(in.W, 100)
	y := c.Paragraph(in, in.Y+1, p.lead(), c.Tone.Plain, false) + 1
	why := draw.Box(in.X+5, in.Y, in.W-5, in.H)
	below := p.belowEach(c, in, y-in.Y)
	for i, s := range p.day.Plan.Drills {
		ink, mark := c.Tone.Plain, " "
		switch {
		case i == p.at && !s.Done:
			ink, mark = c.Tone.Strong, "▸"
		case s.Done:
			ink = c.Tone.Faint
		}
		from := y
		c.Write(in.X, y, mark, ink, true)
		c.Write(in.X+2, y, fmt.Sprint(i+1), c.Tone.Faint, false)
		x := c.Write(in.X+5, y, learners.DrillTitle(s), ink, i == p.at && !s.Done)
		c.Write(x+3, y, drillWords(s), c.Tone.Faint, false)
		y++
		if !s.Done && below {
			y = c.Paragraph(why, y, whyWords(s), c.Tone.Plain, false)
		}
		c.Item(draw.Box(in.X, from, in.W, y-from), i)
		if below {
			y++
		}
	}
	switch {
	case p.day.Plan.Done():
		c.Paragraph(in, y, learners.TomorrowWords(p.day), c.Tone.Plain, false)
	case !below:
		c.Paragraph(why, y+1, whyWords(p.day.Plan.Drills[p.at]), c.Tone.Plain, false)
	}
}

// belowEach reports whether there is room to say below each drill why it is there; else
// it is said of the chosen one, below them all.
func (p *todayPage) belowEach(c *draw.Canvas, in draw.Rect, rows int) bool {
	for _, s := range p.day.Plan.Drills {
		rows += 2
		if !s.Done {
			rows += len(c.Wrap(whyWords(s), in.W-5))
		}
	}
	return rows-1 <= in.H || p.day.Plan.Done()
}

// whyWords say why a drill is on the plan, and at which level.
func whyWords(s exercises.Suggestion) string {
	text := draw.Sentence(s.Why())
	if words := learners.LevelWords(s); words != "" {
		text += " Level " + words + "."
	}
	return text
}

// drillWords are what stands beside a drill: how long it takes, or that it is done.
func drillWords(s exercises.Suggestion) string {
	sc := ask.ScreenOf(s.Kind)
	switch {
	case s.Done && s.Given > 0:
		return "done, " + sc.TrialCount(s.Given)
	case s.Done:
		return "done"
	case s.Given > 0:
		return fmt.Sprintf("%s, %d of %s done", minutesOf(s), s.Given, sc.TrialCount(s.Count))
	}
	return minutesOf(s) + ", " + sc.TrialCount(s.Count)
}

func minutesOf(s exercises.Suggestion) string {
	return learners.AboutMinutes(s.Minutes * float64(s.Left()) / float64(max(1, s.Count)))
}

// lead says what the day holds, or that it is done.
func (p *todayPage) lead() string {
	switch {
	case len(p.day.Plan.Drills) == 0:
		return "There is nothing to practise."
	case p.day.Plan.Done():
		return learners.DoneWords(p.day)
	case p.day.Newcomer:
		return draw.UpperFirst(learners.AboutMinutes(p.day.Plan.Minutes())) + " for a first day. The drills follow one after the other and begin with large differences."
	}
	return draw.UpperFirst(learners.AboutMinutes(p.day.Plan.Minutes())) + ", chosen from your book. The drills follow one after the other; then the day is done."
}

func (p *todayPage) keys() []draw.KeyHelp {
	keys := []draw.KeyHelp{draw.Help("↵", "menu", "enter")}
	if !p.day.Plan.Done() {
		keys = []draw.KeyHelp{draw.Help("↵", "begin", "enter")}
		if len(p.day.Plan.Drills) > 1 {
			keys = append(keys, draw.Help("↑ ↓", "begin with another", "down"))
		}
	}
	return append(keys, draw.Help("p", "progress", "p"), draw.Help("?", "help", "?"), draw.Help("q", "menu", "q"))
}

func (p *todayPage) key(k string) bool {
	drills := p.day.Plan.Drills
	switch k {
	case "up", "down":
		by := 1
		if k == "up" {
			by = -1
		}
		at := p.at + by
		for at >= 0 && at < len(drills) && drills[at].Done {
			at += by
		}
		switch {
		case p.day.Plan.Done():
			p.say("Everything is done for today.")
		case at < 0:
			p.say("This is the first drill.")
		case at >= len(drills):
			p.say("This is the last drill.")
		default:
			p.at = at
		}
	case "enter", "space":
		if p.day.Plan.Done() {
			p.toMenu()
			return true
		}
		p.begin()
	case "p":
		newProgressPage(p.app, p.learner)
	case "m", "backspace":
		p.show(newMenuPage(p.app))
	case "q", "escape":
		p.toMenu()
	default:
		i, ok := draw.Digit(k)
		if !ok {
			return false
		}
		p.take(i)
	}
	return true
}

// take begins with a drill by its number.
func (p *todayPage) take(i int) {
	switch drills := p.day.Plan.Drills; {
	case i >= len(drills):
		p.say("There is no drill with this number.")
	case drills[i].Done:
		p.say("This drill is done for today.")
	default:
		p.at = i
		p.begin()
	}
}

func (p *todayPage) pick(i int) {
	if i == p.at || i < len(p.day.Plan.Drills) && p.day.Plan.Drills[i].Done {
		p.take(i)
		return
	}
	p.at = i
}

// begin starts with the chosen drill; the others follow in their order. A page that was
// left open over night is first made anew.
func (p *todayPage) begin() {
	if p.overNight() {
		p.today()
		p.say("It is another day: this is its plan.")
		return
	}
	s := p.day.Plan.Drills[p.at]
	p.following = true
	if s.Again() {
		again := p.day.Mistakes.Setup
		again.Planned = true
		p.startDrill(again)
		return
	}
	scene := max(1, exercises.TraitsOf(s.Kind).Scene)
	count := max(1, (s.Left()+scene-1)/scene) * scene // what was broken off goes on in whole scenes
	p.startDrill(exercises.Setup{Kind: s.Kind, Count: count, Adaptive: s.Adaptive, Planned: true}.AtLevel(s.Level))
}

// again begins a drill of one's own mistakes, or says why there is none.
func (a *app) again() {
	m, err := learners.MistakesOf(a.ctx, a.cfg.Book, a.learner.ID, a.now())
	if err != nil {
		a.trouble("The book cannot be read.", err, a.again)
		return
	}
	if m.Due == 0 {
		a.following = false
		a.show(newMenuPage(a))
		a.say(m.NoneWords())
		return
	}
	a.startDrill(m.Setup)
}

func (p *todayPage) help() []string {
	return []string{"A day's practice is done when its drills are; a drill that is left goes on at the next start, and its answers are kept in any case. How many minutes it has is in the settings.",
		learners.PlanSource}
}

// nextToday is what the summary of a drill says of the plan, "" outside of it.
func (a *app) nextToday() string {
	if !a.following {
		return ""
	}
	day, err := a.readDay()
	if err != nil {
		return "" // the menu is always there
	}
	if next := day.Plan.Next(); next >= 0 {
		return "next today: " + strings.ToLower(learners.DrillTitle(day.Plan.Drills[next]))
	}
	return "done for today"
}
