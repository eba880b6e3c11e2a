package recordtest

import (
	"context"
	"iter"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Altered is a book in which somebody has made one person's fifth answers right, by
// hand.
type Altered struct {
	*record.Memory
	Of scoring.LearnerID
}

// Attempts yields them as they were altered.
func (b Altered) Attempts(ctx context.Context, f record.Filter) iter.Seq2[scoring.Attempt, error] {
	return func(yield func(scoring.Attempt, error) bool) {
		for a, err := range b.Memory.Attempts(ctx, f) {
			if a.Learner == b.Of && a.Trial.Ordinal == 4 {
				c := a.Trial.Target
				a.Answer.Colour = &c
				a.Answer.Looks++ // also where it was right before
			}
			if !yield(a, err) {
				return
			}
		}
	}
}
