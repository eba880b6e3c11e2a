package ask

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

func init() {
	register(exercises.Combination, Screen{
		Brief: []string{
			"A crown is in place, and the denture tooth beside it comes from a small stock, without half or quarter steps.",
			"First the nearest tooth: columns go from the lightest value to the darkest, more chroma is further down. Find the value first.",
			"Then say how well that tooth goes with the crown: it blends, it is acceptable, or it is better to redo the crown to match a stock tooth. Sometimes no tooth will do.",
		},
		Lesson: combinationLesson,
		Sides:  combinationSides,
		Ask:    newCombination,
		Truth:  combinationTruth,
	})
}

// combinationAsker asks for a tooth of the stock, then for a verdict.
//
//	tooth ──enter──> verdict ──b, a, r──> answered
//	  ^──backspace──────┘
type combinationAsker struct {
	Question
	stock   []exercises.StockTooth
	grid    draw.Grid
	at      int // of the stock
	verdict bool
}

func newCombination(q Question) (Asker, error) {
	a := &combinationAsker{Question: q, stock: exercises.Stock(q.Trial)}
	if len(a.stock) == 0 {
		return nil, fmt.Errorf("trial %d has no stock of teeth", q.Trial.Ordinal+1)
	}
	level := -1
	for i, s := range a.stock {
		if s.Level != level {
			level = s.Level
			a.grid.Columns = append(a.grid.Columns, nil)
		}
		last := len(a.grid.Columns) - 1
		a.grid.Columns[last] = append(a.grid.Columns[last], i)
	}
	a.at = a.grid.Columns[len(a.grid.Columns)/2][0]
	return a, nil
}

func (a *combinationAsker) Step() string { return fmt.Sprint(a.verdict) }

func (a *combinationAsker) Prompt() string {
	if a.verdict {
		return "Step 2 of 2, verdict: how does this tooth go with the crown?"
	}
	return "Step 1 of 2, tooth: value first, then chroma. Which is nearest to the crown?"
}

// verdictKeys answer the second step, each with a digit as well.
var verdictKeys = []word{
	{"b", "1", "b", "blends", exercises.Blends},
	{"a", "2", "a", "acceptable", exercises.Acceptable},
	{"r", "3", "r", "better to redo the crown", exercises.Redo},
}

func (a *combinationAsker) Keys() []draw.KeyHelp {
	if !a.verdict {
		return []draw.KeyHelp{draw.Help("← →", "lighter, darker", "right"), draw.Help("↑ ↓", "less, more chroma", "down"),
			draw.Help("Home End", "lightest, darkest", "end"), draw.Help("↵", "take this tooth", "enter")}
	}
	var keys []draw.KeyHelp
	for _, w := range verdictKeys {
		keys = append(keys, draw.Help(w.show, w.does, w.key))
	}
	return append(keys, draw.Help("⌫", "another tooth", "backspace"))
}

func (a *combinationAsker) Key(k string) Reply {
	if a.verdict {
		return a.verdictKey(k)
	}
	move := func(dc, dr int, end string) Reply {
		to, moved := a.grid.Step(a.at, dc, dr)
		if !moved {
			return why("The stock has no " + end + " tooth here.")
		}
		a.at = to
		return Reply{}
	}
	switch k {
	case "left":
		return move(-1, 0, "lighter")
	case "right":
		return move(1, 0, "darker")
	case "up":
		return move(0, -1, "less chromatic")
	case "down":
		return move(0, 1, "more chromatic")
	case "home":
		a.at = a.grid.Columns[0][0]
	case "end":
		a.at = a.grid.Columns[len(a.grid.Columns)-1][0]
	case "enter":
		a.verdict = true
		return Reply{Decided: true}
	case "backspace", "u":
		return why("This is the first step: there is nothing to go back to.")
	case "h":
		return why("A stock has no half steps: take the nearest tooth.")
	default:
		i, ok := draw.Digit(k)
		if !ok {
			return noKey
		}
		if i >= len(a.grid.Columns) {
			return why(fmt.Sprintf("There are only %s of value.", scoring.Count(len(a.grid.Columns), "step", "steps")))
		}
		a.at = a.grid.Columns[i][0]
	}
	return Reply{}
}

func (a *combinationAsker) verdictKey(k string) Reply {
	for _, w := range verdictKeys {
		if k == w.key || k == w.also {
			answer := exercises.TakeStock(a.stock[a.at], w.choice)
			return Reply{Answer: &answer}
		}
	}
	switch k {
	case "backspace", "u":
		a.verdict = false
	case "enter":
		return why("Say how it goes with the crown, with one of the keys below.")
	case "left", "right", "up", "down", "home", "end", "h":
		return why("The tooth is taken. To take another one, go back first.")
	default:
		return noKey
	}
	return Reply{}
}

