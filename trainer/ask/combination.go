package ask

import (
	"fmt"
	"strconv"
	"strings"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

func init() {
	register(exercises.Combination, Screen{
		Brief: []string{
			"A crown is in place, and the denture tooth beside it comes from a small stock, without half or quarter steps.",
			"Step 1: the values of the stock, lightest to darkest, all of one hue and chroma. Which is as light as the crown?",
			"Step 2: the teeth of that value, more chroma to the right. Which comes nearest?",
			"Step 3: how does that tooth go with the crown? It blends, it is acceptable, or it is better to redo the crown to match a stock tooth.",
		},
		Lesson: combinationLesson,
		Sides:  combinationSides,
		Ask:    newCombination,
		Truth:  combinationTruth,
	})
}

// combinationAsker asks for a step of value, for a tooth of it, then for a verdict.
//
//	value ──enter──> tooth ──enter──> verdict ──b, a, r──> answered
//	  ^──backspace────┘ ^──backspace────┘
type combinationAsker struct {
	Question
	stock  []exercises.StockTooth
	levels [][]int       // teeth of each step of value, lightest step first, with rising chroma
	strip  []colour.SRGB // of the steps of value
	step   combinationStep
	level  int
	tooth  int // of the level
}

type combinationStep int

const (
	chooseLevel combinationStep = iota
	chooseTooth
	giveVerdict
)

func newCombination(q Question) (Asker, error) {
	a := &combinationAsker{Question: q, stock: exercises.Stock(q.Trial)}
	if len(a.stock) == 0 {
		return nil, fmt.Errorf("trial %d has no stock of teeth", q.Trial.Ordinal+1)
	}
	level := -1
	for i, s := range a.stock {
		if s.Level != level {
			level = s.Level
			a.levels = append(a.levels, nil)
		}
		last := len(a.levels) - 1
		a.levels[last] = append(a.levels[last], i)
	}
	a.strip = exercises.StockStrip(a.stock)
	a.level = len(a.levels) / 2
	a.tooth = a.middle(a.level)
	return a, nil
}

// middle is the place of the tooth that stands for a step of value.
func (a *combinationAsker) middle(level int) int { return (len(a.levels[level]) - 1) / 2 }

// at is the tooth shown, by its number in the stock.
func (a *combinationAsker) at() int { return a.levels[a.level][a.tooth] }

func (a *combinationAsker) to(level int) {
	a.level, a.tooth = level, a.middle(level)
}

func (a *combinationAsker) Step() string { return strconv.Itoa(int(a.step)) }

func (a *combinationAsker) Prompt() string {
	switch a.step {
	case chooseLevel:
		return "Step 1 of 3, value: which is as light as the crown?"
	case chooseTooth:
		return "Step 2 of 3, chroma and hue: which tooth of this value comes nearest?"
	}
	return "Step 3 of 3, verdict: how does this tooth go with the crown?"
}

// verdictKeys answer the second step, each with a digit as well.
var verdictKeys = []word{
	{"b", "1", "b", "blends", exercises.Blends},
	{"a", "2", "a", "acceptable", exercises.Acceptable},
	{"r", "3", "r", "better to redo the crown", exercises.Redo},
}

func (a *combinationAsker) Keys() []draw.KeyHelp {
	switch a.step {
	case chooseLevel:
		return []draw.KeyHelp{draw.Help("← →", "lighter, darker", "right"), draw.Help("Home End", "lightest, darkest", "end"), draw.Help("↵", "take this value", "enter")}
	case chooseTooth:
		return []draw.KeyHelp{draw.Help("← →", "less, more chroma", "right"), draw.Help("Home End", "least, most", "end"), draw.Help("↵", "take this tooth", "enter"),
			draw.Help("⌫", "back to value", "backspace")}
	}
	var keys []draw.KeyHelp
	for _, w := range verdictKeys {
		keys = append(keys, draw.Help(w.show, w.does, w.key))
	}
	return append(keys, draw.Help("⌫", "another tooth", "backspace"))
}

func (a *combinationAsker) Key(k string) Reply {
	if a.step == giveVerdict {
		return a.verdictKey(k)
	}
	last := len(a.levels) - 1
	if a.step == chooseTooth {
		last = len(a.levels[a.level]) - 1
	}
	here := a.level
	if a.step == chooseTooth {
		here = a.tooth
	}
	set := func(to int) {
		if a.step == chooseTooth {
			a.tooth = to
		} else {
			a.to(to)
		}
	}
	ends := [2]string{"The stock has nothing lighter.", "The stock has nothing darker."}
	if a.step == chooseTooth {
		ends = [2]string{"This value has no tooth with less chroma.", "This value has no tooth with more chroma."}
	}
	switch k {
	case "left", "up":
		if here == 0 {
			return why(ends[0])
		}
		set(here - 1)
	case "right", "down":
		if here == last {
			return why(ends[1])
		}
		set(here + 1)
	case "home":
		set(0)
	case "end":
		set(last)
	case "enter":
		a.step++
		return Reply{Decided: true}
	case "backspace", "u":
		if a.step == chooseLevel {
			return why("This is the first step: there is nothing to go back to.")
		}
		a.step = chooseLevel
		a.to(a.level)
	case "h":
		return why("A stock has no half steps: take the nearest tooth.")
	default:
		i, ok := draw.Digit(k)
		if !ok {
			return noKey
		}
		if i > last {
			return why(fmt.Sprintf("There are only %d here.", last+1))
		}
		set(i)
	}
	return Reply{}
}

func (a *combinationAsker) verdictKey(k string) Reply {
	for _, w := range verdictKeys {
		if k == w.key || k == w.also {
			answer := exercises.TakeStock(a.stock[a.at()], w.choice)
			return Reply{Answer: &answer}
		}
	}
	switch k {
	case "backspace", "u":
		a.step = chooseTooth
	case "enter":
		return why("Say how it goes with the crown, with one of the keys below.")
	case "left", "right", "up", "down", "home", "end", "h":
		return why("The tooth is taken. To take another one, go back first.")
	default:
		return noKey
	}
	return Reply{}
}

// Pick on another patch of the strip chooses it, on the chosen one takes it. In the
// last step it goes back to the teeth.
func (a *combinationAsker) Pick(i int) Reply {
	switch {
	case a.step == chooseLevel && i == a.level, a.step == chooseTooth && i == a.tooth:
		return a.Key("enter")
	case a.step == chooseLevel:
		a.to(i)
	default:
		a.tooth, a.step = i, chooseTooth
	}
	return Reply{}
}

func (a *combinationAsker) Draw(c *draw.Canvas, in draw.Rect, covered bool) {
	upper, caption := in.Bottom(1)
	patch := 3
	if in.H >= 34 {
		patch = 5
	}
	field, strip := upper.Bottom(draw.StripHeight(patch))
	field, _ = field.Bottom(1)
	beside := draw.Pair{Left: a.Trial.Target, Right: a.stock[a.at()].Colour, LeftWord: "crown", RightWord: "tooth"}
	if a.step == chooseLevel {
		beside.Right, beside.RightWord = a.strip[a.level], "value"
	}
	draw.Field(c, field, a.Setup.Viewing, beside, covered)
	var all []draw.Choice
	at := a.level
	if a.step == chooseLevel {
		for level := range a.levels {
			t := a.stock[a.levels[level][a.middle(level)]]
			name, _, _ := strings.Cut(t.Name, " ")
			all = append(all, draw.Choice{Colour: a.strip[level], Label: name})
		}
	} else {
		at = a.tooth
		for _, i := range a.levels[a.level] {
			_, name, _ := strings.Cut(a.stock[i].Name, " ")
			all = append(all, draw.Choice{Colour: a.stock[i].Colour, Label: name})
		}
	}
	draw.Strip(c, strip.Inset(draw.Margin), all, draw.Marks{At: at, Other: -1})
	if a.step != chooseLevel {
		line := caption.Inset(draw.Margin)
		c.Write(line.X, line.Y, c.Clip(a.stock[a.at()].Name, line.W), c.Tone.Strong, true)
	}
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
