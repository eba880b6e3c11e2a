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
	return s.Judging(kind).Of(&m)
}

// Judging is what decides the judgements of a sitting's answers, whatever they are.
type Judging struct{ any, acceptable, singly bool }

// Judging finds it for the answers to an exercise; see [Sitting.Judgements].
func (s *Sitting) Judging(kind exercises.KindID) Judging {
	return Judging{s.Judges(), s.Setup.Options[OptionRight] == RightAcceptable, RulesOf(kind).Singly}
}

// Of are the judgements of an answer.
func (j Judging) Of(m *Mark) iter.Seq[Check] {
	return func(yield func(Check) bool) {
		switch {
		case !j.any:
		case j.acceptable && m.HasColour:
			yield(Check{Right: m.Band <= Acceptable})
		case j.singly:
			for _, c := range m.Checks {
				if !yield(c) {
					return
				}
			}
		default:
			if right, known := m.right(); known {
				yield(Check{Right: right})
			}
		}
	}
}
