package ask

import (
	"errors"
	"fmt"
	"math"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

func init() {
	register(exercises.Whitening, Screen{
		Brief: []string{
			"A tooth before and after a course of whitening. Say how many steps of the ladder below it became whiter.",
			"The marked stretch of the ladder has as many steps as you say. Its foot belongs where it looks like the tooth before; then its top should look like the tooth after.",
		},
		Notes:  whiteningNotes,
		Lesson: whiteningLesson,
		Sides:  whiteningSides,
		Ask:    newWhitening,
		Truth:  whiteningTruth,
		More:   whiteningPromise,
	})
}

// whiteningAsker asks for a number of steps on a ladder.
//
//	foot      top
//	 |─────────|        steps = top − foot
type whiteningAsker struct {
	Question
	after   colour.SRGB
	ladder  exercises.Ladder
	steps   int
	foot    int
	given   bool // the foot is where the tooth was before, and stays there
	compare bool // the ends of the stretch stand beside the tooth
	said    bool // a number of steps was said: none is no easier to answer than another
}

func newWhitening(q Question) (Asker, error) {
	after, ok := q.Trial.Patch("after")
	a := &whiteningAsker{Question: q, after: after, ladder: exercises.LadderOf(q.Trial)}
	if !ok || len(a.ladder.Rungs) < 2 {
		return nil, errors.New("this trial has no second tooth or no ladder")
	}
	a.foot = len(a.ladder.Rungs) / 3
	if a.given = q.Setup.Options[exercises.OptionFoot] == exercises.FootGiven; a.given {
		a.foot = int(exercises.GivenFoot(q.Trial))
	}
	return a, nil
}

func (a *whiteningAsker) Prompt() string {
	if a.given {
		return "The foot is where the tooth was. How many steps up is it now? " + draw.UpperFirst(scoring.Count(a.steps, "step", "steps")) + "."
	}
	return "How many steps whiter has the tooth become? " + draw.UpperFirst(scoring.Count(a.steps, "step", "steps")) + "."
}

func (a *whiteningAsker) last() int { return len(a.ladder.Rungs) - 1 }

func (a *whiteningAsker) Keys() []draw.KeyHelp {
	view := draw.Help("v", "beside the ladder", "v")
	if a.compare {
		view = draw.Help("v", "before and after", "v")
	}
	keys := []draw.KeyHelp{draw.Help("← →", "fewer, more steps", "right")}
	if !a.given {
		keys = append(keys, draw.Help("↑ ↓", "slide up, down the ladder", "up"))
	}
	return append(keys, draw.Help("↵", "answer", "enter"), view)
}

// set takes a number of steps. A foot that is given stays where it is.
func (a *whiteningAsker) set(steps int) Reply {
	a.said = true
	if most := a.last(); steps > most || a.given && steps > most-a.foot {
		return why("The ladder has no more steps.")
	}
	a.steps = steps
	a.foot = min(a.foot, a.last()-steps)
	return Reply{}
}

func (a *whiteningAsker) Key(k string) Reply {
	switch k {
	case "left":
		a.said = true
		if a.steps == 0 {
			return why("No step at all is the least: a course does not darken.")
		}
		a.steps--
	case "right":
		return a.set(a.steps + 1)
	case "up", "down":
		if a.given {
			return why("The foot is given: ← → move the top.")
		}
		return a.slide(k)
	case "v":
		a.compare = !a.compare
	case "enter":
		if !a.said {
			return why("First say how many steps, with ← →, a digit or a click; 0 is none.")
		}
		n := float64(a.steps)
		return Reply{Answer: &exercises.Answer{Number: &n}}
	default:
		i, ok := draw.Digit(k)
		switch {
		case ok:
			return a.set(i + 1)
		case k == "0":
			return a.set(0)
		}
		return noKey
	}
	return Reply{}
}

// slide moves the stretch along the ladder.
func (a *whiteningAsker) slide(k string) Reply {
	switch {
	case k == "up":
		if a.foot+a.steps == a.last() {
			return why("The top of the ladder is reached.")
		}
		a.foot++
	case a.foot == 0:
		return why("The foot of the ladder is reached.")
	default:
		a.foot--
	}
	return Reply{}
}

// Pick on the ladder moves the nearer end of the stretch there.
func (a *whiteningAsker) Pick(i int) Reply {
	a.said = true
	top := a.foot + a.steps
	if a.given {
		a.steps = max(0, i-a.foot)
		return Reply{}
	}
	if i < a.foot || i-a.foot < top-i && i < top {
		a.foot, a.steps = i, top-i
	} else {
		a.steps = i - a.foot
	}
	return Reply{}
}

func (a *whiteningAsker) Draw(c *draw.Canvas, in draw.Rect, covered bool) {
	v := a.Setup.Viewing
	upper, lower := in.Bottom(5)
	upper, _ = upper.Bottom(1)
	if !a.compare {
		draw.Field(c, upper, v, draw.Pair{Left: a.Trial.Target, Right: a.after, LeftWord: "before", RightWord: "after"}, covered)
	} else {
		places := across(upper, 2)
		rungs := [2]colour.SRGB{a.ladder.Rungs[a.foot], a.ladder.Rungs[a.foot+a.steps]}
		for i, f := range []draw.Pair{{Left: a.Trial.Target, Right: rungs[0], LeftWord: "before", RightWord: "foot"}, {Left: a.after, Right: rungs[1], LeftWord: "after", RightWord: "top"}} {
			draw.Field(c, places[i], v, f, covered)
		}
	}
	drawLadder(c, lower, a.ladder.Rungs, float64(a.foot), float64(a.foot+a.steps), true)
}

// drawLadder paints the rungs edge to edge, darkest first, and marks a stretch
// below. Where the rungs can be chosen they are items.
func drawLadder(c *draw.Canvas, in draw.Rect, rungs []colour.SRGB, from, to float64, items bool) {
	in = in.Inset(draw.Margin)
	w := max(1, in.W/len(rungs))
	x := in.X + (in.W-w*len(rungs))/2
	h := max(1, in.H-3)
	for i, r := range rungs {
		patch := draw.Box(x+i*w, in.Y, w, h)
		c.Swatch(patch, r)
		if items {
			c.Item(draw.Box(patch.X, patch.Y, w, h+1), i)
		}
	}
	middle := func(place float64) int {
		return max(in.X, min(in.X+in.W-1, x+int(math.Round(place*float64(w)))+w/2))
	}
	a, b := middle(from), middle(to)
	draw.Bracket(c, a, in.Y+h, b-a+1, c.Tone.Strong)
	c.Write(x, in.Y+h+1, "darker", c.Tone.Faint, false)
	c.Write(x+w*len(rungs)-c.Width("whiter"), in.Y+h+1, "whiter", c.Tone.Faint, false)
	label := stepWords(to - from)
	at := max(x+c.Width("darker")+2, min((a+b-c.Width(label))/2, x+w*len(rungs)-c.Width("whiter")-2-c.Width(label)))
	c.Write(at, in.Y+h+1, label, c.Tone.Strong, true)
}

// stepWords write a number of steps as the sentence and the ladder both have it: "3 steps",
// "1 step", "3.5 steps".
func stepWords(n float64) string {
	tenths := math.Round(10 * n)
	if math.Mod(tenths, 10) == 0 {
		return scoring.Count(int(tenths)/10, "step", "steps")
	}
	return fmt.Sprintf("%.1f steps", n)
}

// whiteningTruth shows where the two teeth really stand on the ladder.
func whiteningTruth(c *draw.Canvas, in draw.Rect, f Feedback) {
	t := f.Attempt.Trial
	after, ok := t.Patch("after")
	ladder := exercises.LadderOf(t)
	if !ok || len(ladder.Rungs) < 2 {
		return
	}
	upper, lower := in.Bottom(5)
	upper, _ = upper.Bottom(1)
	draw.Field(c, upper, f.Setup.Viewing, draw.Pair{Left: t.Target, Right: after, LeftWord: "before", RightWord: "after"}, false)
	drawLadder(c, lower, ladder.Rungs, ladder.Place(t.Target.Lab()), ladder.Place(after.Lab()), false)
}

// whiteningPromise tells what the course shown brings on average.
func whiteningPromise(f Feedback) []string {
	for _, c := range exercises.Courses {
		if c.Method == f.Attempt.Trial.Part {
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

// whiteningLesson says how many steps it was, and whether anybody would see the rest.
func whiteningLesson(f Feedback) Lesson {
	shown := exercises.StepsWhiter(f.Attempt.Trial)
	if f.Attempt.Answer.Number == nil || math.IsNaN(shown) || len(f.Mark.Measures) < 2 {
		return Lesson{}
	}
	said := *f.Attempt.Answer.Number
	out := Lesson{What: fmt.Sprintf("The tooth became %s whiter, and you said %s.", stepWords(shown), stepWords(said)), Rule: rules[ruleSeen]}
	off := math.Abs(f.Mark.Measures[1].Value)
	switch {
	case off <= scoring.WhitenessPerceptibility.Value:
		out.Far = "Fewer than half would see what is left between the two."
	case off <= scoring.WhitenessAcceptability.Value:
		out.Far = "Most would see what is left between the two, more than half would accept it."
		out.Rule = rules[ruleLadder]
	case f.Mark.Checks[0].Right: // steps are larger than what would be accepted
		out.Far = "No other number of steps is nearer."
	default:
		way := "too many"
		if said < shown {
			way = "too few"
		}
		out.What = fmt.Sprintf("The tooth became %s whiter; you said %s, %s.", stepWords(shown), stepWords(said), way)
		out.Far = "Most would see what is left between the two, fewer than half would accept it."
		out.Rule = rules[ruleLadder]
	}
	return out
}

func whiteningSides(f Feedback) []Side {
	after, ok := f.Attempt.Trial.Patch("after")
	if !ok {
		return nil
	}
	return patches(draw.Choice{Colour: f.Attempt.Trial.Target, Label: "before"}, draw.Choice{Colour: after, Label: "after"})
}
