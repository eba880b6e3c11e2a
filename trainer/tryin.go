package trainer

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/reports/cases"
)

func init() {
	registerAsker(exercises.TryIn, screen{
		brief: []string{
			"At the left the shade that was prescribed, at the right what came back from the laboratory.",
			"For value, chroma and hue say whether what came back has less, as much, or more. Some cases are exactly right.",
			"Then the verdict: seat it, adjust it, or remake it.",
		},
		notes: tryInNotes,
		ask:   newTryIn,
		truth: tryInTruth,
		more:  tryInRequest,
	})
}

// tryInAsker asks four questions about one pair, one after the other:
//
//	value ──> chroma ──> hue ──> verdict ──> answered
//	  ^─backspace─┘ ^─backspace─┘ ^──backspace─┘
type tryInAsker struct {
	question
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

func newTryIn(q question) (asker, error) {
	delivered, ok := exercises.DeliveredOf(q.trial)
	if !ok {
		return nil, fmt.Errorf("in trial %d nothing came back", q.trial.Ordinal+1)
	}
	yellower, redder := scoring.HueWords(q.trial.Target.Lab(), delivered.Lab())
	hue := tryInRow{"hue", "Hue: is what came back " + redder + ", the same, or " + yellower + "?", [3]string{redder, "the same", yellower}, [3]string{"r", "s", "y"}}
	if redder != "redder" {
		hue.ask, hue.keys = "Hue: is the hue angle of what came back smaller, the same, or larger?", [3]string{"l", "s", "m"}
	}
	return &tryInAsker{question: q, delivered: delivered, rows: []tryInRow{
		{"value", "Value: is what came back darker, the same, or lighter?", [3]string{"darker", "the same", "lighter"}, [3]string{"d", "s", "l"}},
		{"chroma", "Chroma: has what came back less, the same, or more?", [3]string{"less chroma", "the same", "more chroma"}, [3]string{"l", "s", "m"}},
		hue,
		{"verdict", "Verdict: seat it, adjust it, or remake it?", [3]string{"seat it", "adjust it", "remake it"}, [3]string{"s", "a", "r"}},
	}}, nil
}

func (a *tryInAsker) row() tryInRow { return a.rows[len(a.said)] }

func (a *tryInAsker) prompt() string { return a.row().ask }

func (a *tryInAsker) keys() []keyHelp {
	r := a.row()
	var keys []keyHelp
	for i, word := range r.words {
		keys = append(keys, help(r.keys[i], word, r.keys[i]))
	}
	if len(a.said) < len(a.rows)-1 {
		keys = append(keys, help("← ↓ →", "the same three", ""))
	}
	if len(a.said) > 0 {
		keys = append(keys, help("⌫", "back", "backspace"))
	}
	return keys
}

func (a *tryInAsker) key(k string) reply {
	for i, own := range a.row().keys {
		if k == own {
			return a.take(i)
		}
	}
	arrow, isArrow := map[string]int{"left": 0, "down": 1, "right": 2}[k]
	number, isNumber := digit(k)
	switch {
	case k == "backspace" || k == "u":
		if len(a.said) == 0 {
			return why("This is the first question: there is nothing to go back to.")
		}
		a.said = a.said[:len(a.said)-1]
		return reply{}
	case k == "enter":
		return why("Answer with one of the keys below, or click on a word.")
	case isArrow && len(a.said) == len(a.rows)-1:
		// One arrow too many must not seal a case.
		return why("The verdict is given with its letter, or a click.")
	case isArrow:
		return a.take(arrow)
	case isNumber && number < len(a.row().words):
		return a.take(number)
	case isNumber:
		return why("There are three answers.")
	}
	return noKey
}

func (a *tryInAsker) take(column int) reply {
	a.said = append(a.said, column)
	if len(a.said) < len(a.rows) {
		return reply{decided: true}
	}
	said := a.said
	a.said = a.said[:len(a.said)-1] // should the book refuse the answer, the verdict can be given again
	return reply{answer: &exercises.Answer{
		Directions: &exercises.Directions{Value: said[0] - 1, Chroma: said[1] - 1, Hue: said[2] - 1},
		Choice:     exercises.Verdicts[said[3]],
	}}
}

// pick takes a word: of the row asked, or of an earlier one to change it.
func (a *tryInAsker) pick(i int) reply {
	row, column := i/3, i%3
	switch {
	case row == len(a.said):
		return a.take(column)
	case row < len(a.said):
		a.said[row] = column
		return reply{}
	}
	return why("One after the other: " + a.row().name + " comes first.")
}

func (a *tryInAsker) draw(c *canvas, in rect, covered bool) {
	t := c.tone
	upper, lower := in.bottom(len(a.rows) + 1)
	drawField(c, upper, a.setup.Viewing, fieldOf{a.trial.Target, a.delivered, "prescribed", "came back"}, covered)
	const column, names = 22, 12
	x := lower.x + max(sideMargin, (lower.w-names-3*column)/2)
	for i, r := range a.rows {
		y := lower.y + 1 + i
		mark, ink := "  ", t.faint
		if i == len(a.said) {
			mark, ink = "▸ ", t.strong
		}
		c.write(x, y, mark+r.name, ink, i == len(a.said))
		for k, word := range r.words {
			at := x + names + k*column
			ink, sign := t.faint, "  "
			switch {
			case i < len(a.said) && a.said[i] == k:
				ink, sign = t.strong, "● "
			case i == len(a.said):
				ink, sign = t.plain, "○ "
			}
			c.write(at, y, sign+word, ink, i < len(a.said) && a.said[i] == k)
			c.item(rect{at, y, column - 2, 1}, i*3+k)
		}
	}
}

// tryInTruth shows the pair again, as it was judged.
func tryInTruth(c *canvas, in rect, f feedback) {
	delivered, ok := exercises.DeliveredOf(f.attempt.Trial)
	if !ok {
		return
	}
	drawRow(c, in, []choice{{f.attempt.Trial.Target, "prescribed"}, {delivered, "came back"}})
}

// tryInRequest says what to ask the laboratory for.
func tryInRequest(f feedback) []string {
	delivered, ok := exercises.DeliveredOf(f.attempt.Trial)
	if !ok {
		return nil
	}
	v := cases.Judge(cases.Case{Prescribed: f.attempt.Trial.Target.Lab(), Delivered: delivered.Lab()})
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
