package trainer

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/exercises"
)

func init() {
	registerAsker(exercises.Combination, screen{
		brief: []string{
			"A crown is in place, and the denture tooth beside it comes from a small stock, without half or quarter steps.",
			"First the nearest tooth: columns go from the lightest value to the darkest, more chroma is further down. Find the value first.",
			"Then say how well that tooth goes with the crown: it blends, it is acceptable, or it is better to redo the crown to match a stock tooth. Sometimes no tooth will do.",
		},
		ask:   newCombination,
		truth: combinationTruth,
	})
}

// combinationAsker asks for a tooth of the stock, then for a verdict.
//
//	tooth ──enter──> verdict ──b, a, r──> answered
//	  ^──backspace──────┘
type combinationAsker struct {
	question
	stock   []exercises.StockTooth
	grid    sheetGrid
	at      int // of the stock
	verdict bool
}

func newCombination(q question) (asker, error) {
	a := &combinationAsker{question: q, stock: exercises.Stock(q.trial)}
	if len(a.stock) == 0 {
		return nil, fmt.Errorf("trial %d has no stock of teeth", q.trial.Ordinal+1)
	}
	level := -1
	for i, s := range a.stock {
		if s.Level != level {
			level = s.Level
			a.grid.columns = append(a.grid.columns, nil)
		}
		last := len(a.grid.columns) - 1
		a.grid.columns[last] = append(a.grid.columns[last], i)
	}
	a.at = a.grid.columns[len(a.grid.columns)/2][0]
	return a, nil
}

func (a *combinationAsker) prompt() string {
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

func (a *combinationAsker) keys() []keyHelp {
	if !a.verdict {
		return []keyHelp{help("← →", "lighter, darker", "right"), help("↑ ↓", "less, more chroma", "down"),
			help("Home End", "lightest, darkest", "end"), help("↵", "take this tooth", "enter")}
	}
	var keys []keyHelp
	for _, w := range verdictKeys {
		keys = append(keys, help(w.show, w.does, w.key))
	}
	return append(keys, help("⌫", "another tooth", "backspace"))
}

func (a *combinationAsker) key(k string) reply {
	if a.verdict {
		return a.verdictKey(k)
	}
	move := func(dc, dr int, end string) reply {
		to, moved := a.grid.step(a.at, dc, dr)
		if !moved {
			return why("The stock has no " + end + " tooth here.")
		}
		a.at = to
		return reply{}
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
		a.at = a.grid.columns[0][0]
	case "end":
		a.at = a.grid.columns[len(a.grid.columns)-1][0]
	case "enter":
		a.verdict = true
		return reply{decided: true}
	case "backspace", "u":
		return why("This is the first step: there is nothing to go back to.")
	case "h":
		return why("A stock has no half steps: take the nearest tooth.")
	default:
		i, ok := digit(k)
		if !ok {
			return noKey
		}
		if i >= len(a.grid.columns) {
			return why(fmt.Sprintf("There are only %s of value.", count(len(a.grid.columns), "step", "steps")))
		}
		a.at = a.grid.columns[i][0]
	}
	return reply{}
}

func (a *combinationAsker) verdictKey(k string) reply {
	for _, w := range verdictKeys {
		if k == w.key || k == w.also {
			answer := exercises.TakeStock(a.stock[a.at], w.choice)
			return reply{answer: &answer}
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
	return reply{}
}

// pick on another tooth chooses it, on the chosen one takes it. In the second step
// it goes back to the first.
func (a *combinationAsker) pick(i int) reply {
	if i == a.at && !a.verdict {
		return a.key("enter")
	}
	a.at, a.verdict = i, false
	return reply{}
}

func (a *combinationAsker) draw(c *canvas, in rect, covered bool) {
	t := c.tone
	upper, caption := in.bottom(1)
	rows := a.grid.rows()
	height := min(max(2*rows, min(upper.h*2/5/rows, 4)*rows), upper.h*2/3)
	field, area := upper.bottom(height)
	field, _ = field.bottom(1)
	candidate := a.stock[a.at].Colour
	drawField(c, field, a.setup.Viewing, fieldOf{a.trial.Target, candidate, "crown", "tooth"}, covered)
	cells := a.grid.lay(area.inset(sideMargin), a.at, widestPitch)
	drawGrid(c, cells, marks{at: a.at, other: -1}, func(i int) colour.SRGB { return a.stock[i].Colour }, c.swatch)
	line := caption.inset(sideMargin)
	const axes = "darker →   more chroma ↓"
	c.write(line.x+line.w-c.width(axes), line.y, axes, t.faint, false)
	c.write(line.x, line.y, c.clip(a.stock[a.at].Name, line.w-c.width(axes)-2), t.strong, true)
}

// combinationTruth shows the crown between the tooth taken and the nearest.
func combinationTruth(c *canvas, in rect, f feedback) {
	given := f.attempt.Answer
	if given.Colour == nil {
		return
	}
	crown, taken := choice{f.attempt.Trial.Target, "the crown"}, choice{*given.Colour, "your " + given.Tab}
	shown := []choice{crown, taken}
	stock := exercises.Stock(f.attempt.Trial)
	if best, _ := exercises.NearestStock(stock, crown.colour.Lab()); best >= 0 && stock[best].Colour != taken.colour {
		shown = []choice{taken, crown, {stock[best].Colour, "best " + stock[best].Name}}
	}
	drawRow(c, in, shown)
}
