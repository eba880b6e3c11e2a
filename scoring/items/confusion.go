package items

import (
	"cmp"
	"fmt"
	"slices"

	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

// Confusion counts which answers were given to which truths.
type Confusion[K cmp.Ordered] struct {
	Labels []K     // of rows (truths) and columns (answers), sorted
	Counts [][]int // Counts[truth][answer]
	Right  scoring.Estimate
	level  float64
}

// Confuse tabulates answers by truths, two slices of one length.
func Confuse[K cmp.Ordered](truths, answers []K, level float64) (Confusion[K], error) {
	if len(truths) != len(answers) {
		return Confusion[K]{}, fmt.Errorf("%d truths for %d answers", len(truths), len(answers))
	}
	c := Confusion[K]{Labels: append(slices.Clone(truths), answers...), level: level}
	slices.Sort(c.Labels)
	c.Labels = slices.CompactFunc(c.Labels, func(a, b K) bool { return cmp.Compare(a, b) == 0 })
	c.Counts = make([][]int, len(c.Labels))
	for i := range c.Counts {
		c.Counts[i] = make([]int, len(c.Labels))
	}
	right := 0
	for n := range truths {
		i, _ := slices.BinarySearch(c.Labels, truths[n])
		j, _ := slices.BinarySearch(c.Labels, answers[n])
		c.Counts[i][j]++
		if i == j {
			right++
		}
	}
	c.Right = trend.Share(right, len(truths), level)
	return c, nil
}

// Mistaken is a pair taken for each other.
type Mistaken[K cmp.Ordered] struct {
	A, B   K
	AForB  int              // A answered where B was shown
	BForA  int              // B answered where A was shown
	Rate   scoring.Estimate // of all times that A or B was shown
	Either int              // AForB + BForA
}

// MostMistaken lists the pairs taken for each other, in either direction, most often
// first; pairs never mistaken are not listed.
func (c Confusion[K]) MostMistaken() []Mistaken[K] {
	shown := make([]int, len(c.Labels))
	for i, row := range c.Counts {
		for _, n := range row {
			shown[i] += n
		}
	}
	var pairs []Mistaken[K]
	for i := range c.Labels {
		for j := range i {
			if n := c.Counts[i][j] + c.Counts[j][i]; n > 0 {
				pairs = append(pairs, Mistaken[K]{
					A: c.Labels[j], B: c.Labels[i], AForB: c.Counts[i][j], BForA: c.Counts[j][i], Either: n,
					Rate: trend.Share(n, shown[i]+shown[j], c.level),
				})
			}
		}
	}
	slices.SortStableFunc(pairs, func(a, b Mistaken[K]) int { return cmp.Compare(b.Either, a.Either) })
	return pairs
}
