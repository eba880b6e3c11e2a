package scoring

import (
	"iter"

	"shadedrill/exercises"
)

// Together is the design effect to be expected of answers of one scene: how many
// times the variance of a share over them is that of answers that have nothing to
// do with each other. It is 1 for most kinds.
//
//   - bench: whoever takes one tab for another errs twice, which alone would make
//     it 2; simulated eyes that find 58 to 97 % of 6 or 16 pairs show 1.3 to 1.8.
//   - lighting: a pair that is easy under one lamp is mostly easy under the next;
//     simulated eyes show 1.0 to 1.3 for six lamps.
//   - try-in: value, chroma, hue and verdict of one case; simulated eyes show 1.0 to
//     1.1.
//
// Source: own simulation, which the tests in scoring/reports repeat.
func Together(kind exercises.KindID) float64 {
	switch kind {
	case exercises.Bench:
		return 1.7
	case exercises.Lighting:
		return 1.2
	case exercises.TryIn:
		return 1.1
	}
	return 1
}

// Judgements are what counts as right or wrong of an answer to an exercise, wherever
// shares of right answers are taken, in a test, for a pass mark, item by item or in
// a learning record: each yes-or-no part for itself where that is so (see [Singly]),
// else the answer as a whole, without a name. There are none where nothing is right
// or wrong.
func (m Mark) Judgements(kind exercises.KindID) iter.Seq[Check] {
	return func(yield func(Check) bool) {
		if Singly(kind) {
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

// Singly says of which exercises each yes-or-no part counts for itself where shares
// of right answers are taken.
//
//   - bench: the parts of a round are its pairs.
//   - try-in: asked is four times, value, chroma, hue and verdict, and a teacher
//     marks each of four questions. All four together are no fair measure: of 1,800
//     cases simulated eyes with noise 0.6, 0.8 and 1.0 ΔE00 had all four right in 53,
//     37 and 26 %, and single judgements in 85, 77 and 70 %. The same eyes find 95,
//     90 and 82 % of the tabs of "starter" in value first, so that house cut-offs at
//     75 and 85 % of the single judgements call them much the same. Saying "the
//     same" and "seat it" to everything gets 56 % and random answers 34 %: poor.
//
// Source: own simulation, which a test in scoring/reports repeats.
func Singly(kind exercises.KindID) bool {
	return kind == exercises.Bench || kind == exercises.TryIn
}
