package trainer

import (
	"fmt"

	"shadedrill/exercises"
)

func init() {
	registerAsker(exercises.Darker, screen{
		brief: []string{"Two patches of nearly one colour. Say which is the darker."},
		ask: func(q question) (asker, error) {
			second, ok := q.trial.Patch(exercises.Right)
			if !ok {
				return nil, fmt.Errorf("trial %d has no second patch", q.trial.Ordinal+1)
			}
			return &verbal{
				ask:   "Which is the darker?",
				words: []word{{"l", "1", "l", "the left", exercises.Left}, {"r", "2", "r", "the right", exercises.Right}},
				paint: q.paintPair(q.trial.Target, second),
			}, nil
		},
	})
}
