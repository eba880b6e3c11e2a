package trainer

import (
	"fmt"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// summaryPage says how a drill went: its largest bias in words, what it came to beside
// last time and the best so far, its parts, and what to practise next. The two worst
// trials can be looked at again.
type summaryPage struct {
	*app
	drill *record.Drill
	kind  exercises.Kind
	worst []ask.Result
	lines []draw.Line
	text  draw.Prose
	next  string // of the day's plan, "" outside of it
}

// worstShown is how many trials the summary offers to look at again.
const worstShown = 2

func newSummaryPage(a *app, d *record.Drill, kind exercises.Kind, results []ask.Result) *summaryPage {
	p := &summaryPage{app: a, drill: d, kind: kind, next: a.nextToday()}
	s := ask.ScreenOf(kind.ID())
	setup := d.Sitting().Setup
	p.lines = []draw.Line{{Text: s.TrialCount(len(results)) + "."}, {}}
	if len(results) < d.Planned() {
		p.lines[0].Text = fmt.Sprintf("%d of %s.", len(results), s.TrialCount(d.Planned()))
	}
	if s.Summary != nil {
		p.lines = append(p.lines, s.Summary(setup, results)...)
		return p
	}
	if !s.Quiet {
		p.worst = ask.Worst(results, worstShown)
	}
	p.lines = append(p.lines, p.told(results)...)
	return p
}

// told are the lines of the summary.
func (p *summaryPage) told(results []ask.Result) []draw.Line {
	var lines []draw.Line
	add := func(text string) {
		if text != "" {
			lines = append(lines, draw.Line{Text: text})
		}
	}
	sum := ask.SumOf(p.drill.Sitting().Setup.Sheet, results)
	if sum.Bias != "" {
		lines = append(lines, draw.Line{Text: sum.Bias, Strong: true}, draw.Line{})
	}
	var marks []scoring.Mark
	for _, r := range results {
		marks = append(marks, r.Mark)
	}
	if score := ask.ScoreOf(marks); score.Known {
		text := "Half of your answers were nearer than ΔE00 " + score.Words()
		if score.Of > 0 {
			text = score.Words()
		}
		add(text + p.before(score, len(marks)) + ".")
		setup := p.drill.Sitting().Setup
		switch {
		case len(setup.Again) > 0:
			add("These were your mistakes: what goes right now comes back later, what does not tomorrow.")
		case setup.LevelNow() > 0 && setup.LevelNow() < exercises.UsualLevel(setup.Kind):
			// On an easier level the distance is the level's as well.
			level := setup.LevelNow()
			add(fmt.Sprintf("At level %d of %d: %s.", level, len(exercises.Levels(setup.Kind)), exercises.LevelOf(setup.Kind, level).Says()))
		case score.Of == 0:
			add(scoring.FarFrom(score.Distance))
		}
	}
	for _, part := range sum.Parts {
		add(part)
	}
	quick := 0
	for _, r := range results {
		if t := r.Attempt.Answer.Total; t > 0 && t < tooQuick {
			quick++
		}
	}
	if quick > 0 {
		add(fmt.Sprintf("%s in less than a second: too quick to have been looked at.", draw.UpperFirst(scoring.Count(quick, "answer came", "answers came"))))
	}
	lines = append(lines, draw.Line{})
	if p.next == "" {
		add(ask.NextWords(p.kind, sum))
	}
	return lines
}

// tooQuick is how fast nobody judges a colour; house rule.
const tooQuick = time.Second

// fewestToCompare is how many answers an earlier drill needs to stand beside this one.
const fewestToCompare = 5

// before says what the last drill like this one came to and the best one, and whether
// this one, which came to now, is better than all.
func (p *summaryPage) before(now ask.Score, answers int) string {
	this := p.drill.Sitting()
	sittings, err := p.cfg.Book.Sittings(p.ctx, record.Filter{Learner: this.Learner, Kind: string(this.Setup.Kind)})
	if err != nil {
		return ""
	}
	marks := map[scoring.SittingID][]scoring.Mark{}
	var marking scoring.Marking
	for at, err := range p.cfg.Book.Attempts(p.ctx, record.Filter{Learner: this.Learner, Kind: string(this.Setup.Kind)}) {
		if err != nil {
			return ""
		}
		marks[at.Sitting] = append(marks[at.Sitting], marking.Mark(at, nil))
	}
	var last, best ask.Score
	for _, s := range sittings {
		if s.ID == this.ID || len(marks[s.ID]) < fewestToCompare || !ask.Like(s.Setup, this.Setup) {
			continue
		}
		score := ask.ScoreOf(marks[s.ID])
		if !score.Known {
			continue
		}
		last = score
		if !best.Known || score.Better(best) {
			best = score
		}
	}
	if !last.Known {
		return ""
	}
	words := " (last time " + last.Words()
	if best != last {
		words += ", best before " + best.Words()
	}
	words += ")"
	if now.Better(best) && answers >= fewestToCompare {
		return ", your best so far" + words
	}
	return words
}

func (p *summaryPage) title() (string, string) { return p.kind.Title() + ": summary", p.learner.Name }

func (p *summaryPage) body(c *draw.Canvas, in draw.Rect) {
	_, in = in.Inset(draw.Margin).Top(1)
	in.W = min(in.W, 96)
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
	keys := []draw.KeyHelp{draw.Help("↵", p.homeWords(), "enter")}
	if p.next != "" {
		keys = []draw.KeyHelp{draw.Help("↵", p.next, "enter")}
	}
	if n := len(p.worst); n > 0 {
		keys = append(keys, draw.Help("w", "the worst again", "w"))
	}
	if p.drill.Sitting().Within == "" { // a set is taken once
		keys = append(keys, draw.Help("a", "another drill like it", "a"))
	}
	keys = append(keys, p.text.Keys()...)
	return append(keys, draw.Help("p", "progress", "p"), draw.Help("g", "glossary", "g"), draw.Help("?", "help", "?"), draw.Help("q", p.homeWords(), "q"))
}

func (p *summaryPage) key(k string) bool {
	switch k {
	case "enter":
		if p.next != "" {
			p.goOnToday(true)
			return true
		}
		p.toMenu()
	case "m":
		p.toMenu()
	case "w":
		if len(p.worst) == 0 {
			p.say("There is no trial that would have to be looked at again.")
			return true
		}
		p.again(0)
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

// again shows a trial of the worst once more, with its answer.
func (p *summaryPage) again(n int) {
	r := p.worst[n]
	f := &feedbackPage{app: p.app, kind: p.kind, f: ask.Feedback{Attempt: r.Attempt, Mark: r.Mark, Setup: p.drill.Sitting().Setup},
		right: fmt.Sprintf("%s %d, once more", ask.ScreenOf(p.kind.ID()).Unit(), r.Attempt.Trial.Ordinal+1)}
	f.leave = func() { p.pop() }
	f.next = func() {
		p.pop()
		if n+1 < len(p.worst) {
			p.again(n + 1)
		}
	}
	p.push(f)
}

func (p *summaryPage) help() []string {
	return []string{"What a single drill tells. \"Half of your answers were nearer\" than the number named; last time and best are drills of the same question, library and light.",
		"A bias is told only where chance alone would hardly make it, in one of twenty drills. What holds over several drills stands in your progress (p)."}
}

func (p *summaryPage) scene() scene { return scene{of: "summary"} }

func (p *summaryPage) pick(int) {}
