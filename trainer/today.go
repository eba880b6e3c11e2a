package trainer

import (
	"fmt"
	"slices"
	"strings"

	"shadedrill/exercises"
	"shadedrill/scoring/reports/learners"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// todayPage shows the drills that the book suggests for today, each with its
// reason. They follow one after the other; each summary offers the next.
type todayPage struct {
	*app
	plan []exercises.Suggestion
	at   int
}

// today opens the plan.
func (a *app) today() {
	plan, err := learners.PracticePlan(a.ctx, a.cfg.Book, a.learner.ID, a.now(), learners.UsualDrills, ask.Shown)
	if err != nil {
		a.trouble("The book cannot be read.", err, a.today)
		return
	}
	a.show(&todayPage{app: a, plan: plan})
}

// planCount is how many trials a drill of the plan has, where its kind has no
// number of its own: half of what the learner has set, so that three drills are
// half an hour.
func (a *app) planCount(kind exercises.KindID) int {
	if a.cfg.Count > 0 {
		return a.cfg.Count
	}
	if n := ask.ScreenOf(kind).Trials; n > 0 {
		return n
	}
	return max(5, a.count/2)
}

func (p *todayPage) title() (string, string) { return "Today's practice", p.learner.Name }

func (p *todayPage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	in.W = min(in.W, 100)
	y := c.Paragraph(in, in.Y+1, p.choice()+" The drills follow one after the other.", c.Tone.Plain, false) + 1
	for i, s := range p.plan {
		ink, mark := c.Tone.Plain, " "
		if i == p.at {
			ink, mark = c.Tone.Strong, "▸"
		}
		from := y
		c.Write(in.X, y, mark, ink, true)
		c.Write(in.X+2, y, fmt.Sprint(i+1), c.Tone.Faint, false)
		x := c.Write(in.X+5, y, titleOf(s.Kind), ink, i == p.at)
		sc := ask.ScreenOf(s.Kind)
		c.Write(x+3, y, sc.TrialCount(p.planCount(s.Kind))+", "+learners.MotiveWords(s), c.Tone.Faint, false)
		y = c.Paragraph(draw.Box(in.X+5, in.Y, in.W-5, in.H), y+1, draw.Sentence(s.Reason), c.Tone.Plain, false)
		c.Item(draw.Box(in.X, from, in.W, y-from), i)
		y++
	}
}

// choice says how the drills were chosen.
func (p *todayPage) choice() string {
	tried := func(s exercises.Suggestion) bool { return s.Motive != exercises.MotiveNew }
	if !slices.ContainsFunc(p.plan, tried) {
		return "Your book is still empty: these are the first in the order of learning."
	}
	return "Chosen from your book: what is weak, what is old, and one that was never tried."
}

func titleOf(id exercises.KindID) string {
	k, err := exercises.ByID(id)
	if err != nil {
		return string(id)
	}
	return k.Title()
}

func (p *todayPage) keys() []draw.KeyHelp {
	keys := []draw.KeyHelp{}
	if len(p.plan) > 0 {
		keys = append(keys, draw.Help("↵", "begin", "enter"))
	}
	if len(p.plan) > 1 {
		keys = append(keys, draw.Help("↑ ↓", "begin with another", "down"))
	}
	return append(keys, draw.Help("?", "help", "?"), draw.Help("q", "menu", "q"))
}

func (p *todayPage) key(k string) bool {
	switch k {
	case "up":
		if p.at == 0 {
			p.say("This is the first drill.")
		}
		p.at = max(0, p.at-1)
	case "down":
		if p.at >= len(p.plan)-1 {
			p.say("This is the last drill.")
		}
		p.at = max(0, min(len(p.plan)-1, p.at+1))
	case "enter", "space":
		if len(p.plan) > 0 {
			p.begin()
		}
	case "m", "backspace":
		p.show(newMenuPage(p.app))
	case "q", "escape":
		p.toMenu()
	default:
		i, ok := draw.Digit(k)
		if !ok {
			return false
		}
		if i >= len(p.plan) {
			p.say("There is no drill with this number.")
			return true
		}
		p.at = i
		p.begin()
	}
	return true
}

func (p *todayPage) pick(i int) {
	if i == p.at {
		p.begin()
		return
	}
	p.at = i
}

// begin starts with the chosen drill; the others follow in their order.
func (p *todayPage) begin() {
	var setups []exercises.Setup
	for i := range p.plan {
		s := p.plan[(p.at+i)%len(p.plan)]
		setups = append(setups, exercises.Setup{Kind: s.Kind, Count: p.planCount(s.Kind), Adaptive: s.Adaptive})
	}
	p.follow = setups[1:]
	p.startDrill(setups[0])
}

func (p *todayPage) help() []string {
	return []string{learners.PlanSource,
		"What was practised within the last hours comes last. A drill that is left can be gone on with at the next start; answers are kept in any case."}
}

// nextToday is what the summary of a drill says of the plan.
func (a *app) nextToday() string {
	if len(a.follow) == 0 {
		return ""
	}
	return "next today: " + strings.ToLower(titleOf(a.follow[0].Kind))
}

// goOnToday begins the next drill of the plan.
func (a *app) goOnToday() {
	next := a.follow[0]
	a.follow = a.follow[1:]
	a.startDrill(next)
}
