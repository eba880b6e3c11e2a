package record

import (
	"context"
	"iter"

	"shadedrill/scoring"
)

// Sat is what is read of a book to tell practice from what is kept beside it.
type Sat interface {
	Sittings(context.Context, Filter) ([]scoring.Sitting, error)
	Attempts(context.Context, Filter) iter.Seq2[scoring.Attempt, error]
}

// Answered lists the sittings in which something was answered, oldest first. Settings are
// kept in a sitting that asks nothing, and a drill may be left before its first answer:
// neither is practice, and on neither of these days was anybody active.
func Answered(ctx context.Context, book Sat, f Filter) (sat []scoring.Sitting, err error) {
	list, err := book.Sittings(ctx, f)
	for _, s := range list {
		some := !s.Left && !s.Ended.IsZero() // whatever went on to its end has answers
		if !some {
			for _, err := range book.Attempts(ctx, Filter{Sitting: s.ID, Learner: s.Learner, Silent: true, Light: true}) {
				if err != nil {
					return nil, err
				}
				some = true
				break
			}
		}
		if some {
			sat = append(sat, s)
		}
	}
	return sat, err
}
