package trend

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"shadedrill/scoring"
)

// Block is a few sittings of one person that stand for one time: a number each, such
// as the median ΔE00, and the answers behind it.
type Block struct {
	Values  []float64
	Answers []int
}

// Mean weighs each sitting by its answers.
func (b Block) Mean() float64 { return stat.Mean(b.Values, b.weights()) }

func (b Block) weights() []float64 {
	w := make([]float64, len(b.Answers))
	for i, n := range b.Answers {
		w[i] = float64(n)
	}
	return w
}

func (b Block) answers() float64 {
	n := 0.0
	for _, a := range b.Answers {
		n += float64(a)
	}
	return n
}

// OwnChanges says of each person how far they changed, after minus before, with an
// interval that allows for how much one sitting of a person differs from the next:
// the reliable change of Jacobson & Truax (1991, J Consult Clin Psychol 59:12–19; from
// memory), whose standard error of measurement is taken here as proportional to the
// size of the error and to one over the root of the answers (house model: a steady
// observer of twice the noise scatters twice as far). One coefficient for all is
// pooled from the sittings within each block; somebody who learns within a block makes
// it larger, never smaller.
//
// An interval that leaves out 0 is a change beyond the person's own uncertainty: of
// steady people chance alone makes (1 − level)/2 seem to improve.
func OwnChanges(before, after []Block, level float64) []scoring.Estimate {
	squares, df := 0.0, 0.0
	for _, blocks := range [][]Block{before, after} {
		for _, b := range blocks {
			if len(b.Values) < 2 {
				continue
			}
			m := b.Mean()
			if !(m > 0) {
				continue
			}
			for i, x := range b.Values {
				squares += float64(b.Answers[i]) * (x - m) * (x - m) / (m * m)
			}
			df += float64(len(b.Values) - 1)
		}
	}
	quantile := math.NaN() // the same for all, and slow to find
	if df >= leastFreedom {
		quantile = StudentQuantile(level, df)
	}
	list := make([]scoring.Estimate, min(len(before), len(after)))
	for i := range list {
		b, a := before[i], after[i]
		if len(b.Values) == 0 || len(a.Values) == 0 {
			list[i] = scoring.Undefined(len(b.Values)+len(a.Values), "needs sittings at both times")
			continue
		}
		n := int(b.answers() + a.answers())
		mb, ma := b.Mean(), a.Mean()
		if df < leastFreedom {
			list[i] = scoring.Point(ma-mb, n, "too few sittings in the class to know how much one differs from the next")
			continue
		}
		half := quantile * math.Sqrt(squares/df*(mb*mb/b.answers()+ma*ma/a.answers()))
		list[i] = scoring.Interval(ma-mb, ma-mb-half, ma-mb+half, level, n)
	}
	return list
}

// leastFreedom is how many spare sittings the pooled coefficient needs: with four its
// own error is some 35 %. House choice.
const leastFreedom = 4
