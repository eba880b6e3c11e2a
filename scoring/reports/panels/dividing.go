package panels

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/scoring"
	"shadedrill/scoring/reports/history"
)

// dividing finds the items over which people differ by more than their biases and
// their own scatter explain; known is false where nobody met an item twice, so that
// own scatter is not known.
//
// Analysis of variance, an item at a time: each person's mean answer to it, less that
// person's mean error over all items, varies among k people about as their repeats do,
// pooled over all items and people. The ratio, averaged over the three axes, is held
// against F on 3(k−1) and three times the spare repeats, and the items are judged
// together at a false discovery rate of 5 % (Benjamini & Hochberg 1995, J R Stat Soc B
// 57:289–300). Steps between tabs are taken as scatter; in
// very steady people they make a shade beside a step look divided now and then. What
// nobody could see, a mean difference within perceptibility, divides nobody.
func (p *panel) dividing() (found map[string]bool, known bool) {
	if p.divided != nil {
		return p.divided, p.dividedKnown
	}
	p.divided = map[string]bool{}
	own := make([][3]float64, len(p.people)) // each person's mean error over items
	var within [3]float64
	spare := 0.0
	for j := range p.people {
		var sums [3]float64
		n := 0.0
		for _, item := range p.items {
			answers := item.answers[j]
			if len(withColour(answers)) == 0 {
				continue
			}
			n++
			for axis := range sums {
				m, _ := meanPart(answers, axis)
				sums[axis] += m
				for _, a := range withColour(answers) {
					d := history.Axes[axis].Part(a.mark.Difference) - m
					within[axis] += d * d
				}
			}
			spare += float64(len(withColour(answers)) - 1)
		}
		for axis := range sums {
			own[j][axis] = sums[axis] / n
		}
	}
	if spare < leastSpare {
		return p.divided, false
	}
	p.dividedKnown = true
	type tested struct {
		name string
		p    float64
	}
	var list []tested
	for _, item := range p.items {
		ratio, axes, k := 0.0, 0.0, 0.0
		for axis := range within {
			if within[axis] == 0 {
				continue
			}
			var xs []float64
			inverse := 0.0
			for j, answers := range item.answers {
				if m, ok := meanPart(answers, axis); ok {
					xs = append(xs, m-own[j][axis])
					inverse += 1 / float64(len(withColour(answers)))
				}
			}
			if k = float64(len(xs)); k < 2 {
				continue
			}
			// The variance of means of n answers, n the harmonic mean of the numbers.
			ratio += variance(xs) * k / inverse / (within[axis] / spare)
			axes++
		}
		if axes == 0 || k < 2 {
			continue
		}
		f := distuv.F{D1: axes * (k - 1), D2: axes * spare}
		list = append(list, tested{item.name, 1 - f.CDF(ratio/axes)})
	}
	slices.SortFunc(list, func(a, b tested) int { return cmp.Compare(a.p, b.p) })
	seen := map[string]bool{} // where people differ by what can be seen at all
	for _, s := range p.splits() {
		seen[s.item.name] = s.apart > scoring.Perceptibility.Value
	}
	for i := len(list) - 1; i >= 0; i-- {
		if list[i].p <= (1-history.Level)*float64(i+1)/float64(len(list)) {
			for _, t := range list[:i+1] {
				if seen[t.name] {
					p.divided[t.name] = true
				}
			}
			break
		}
	}
	return p.divided, true
}

// leastSpare is how many repeats beyond the first make own scatter known: with ten its
// own standard error is some 22 %. House choice.
const leastSpare = 10

func withColour(answers []answer) []answer {
	return slices.DeleteFunc(slices.Clone(answers), func(a answer) bool { return !a.mark.HasColour })
}

func variance(xs []float64) float64 {
	m, sum := history.Average(xs), 0.0
	for _, x := range xs {
		sum += (x - m) * (x - m)
	}
	return sum / math.Max(1, float64(len(xs)-1))
}
