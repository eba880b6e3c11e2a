package scoring

import "shadedrill/exercises"

// Together is the design effect to be expected of answers of one scene: how many
// times the variance of a share over them is that of answers that have nothing to
// do with each other. It is 1 for most kinds.
//
//   - bench: whoever takes one tab for another errs twice, which alone would make
//     it 2; simulated eyes that find 58 to 97 % of 6 or 16 pairs show 1.3 to 1.8.
//   - lighting: a pair that is easy under one lamp is mostly easy under the next;
//     simulated eyes show 1.0 to 1.3 for six lamps.
//
// Source: own simulation, which the tests in scoring/review repeat.
func Together(kind exercises.KindID) float64 {
	switch kind {
	case exercises.Bench:
		return 1.7
	case exercises.Lighting:
		return 1.2
	}
	return 1
}
