package ask

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/reports/cases"
	"shadedrill/trainer/draw"
)

func init() {
	register(exercises.TryIn, Screen{
		Brief: []string{
			"At the left the shade that was prescribed, at the right what came back from the laboratory.",
			"For value, chroma and hue say whether what came back has less, as much, or more. Some cases are exactly right.",
			"Then the verdict: seat it, adjust it, or remake it.",
		},
		Notes:  tryInNotes,
		Lesson: tryInLesson,
		Sides:  tryInSides,
		Ask:    newTryIn,
		Truth:  tryInTruth,
		More:   tryInRequest,
	})
}

// tryInAsker asks four questions about one pair, one after the other:
//
//	value ──> chroma ──> hue ──> verdict ──> answered
//	  ^─backspace─┘ ^─backspace─┘ ^──backspace─┘
type tryInAsker struct {
	Question
	delivered colour.SRGB
	rows      []tryInRow
	said      []int // column taken in each row answered; the next row is asked
}

// tryInRow is a question with its three answers, as they stand below the field.
type tryInRow struct {
	name, ask string
	words     [3]string
	keys      [3]string
}

// sameKeys mean the same at each of the three directions: less, the same, more. The
// verdict has letters of its own, so that one key too many seals no case.
var sameKeys = [3]string{"left", "down", "right"}

func newTryIn(q Question) (Asker, error) {
	delivered, ok := exercises.DeliveredOf(q.Trial)
	if !ok {
		return nil, fmt.Errorf("in trial %d nothing came back", q.Trial.Ordinal+1)
	}
	yellower, redder := scoring.HueWords(q.Trial.Target.Lab(), delivered.Lab())
	hue := tryInRow{"hue", "Hue: is what came back " + redder + ", the same, or " + yellower + "?", [3]string{redder, "the same", yellower}, sameKeys}
	if redder != "redder" {
		hue.ask = "Hue: is the hue angle of what came back smaller, the same, or larger?"
	}
	return &tryInAsker{Question: q, delivered: delivered, rows: []tryInRow{
		{"value", "Value: is what came back darker, the same, or lighter?", [3]string{"darker", "the same", "lighter"}, sameKeys},
		{"chroma", "Chroma: has what came back less, the same, or more?", [3]string{"less chroma", "the same", "more chroma"}, sameKeys},
		hue,
		{"verdict", "Verdict: seat it, adjust it, or remake it?", [3]string{"seat it", "adjust it", "remake it"}, [3]string{"s", "a", "r"}},
	}}, nil
}

func (a *tryInAsker) row() tryInRow { return a.rows[len(a.said)] }

func (a *tryInAsker) Step() string { return a.row().name }

func (a *tryInAsker) Prompt() string { return a.row().ask }

func (a *tryInAsker) Keys() []draw.KeyHelp {
	r := a.row()
	var keys []draw.KeyHelp
	show := map[string]string{"left": "←", "down": "↓", "right": "→"}
	for i, word := range r.words {
		k := r.keys[i]
		if sign := show[k]; sign != "" {
			keys = append(keys, draw.Help(sign, word, k))
		} else {
			keys = append(keys, draw.Help(k, word, k))
		}
	}
	if len(a.said) > 0 {
		keys = append(keys, draw.Help("⌫", "back", "backspace"))
	}
	return keys
}

func (a *tryInAsker) Key(k string) Reply {
	for i, own := range a.row().keys {
		if k == own {
			return a.take(i)
		}
	}
	isArrow := k == "left" || k == "down" || k == "right"
	number, isNumber := draw.Digit(k)
	switch {
	case k == "backspace" || k == "u":
		if len(a.said) == 0 {
			return why("This is the first question: there is nothing to go back to.")
		}
		a.said = a.said[:len(a.said)-1]
		return Reply{}
	case k == "enter":
		return why("Answer with one of the keys below, or click on a word.")
	case isArrow, isNumber && len(a.said) == len(a.rows)-1:
		return why("The verdict is given with its letter, or a click.")
	case k == "s", k == "a", k == "r":
		return why("The verdict comes last: first say value, chroma and hue with ← ↓ →.")
	case isNumber && number < len(a.row().words):
		return a.take(number)
	case isNumber:
		return why("There are three answers.")
	}
	return noKey
}

func (a *tryInAsker) take(column int) Reply {
	a.said = append(a.said, column)
	if len(a.said) < len(a.rows) {
		return Reply{Decided: true}
	}
	said := a.said
	a.said = a.said[:len(a.said)-1] // should the book refuse the answer, the verdict can be given again
	return Reply{Answer: &exercises.Answer{
		Directions: &exercises.Directions{Value: said[0] - 1, Chroma: said[1] - 1, Hue: said[2] - 1},
		Choice:     exercises.Verdicts[said[3]],
	}}
}

// Pick takes a word: of the row asked, or of an earlier one to change it.
func (a *tryInAsker) Pick(i int) Reply {
	row, column := i/3, i%3
	switch {
	case row == len(a.said):
		return a.take(column)
	case row < len(a.said):
		a.said[row] = column
		return Reply{}
	}
	return why("One after the other: " + a.row().name + " comes first.")
}

