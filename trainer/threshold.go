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
			"Each next pair is chosen near the limit of what you see, so most are hard, for a trained eye too.",
			"Single answers are not commented on: together they give a threshold, which stands in your tables.",
		},
		ask:    newThreshold,
		quiet:  true,
		trials: 60,
		variants: []variant{
			{"Threshold: which pair differs", "Two pairs, one of them of two colours: the smallest difference you can see. 60 trials.",
				exercises.Setup{Task: exercises.TaskWhich}, nil},
			{"Threshold: different or the same", "One pair, sometimes of one colour: the difference you see without being pointed to it. 60 trials.",
				exercises.Setup{Task: exercises.TaskDifferent}, nil},
			{"Threshold: leave or change", "One pair: the largest difference that you would leave in the mouth. 60 trials.",
				exercises.Setup{Task: exercises.TaskAccept}, nil},
		},
	})
}

// newThreshold asks one of three questions about pairs: which of two differs,
// whether one differs, whether one would do in the mouth.
func newThreshold(q question) (asker, error) {
	if q.setup.Task == exercises.TaskWhich {
		left, err := pairIn(q.trial, exercises.Left)
		if err != nil {
			return nil, err
		}
		right, err := pairIn(q.trial, exercises.Right)
		if err != nil {
			return nil, err
		}
		return &verbal{
			ask:   "Which pair consists of two colours?",
			words: []word{{"left", "1", "←", "the left pair", exercises.Left}, {"right", "2", "→", "the right pair", exercises.Right}},
			paint: q.paintPairs([][]colour.SRGB{left, right}, nil),
		}, nil
	}
	sample, ok := q.trial.Patch("sample")
	if !ok {
		return nil, fmt.Errorf("trial %d has no second patch", q.trial.Ordinal+1)
	}
	a := &verbal{paint: q.paintPair(q.trial.Target, sample)}
	switch q.setup.Task {
	case exercises.TaskDifferent:
		a.ask = "Do the two patches differ in colour?"
		a.words = []word{{"s", "1", "s", "the same", exercises.Same}, {"d", "2", "d", "different", exercises.Differ}}
	case exercises.TaskAccept:
		a.ask = "A crown beside a tooth: would you leave it, or change it?"
		a.words = []word{{"l", "1", "l", "leave it", exercises.Leave}, {"c", "2", "c", "change it", exercises.Change}}
	default:
		return nil, fmt.Errorf("the trainer does not know the task %q", q.setup.Task)
	}
	return a, nil
}
