package ask

import (
	"fmt"

	"shadedrill/exercises"
)

func init() {
	register(exercises.Darker, Screen{
		Brief: []string{"Two patches of nearly one colour. Say which is the darker."},
		Ask: func(q Question) (Asker, error) {
			second, ok := q.Trial.Patch(exercises.Right)
			if !ok {
				return nil, fmt.Errorf("trial %d has no second patch", q.Trial.Ordinal+1)
			}
			return &verbal{
				ask:   "Which is the darker?",
				words: []word{{"l", "1", "l", "the left", exercises.Left}, {"r", "2", "r", "the right", exercises.Right}},
				paint: q.paintPair(q.Trial.Target, second),
			}, nil
		},
	})
}