// Pick on another tooth chooses it, on the chosen one takes it. In the second step
// it goes back to the first.
func (a *combinationAsker) Pick(i int) Reply {
	if i == a.at && !a.verdict {
		return a.Key("enter")
	}
	a.at, a.verdict = i, false
	return Reply{}
}

func (a *combinationAsker) Draw(c *draw.Canvas, in draw.Rect, covered bool) {
	t := c.Tone
	upper, caption := in.Bottom(1)
	rows := a.grid.Rows()
	height := min(max(2*rows, min(upper.H*2/5/rows, 4)*rows), upper.H*2/3)
	field, area := upper.Bottom(height)
	field, _ = field.Bottom(1)
	candidate := a.stock[a.at].Colour
	draw.Field(c, field, a.Setup.Viewing, draw.Pair{Left: a.Trial.Target, Right: candidate, LeftWord: "crown", RightWord: "tooth"}, covered)
	cells := a.grid.Lay(area.Inset(draw.Margin), a.at, draw.WidestPitch)
	draw.Cells(c, cells, draw.Marks{At: a.at, Other: -1}, func(i int) colour.SRGB { return a.stock[i].Colour }, c.Swatch)
	line := caption.Inset(draw.Margin)
	const axes = "darker →   more chroma ↓"
	c.Write(line.X+line.W-c.Width(axes), line.Y, axes, t.Faint, false)
	c.Write(line.X, line.Y, c.Clip(a.stock[a.at].Name, line.W-c.Width(axes)-2), t.Strong, true)
}

// combinationTruth shows the crown between the tooth taken and the nearest.
func combinationTruth(c *draw.Canvas, in draw.Rect, f Feedback) {
	given := f.Attempt.Answer
	if given.Colour == nil {
		return
	}
	crown, taken := draw.Choice{Colour: f.Attempt.Trial.Target, Label: "the crown"}, draw.Choice{Colour: *given.Colour, Label: "your " + given.Tab}
	shown := []draw.Choice{crown, taken}
	stock := exercises.Stock(f.Attempt.Trial)
	if best, _ := exercises.NearestStock(stock, crown.Colour.Lab()); best >= 0 && stock[best].Colour != taken.Colour {
		shown = []draw.Choice{taken, crown, {Colour: stock[best].Colour, Label: "best " + stock[best].Name}}
	}
	draw.Row(c, in, shown)
}

// combinationLesson says whether a nearer tooth lay in the stock, and how the one taken
// goes with the crown.
func combinationLesson(f Feedback) Lesson {
	a, t, m := f.Attempt.Answer, f.Attempt.Trial, f.Mark
	if a.Colour == nil || !m.HasSheet {
		return Lesson{}
	}
	d := m.Difference
	out := Lesson{What: fmt.Sprintf("Your tooth, %s, looks like the crown", a.Tab)}
	if words := scoring.InWords(d, t.Target.Lab(), a.Colour.Lab()); words != "" {
		out.What = fmt.Sprintf("Your tooth, %s, is %s than the crown", a.Tab, words)
	}
	rule := ruleSeen
	stock := exercises.Stock(t)
	switch best, _ := exercises.NearestStock(stock, t.Target.Lab()); {
	case m.Excess < 0.005:
		out.What += "; the stock has none nearer."
	case m.Excess <= scoring.Perceptibility.Value:
		out.What += "; " + stock[best].Name + " is hardly nearer."
	default:
		out.What += "; " + stock[best].Name + " is nearer."
		rule = largestPart(d.L, d.C, d.H)
	}
	out.Far = seen(d.E)
	if said, right, ok := verdictSaid(m, []string{exercises.Blends, exercises.Acceptable, exercises.Redo}, a.Choice); ok {
		out.Far += " " + draw.UpperFirst(verdictSentence([]string{"it blends", "it is acceptable", "better to redo the crown"}, right, said))
		if said != right && rule == ruleSeen {
			rule = ruleVerdict
		}
	}
	out.Rule = rules[rule]
	return out
}

func combinationSides(f Feedback) []Side {
	if f.Attempt.Answer.Colour == nil {
		return nil
	}
	return patches(draw.Choice{Colour: f.Attempt.Trial.Target, Label: "the crown"}, draw.Choice{Colour: *f.Attempt.Answer.Colour, Label: "your tooth"})
}
