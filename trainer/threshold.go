package trainer

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/exercises"
)

func init() {
	registerAsker(exercises.Threshold, screen{
		brief: []string{
			"Pairs of patches, some plainly different, most hard to tell. Answer by the first impression; guess when you cannot tell.",
			"After each answer the next pair is chosen near the limit of what you see, so about as many are hard for a good eye as for a beginner's.",
			"Single answers are not commented on: together they give a threshold, which stands in your tables.",
		},
		ask:    newThreshold,
		quiet:  true,
		trials: 60,
		variants: []variant{
			{"Threshold: which pair differs", "Two pairs, one of them of two colours: the smallest difference you can see. 60 trials.",
				exercises.Setup{Task: exercises.TaskWhich}},
			{"Threshold: different or the same", "One pair, sometimes of one colour: the difference you see without being pointed to it. 60 trials.",
				exercises.Setup{Task: exercises.TaskDifferent}},
			{"Threshold: leave or change", "One pair: the largest difference that you would leave in the mouth. 60 trials.",
				exercises.Setup{Task: exercises.TaskAccept}},
		},
	})
}

// thresholdAsker asks one of three questions about pairs: which of two differs,
// whether one differs, whether one would do in the mouth.
type thresholdAsker struct {
	question
	first, second []colour.SRGB // left and right pair; second is nil for one pair
	ask           string
	words         []thresholdWord
}

// thresholdWord is one of the two answers.
type thresholdWord struct{ key, also, show, does, choice string }

func newThreshold(q question) (asker, error) {
	a := &thresholdAsker{question: q}
	switch q.setup.Task {
	case exercises.TaskWhich:
		a.ask = "Which pair consists of two colours?"
		a.first, a.second = q.trial.PatchesOf(exercises.Left), q.trial.PatchesOf(exercises.Right)
		a.words = []thresholdWord{{"left", "1", "←", "the left pair", exercises.Left}, {"right", "2", "→", "the right pair", exercises.Right}}
		if len(a.first) != 2 || len(a.second) != 2 {
			return nil, fmt.Errorf("trial %d has no two pairs", q.trial.Ordinal+1)
		}
		return a, nil
	case exercises.TaskDifferent:
		a.ask = "Do the two patches differ in colour?"
		a.words = []thresholdWord{{"s", "1", "s", "the same", exercises.Same}, {"d", "2", "d", "different", exercises.Differ}}
	case exercises.TaskAccept:
		a.ask = "A crown beside a tooth: would you leave it, or change it?"
		a.words = []thresholdWord{{"l", "1", "l", "leave it", exercises.Leave}, {"c", "2", "c", "change it", exercises.Change}}
	default:
		return nil, fmt.Errorf("the trainer does not know the task %q", q.setup.Task)
	}
	sample, ok := q.trial.Patch("sample")
	if !ok {
		return nil, fmt.Errorf("trial %d has no second patch", q.trial.Ordinal+1)
	}
	a.first = []colour.SRGB{q.trial.Target, sample}
	return a, nil
}

func (a *thresholdAsker) prompt() string { return a.ask }

func (a *thresholdAsker) draw(c *canvas, in rect, covered bool) {
	in, _ = in.bottom(1)
	v, t := a.setup.Viewing, a.tone()
	if a.second == nil {
		drawField(c, in, v, t, fieldOf{left: a.first[0], right: a.first[1]}, covered)
		return
	}
	const between = 8
	w := (in.w - between) / 2
	drawField(c, rect{in.x, in.y, w, in.h}, v, t, fieldOf{left: a.first[0], right: a.first[1]}, covered)
	drawField(c, rect{in.x + in.w - w, in.y, w, in.h}, v, t, fieldOf{left: a.second[0], right: a.second[1]}, covered)
	c.item(rect{in.x, in.y, w, in.h}, 0)
	c.item(rect{in.x + in.w - w, in.y, w, in.h}, 1)
}

func (a *thresholdAsker) keys() []keyHelp {
	var keys []keyHelp
	for _, w := range a.words {
		keys = append(keys, help(w.show, w.does, w.key))
	}
	return keys
}

func (a *thresholdAsker) key(k string) reply {
	for _, w := range a.words {
		if k == w.key || k == w.also {
			return reply{answer: &exercises.Answer{Choice: w.choice}}
		}
	}
	if k == "enter" {
		return why(fmt.Sprintf("Answer with %s or %s.", a.words[0].show, a.words[1].show))
	}
	return noKey
}

// pick takes a click on one of two pairs.
func (a *thresholdAsker) pick(i int) reply { return a.key(a.words[i].key) }
