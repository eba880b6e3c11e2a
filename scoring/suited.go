package scoring

import (
	"strings"

	"shadedrill/exercises"
)

// RightAtALevel says what counts as right where a level is found from it, for exercises
// with more than two choices.
const RightAtALevel = "Right, for levels: where a shade is chosen, no other choice was nearer by more than 0.8, which half do not see; " +
	"in line-up, every patch in its place; elsewhere each judgement for itself."

// Judged counts what was right of an answer for the level that suits its learner, see
// [RightAtALevel].
func (m Mark) Judged(kind exercises.KindID) exercises.Tried { return RulesOf(kind).Judged(&m) }

// Judged is [Mark.Judged] of a mark by these rules.
func (r *Rules) Judged(m *Mark) exercises.Tried {
	count := func(right bool) exercises.Tried {
		if right {
			return exercises.Tried{Right: 1, Of: 1}
		}
		return exercises.Tried{Of: 1}
	}
	if r.InOrder {
		for _, x := range m.Measures {
			if strings.HasPrefix(x.Name, "inversions, ") {
				return count(x.Value == 0)
			}
		}
	}
	switch {
	case m.HasSheet && !m.Sparse:
		return count(m.Excess <= Perceptibility.Value)
	case len(m.Checks) > 0:
		var t exercises.Tried
		for _, c := range m.Checks {
			if t.Of++; c.Right {
				t.Right++
			}
		}
		return t
	case m.HasColour:
		return count(m.Band <= Acceptable)
	}
	return exercises.Tried{}
}
