package scoring

import (
	"iter"

	"shadedrill/exercises"
)

// Judgements are what counts as right or wrong of an answer to an exercise, wherever
// shares of right answers are taken, in a test, for a pass mark, item by item or in
// a learning record: each yes-or-no part for itself where that is so (see [Rules]),
// else the answer as a whole, without a name. There are none where nothing is right
// or wrong.
func (m Mark) Judgements(kind exercises.KindID) iter.Seq[Check] {
	return func(yield func(Check) bool) {
		if RulesOf(kind).Singly {
			for _, c := range m.Checks {
				if !yield(c) {
					return
				}
			}
			return
		}
		if right, known := m.Right(); known {
			yield(Check{Right: right})
		}
	}
}
