package agreement

import (
	"fmt"
	"math"
	"slices"
	"sort"
)

// Ratings are what several people said of the same items: a row an item, a column a
// person, NaN where an answer is missing.
type Ratings [][]float64

// tooLarge keeps sums of squares and cubes finite.
const tooLarge = 1e90

// objection is the reason, in words, why nothing can be computed from these ratings,
// or "" when there is none.
func (r Ratings) objection(level float64) string {
	if !(level > 0 && level < 1) {
		return fmt.Sprintf("the level of an interval lies between 0 and 1, not at %v", level)
	}
	if len(r) == 0 || len(r[0]) == 0 {
		return "no ratings"
	}
	for i, row := range r {
		if len(row) != len(r[0]) {
			return fmt.Sprintf("item %d has %d ratings, item 1 has %d", i+1, len(row), len(r[0]))
		}
		for j, v := range row {
			if math.Abs(v) > tooLarge { // NaN is a missing answer
				return fmt.Sprintf("rating %d of item %d is too large to compute with: %g", j+1, i+1, v)
			}
		}
	}
	if len(r[0]) < 2 {
		return "one rater only: agreement needs at least 2"
	}
	return ""
}

// largestBlock is the largest block without a missing answer that is found by leaving
// out those raters who missed most, as many as pays, and then every item not rated by
// all who remain. So one who left half way does not cost everybody half the items. The
// warning says what was left out; it is empty when nothing was. The block is empty
// when no two items are shared by two raters.
func (r Ratings) largestBlock() (keptItems, keptRaters []int, warning string) {
	items, raters := len(r), len(r[0])
	missed := make([]int, raters)
	for _, row := range r {
		for j, v := range row {
			if math.IsNaN(v) {
				missed[j]++
			}
		}
	}
	byMissed := make([]int, raters)
	for j := range byMissed {
		byMissed[j] = j
	}
	sort.SliceStable(byMissed, func(a, b int) bool { return missed[byMissed[a]] < missed[byMissed[b]] })

	best := 0
	for count := raters; count >= 2; count-- {
		who := byMissed[:count]
		var whole []int
		for i, row := range r {
			if !slices.ContainsFunc(who, func(j int) bool { return math.IsNaN(row[j]) }) {
				whole = append(whole, i)
			}
		}
		if len(whole) >= 2 && len(whole)*count > best {
			best = len(whole) * count
			keptItems, keptRaters = whole, slices.Sorted(slices.Values(who))
		}
	}
	lostItems, lostRaters := items-len(keptItems), raters-len(keptRaters)
	switch {
	case len(keptItems) == 0, lostItems == 0 && lostRaters == 0:
	case lostRaters == 0:
		warning = fmt.Sprintf("answers are missing: %d of %d items left out", lostItems, items)
	case lostItems == 0:
		warning = fmt.Sprintf("answers are missing: %d of %d raters left out", lostRaters, raters)
	default:
		warning = fmt.Sprintf("answers are missing: %d of %d raters and %d of %d items left out", lostRaters, raters, lostItems, items)
	}
	return keptItems, keptRaters, warning
}

const noSharedItems = "no two items were answered by the same two raters"
