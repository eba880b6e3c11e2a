package trainer

import (
	"errors"
	"fmt"
	"math"

	"shadedrill/colour"
	"shadedrill/exercises"
)

func init() {
	registerAsker(exercises.Whitening, screen{
		brief: []string{
			"A tooth before and after a course of whitening. Say how many steps of the ladder below it became whiter.",
			"The marked stretch of the ladder has as many steps as you say. Slide it until its foot looks like the tooth before; then its top should look like the tooth after.",
		},
		notes: whiteningNotes,
		ask:   newWhitening,
		truth: whiteningTruth,
		more:  whiteningPromise,
	})
}

// whiteningAsker asks for a number of steps on a ladder.
//
//	foot      top
//	 |─────────|        steps = top − foot
type whiteningAsker struct {
	question
	after   colour.SRGB
	ladder  exercises.Ladder
	steps   int
	foot    int
	compare bool // the ends of the stretch stand beside the tooth
}

func newWhitening(q question) (asker, error) {
	after, ok := q.trial.Patch("after")
	a := &whiteningAsker{question: q, after: after, ladder: exercises.LadderOf(q.trial)}
	if !ok || len(a.ladder.Rungs) < 2 {
		return nil, errors.New("this trial has no second tooth or no ladder")
	}
	a.foot = len(a.ladder.Rungs) / 3
	return a, nil
}

func (a *whiteningAsker) prompt() string {
	return "How many steps whiter has the tooth become? " + upperFirst(count(a.steps, "step", "steps")) + "."
}

func (a *whiteningAsker) last() int { return len(a.ladder.Rungs) - 1 }

func (a *whiteningAsker) keys() []keyHelp {
	view := help("v", "beside the ladder", "v")
	if a.compare {
		view = help("v", "before and after", "v")
	}
	return []keyHelp{help("← →", "fewer, more steps", "right"), help("↑ ↓", "slide up, down the ladder", "up"),
		help("↵", "answer", "enter"), view}
}

func (a *whiteningAsker) key(k string) reply {
	switch k {
	case "left":
		if a.steps == 0 {
			return why("No step at all is the least: a course does not darken.")
		}
		a.steps--
	case "right":
		if a.steps == a.last() {
			return why("The ladder has no more steps.")
		}
		a.steps++
		a.foot = min(a.foot, a.last()-a.steps)
	case "up":
		if a.foot+a.steps == a.last() {
			return why("The top of the ladder is reached.")
		}
		a.foot++
	case "down":
		if a.foot == 0 {
			return why("The foot of the ladder is reached.")
		}
		a.foot--
	case "v":
		a.compare = !a.compare
	case "enter":
		n := float64(a.steps)
		return reply{answer: &exercises.Answer{Number: &n}}
	default:
		i, ok := digit(k)
		if k != "0" && !ok {
			return noKey
		}
		a.steps = 0
		if ok {
			a.steps = i + 1
		}
		a.foot = min(a.foot, a.last()-a.steps)
	}
	return reply{}
}

// pick on the ladder moves the nearer end of the stretch there.
func (a *whiteningAsker) pick(i int) reply {
	top := a.foot + a.steps
	if i < a.foot || i-a.foot < top-i && i < top {
		a.foot, a.steps = i, top-i
	} else {
		a.steps = i - a.foot
	}
	return reply{}
}

func (a *whiteningAsker) draw(c *canvas, in rect, covered bool) {
	v := a.setup.Viewing
	upper, lower := in.bottom(5)
	upper, _ = upper.bottom(1)
	if !a.compare {
		drawField(c, upper, v, fieldOf{a.trial.Target, a.after, "before", "after"}, covered)
	} else {
		places := across(upper, 2)
		rungs := [2]colour.SRGB{a.ladder.Rungs[a.foot], a.ladder.Rungs[a.foot+a.steps]}
		for i, f := range []fieldOf{{a.trial.Target, rungs[0], "before", "foot"}, {a.after, rungs[1], "after", "top"}} {
			drawField(c, places[i], v, f, covered)
		}
	}
	drawLadder(c, lower, a.ladder.Rungs, float64(a.foot), float64(a.foot+a.steps), true)
}

// drawLadder paints the rungs edge to edge, darkest first, and marks a stretch
// below. Where the rungs can be chosen they are items.
func drawLadder(c *canvas, in rect, rungs []colour.SRGB, from, to float64, items bool) {
	in = in.inset(sideMargin)
	w := max(1, in.w/len(rungs))
	x := in.x + (in.w-w*len(rungs))/2
	h := max(1, in.h-3)
	for i, r := range rungs {
		patch := rect{x + i*w, in.y, w, h}
		c.swatch(patch, r)
		if items {
			c.item(rect{patch.x, patch.y, w, h + 1}, i)
		}
	}
	middle := func(place float64) int {
		return max(in.x, min(in.x+in.w-1, x+int(math.Round(place*float64(w)))+w/2))
	}
	a, b := middle(from), middle(to)
	bracket(c, a, in.y+h, b-a+1, c.tone.strong)
	c.write(x, in.y+h+1, "darker", c.tone.faint, false)
	c.write(x+w*len(rungs)-c.width("whiter"), in.y+h+1, "whiter", c.tone.faint, false)
	label := count(int(math.Round(to-from)), "step", "steps")
	if to-from != math.Round(to-from) {
		label = fmt.Sprintf("%.1f steps", to-from)
	}
	at := max(x+c.width("darker")+2, min((a+b-c.width(label))/2, x+w*len(rungs)-c.width("whiter")-2-c.width(label)))
	c.write(at, in.y+h+1, label, c.tone.strong, true)
}

// whiteningTruth shows where the two teeth really stand on the ladder.
func whiteningTruth(c *canvas, in rect, f feedback) {
	t := f.attempt.Trial
	after, ok := t.Patch("after")
	ladder := exercises.LadderOf(t)
	if !ok || len(ladder.Rungs) < 2 {
		return
	}
	upper, lower := in.bottom(5)
	upper, _ = upper.bottom(1)
	drawField(c, upper, f.setup.Viewing, fieldOf{t.Target, after, "before", "after"}, false)
	drawLadder(c, lower, ladder.Rungs, ladder.Place(t.Target.Lab()), ladder.Place(after.Lab()), false)
}

// whiteningPromise tells what the course shown brings on average.
func whiteningPromise(f feedback) []string {
	for _, c := range exercises.Courses {
		if c.Method == f.attempt.Trial.Part {
			return []string{fmt.Sprintf("This was a course %s; on average it brings %.1f steps, and %.1f are left after three months (%s).",
				courseWords(c), exercises.Steps(c.Mean), exercises.Steps(c.LaterMean), c.Source)}
		}
	}
	return nil
}

func courseWords(c exercises.Course) string {
	switch c.Method {
	case exercises.MethodStrips:
		return "with " + c.Name
	case exercises.MethodOffice:
		return c.Name
	}
	return "of " + c.Name
}

func whiteningNotes() []string {
	var lines []string
	for _, a := range exercises.WhiteningAdvice() {
		lines = append(lines, "· "+a.Text+" ("+a.Source+")")
	}
	return lines
}