func (a *tryInAsker) Draw(c *draw.Canvas, in draw.Rect, covered bool) {
	t := c.Tone
	upper, lower := in.Bottom(len(a.rows) + 1)
	draw.Field(c, upper, a.Setup.Viewing, draw.Pair{Left: a.Trial.Target, Right: a.delivered, LeftWord: "prescribed", RightWord: "came back"}, covered)
	const column, names = 22, 12
	x := lower.X + max(draw.Margin, (lower.W-names-3*column)/2)
	for i, r := range a.rows {
		y := lower.Y + 1 + i
		mark, ink := "  ", t.Faint
		if i == len(a.said) {
			mark, ink = "▸ ", t.Strong
		}
		c.Write(x, y, mark+r.name, ink, i == len(a.said))
		for k, word := range r.words {
			at := x + names + k*column
			ink, sign := t.Faint, "  "
			switch {
			case i < len(a.said) && a.said[i] == k:
				ink, sign = t.Strong, "● "
			case i == len(a.said):
				ink, sign = t.Plain, "○ "
			}
			c.Write(at, y, sign+word, ink, i < len(a.said) && a.said[i] == k)
			c.Item(draw.Box(at, y, column-2, 1), i*3+k)
		}
	}
}

// tryInTruth shows the pair again, as it was judged.
func tryInTruth(c *draw.Canvas, in draw.Rect, f Feedback) {
	delivered, ok := exercises.DeliveredOf(f.Attempt.Trial)
	if !ok {
		return
	}
	draw.Row(c, in, []draw.Choice{{Colour: f.Attempt.Trial.Target, Label: "prescribed"}, {Colour: delivered, Label: "came back"}})
}

// tryInRequest says what to ask the laboratory for.
func tryInRequest(f Feedback) []string {
	delivered, ok := exercises.DeliveredOf(f.Attempt.Trial)
	if !ok {
		return nil
	}
	v := cases.Judge(cases.Case{Prescribed: f.Attempt.Trial.Target.Lab(), Delivered: delivered.Lab()})
	if v.Band == scoring.Excellent {
		return []string{"For the laboratory: nothing to change."}
	}
	return []string{"For the laboratory: " + v.Advice + "."}
}

func tryInNotes() []string {
	pt, at := scoring.Perceptibility, scoring.Acceptability
	return []string{
		fmt.Sprintf("· The same means within perceptibility, %.1f ΔE00 (%s).", pt.Value, pt.Source),
		fmt.Sprintf("· Seat it within acceptability, %.1f (%s); adjust it up to twice that; remake it beyond (common practice, no source).", at.Value, at.Source),
		"· Stains take value down and chroma up; the other way there is little room (common practice, no source).",
		"· What to ask the laboratory for is in ΔE00, the largest part first; what is left out would not be seen.",
	}
}

// tryInLesson says of each attribute what was there and what was seen of it, then the
// verdict and what to ask the laboratory for.
func tryInLesson(f Feedback) Lesson {
	delivered, ok := exercises.DeliveredOf(f.Attempt.Trial)
	if !ok {
		return Lesson{}
	}
	from, to := f.Attempt.Trial.Target.Lab(), delivered.Lab()
	yellower, redder := scoring.HueWords(from, to)
	words := map[string][3]string{exercises.AttributeValue: {"darker", "the same in value", "lighter"},
		exercises.AttributeChroma: {"weaker in chroma", "the same in chroma", "stronger in chroma"}, exercises.AttributeHue: {redder, "the same in hue", yellower}}
	var there, missed []string
	rule := ""
	for _, d := range f.Mark.Directions {
		w := words[d.Attribute]
		if d.Shown() != 0 {
			there = append(there, w[d.Shown()+1])
		}
		if !d.Right() {
			missed = append(missed, w[d.Said+1])
			if rule == "" {
				rule = d.Attribute
			}
		}
	}
	out := Lesson{What: "What came back is nearly what was prescribed"}
	switch {
	case len(there) > 0:
		out.What = "What came back is " + list(there)
	case from == to:
		out.What = "What came back is exactly what was prescribed"
	}
	if len(missed) > 0 {
		out.What += "; you said " + list(missed)
	} else {
		out.What += ", and you saw it"
	}
	out.What += "."
	v := cases.Judge(cases.Case{Prescribed: from, Delivered: to})
	out.Far = seen(v.Difference.E)
	if said, right, ok := verdictSaid(f.Mark, exercises.Verdicts[:], f.Attempt.Answer.Choice); ok {
		out.Far += " " + draw.UpperFirst(verdictSentence([]string{"seat it", "adjust it", "remake it"}, right, said))
		if rule == "" && said != right {
			rule = ruleVerdict
		}
	}
	if v.Band > scoring.Excellent {
		out.Far += " For the laboratory: " + v.Advice + "."
	}
	if rule == "" {
		rule = ruleSeen
	}
	out.Rule = rules[rule]
	return out
}

func tryInSides(f Feedback) []Side {
	delivered, ok := exercises.DeliveredOf(f.Attempt.Trial)
	if !ok {
		return nil
	}
	return patches(draw.Choice{Colour: f.Attempt.Trial.Target, Label: "prescribed"}, draw.Choice{Colour: delivered, Label: "came back"})
}
