package scoring

import (
	"iter"

	"shadedrill/exercises"
)

// Judges reports whether anything in a sitting is right or wrong: of a test in which any
// tooth colour was asked only where its form says what is.
func (s *Sitting) Judges() bool {
	return s.Within == "" || !Free(*s) || s.Setup.Options[OptionRight] != ""
}

// Judgements are what counts as right or wrong of an answer in a sitting, wherever
// shares of right answers are taken, in a test, for a pass mark, item by item or in
// a learning record: each yes-or-no part for itself where that is so (see [Rules]),
// else the answer as a whole, without a name. There are none where nothing is right
// or wrong.
func (s *Sitting) Judgements(m Mark, kind exercises.KindID) iter.Seq[Check] {
	return func(yield func(Check) bool) {
		if !s.Judges() {
			return
		}
		if s.Setup.Options[OptionRight] == RightAcceptable && m.HasColour {
			yield(Check{Right: m.Band <= Acceptable})
			return
		}
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
