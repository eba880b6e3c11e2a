package history

import (
	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

// Practice that adapts asks more where errors are large. Its answers are weighed by the
// inverse of the chance with which their targets were drawn, so that they say what an
// even sample would have shown: a median that rises because practice has found the weak
// places is no decline. Answers of older programs, which kept no chance, are left out.

// leastChance keeps one answer from outweighing twenty; no target is drawn so seldom.
const leastChance = 0.05

func weightOf(chance float64) float64 {
	if !(chance > 0) {
		return 0
	}
	return 1 / max(chance, leastChance)
}

// weighed are the sizes of errors with their weights, without those of no weight.
func weighed(lists ...[]Judged) (sizes, weights []float64) {
	all := 0
	for _, judged := range lists {
		all += len(judged)
	}
	numbers := make([]float64, 2*all)
	sizes, weights = numbers[:0:all], numbers[all:all]
	for _, judged := range lists {
		for i := range judged {
			if j := &judged[i]; j.Weight > 0 {
				sizes, weights = append(sizes, j.D.E), append(weights, j.Weight)
			}
		}
	}
	return sizes, weights
}

// beyondAll is where an error counts as no larger any more: three times acceptability,
// above which every mismatch is of the last band. It keeps a slip of the finger from
// making a trend.
var beyondAll = 3 * scoring.Acceptability.Value

// typical is the error of a sitting that its trend is told from: the mean ΔE00 as an even
// sample would have it, no error counted as more than beyondAll. A mean tells of a change
// sooner than a median (measured: scoring/trend/README.md). Unknown where no answer has a
// weight.
func (s *Sitting) typical() (mean float64, known bool) {
	sizes, weights := weighed(s.Judged)
	sum, total := 0.0, 0.0
	for i, e := range sizes {
		sum, total = sum+weights[i]*min(e, beyondAll), total+weights[i]
	}
	return sum / total, total > 0
}

// Shares are what each answer brings to Typical: their mean is it.
func (s *Sitting) Shares() []float64 {
	sizes, weights := weighed(s.Judged)
	mean, total := 0.0, 0.0
	for i, w := range weights {
		mean, total = mean+w*min(sizes[i], beyondAll), total+w
	}
	mean /= total
	list := make([]float64, len(sizes))
	for i, w := range weights { // the ratio estimator's linearisation
		list[i] = mean + w*float64(len(sizes))/total*(min(sizes[i], beyondAll)-mean)
	}
	return list
}

// Median is the sitting's median ΔE00 as an even sample would have it; NaN where no
// answer has a weight.
func (s *Sitting) Median() float64 {
	sizes, weights := weighed(s.Judged)
	return trend.MiddleWeighed(sizes, weights)
}

// Typicals gives one number a sitting, and how many sittings have none.
func Typicals(k *Kind) (means []float64, unknown int) {
	for _, s := range k.Sittings {
		if len(s.Judged) == 0 {
			continue
		}
		if m, known := s.typical(); known {
			means = append(means, m)
		} else {
			unknown++
		}
	}
	return means, unknown
}

// TypicalNote says what trends are told from.
const TypicalNote = "From the mean ΔE00 of each sitting, but for proficiency tests, whose targets are chosen otherwise; an error above 5.4, the last band, counts as 5.4."

// EvenNote says how practice that adapts is told; it stands where some was read.
const EvenNote = "Practice that adapts asks more where errors are large. Medians and trends are those that evenly drawn targets would have shown: each answer counts by the chance with which its target was drawn."

// UnknownChance says why answers cannot be weighed.
const UnknownChance = "taken by an older program, which kept no chances: practice that adapts makes these errors look larger"

// MedianSize is the median ΔE00 of exercises as an even sample would have it.
func MedianSize(kinds []*Kind) scoring.Estimate {
	var lists [][]Judged
	all := 0
	for _, k := range kinds {
		for _, s := range k.Sittings {
			lists, all = append(lists, s.Judged), all+len(s.Judged)
		}
	}
	sizes, weights := weighed(lists...)
	switch {
	case len(sizes) == 0 && all > 0:
		return trend.Median(Flat(Over(kinds, Size)), Level).Warn(UnknownChance)
	case len(sizes) < all:
		return trend.MedianWeighed(sizes, weights, Level).Warn("answers of older programs are left out: practice that adapts kept no chances then")
	}
	return trend.MedianWeighed(sizes, weights, Level)
}
