package agreement

import (
	"fmt"
	"math"
	"slices"

	"shadedrill/scoring"
)

// Disagreement is how far two categories lie apart, 0 for the same.
type Disagreement func(a, b float64) float64

// Any difference counts alike.
func Unweighted(a, b float64) float64 {
	if a == b {
		return 0
	}
	return 1
}

// Linear counts steps, for ordered categories such as value groups.
func Linear(a, b float64) float64 { return math.Abs(a - b) }

// CrossTable counts how often one rater said the row's category where the other said
// the column's.
type CrossTable struct {
	Categories []float64   // of rows and columns
	Counts     [][]float64 // Counts[first][second]
}

// Cross tabulates two raters' answers; items that either left out are left out.
func Cross(first, second []float64) (CrossTable, error) {
	if len(first) != len(second) {
		return CrossTable{}, fmt.Errorf("%d answers of the first rater, %d of the second", len(first), len(second))
	}
	var t CrossTable
	for i := range first {
		if !math.IsNaN(first[i]) && !math.IsNaN(second[i]) {
			t.Categories = append(t.Categories, first[i], second[i])
		}
	}
	slices.Sort(t.Categories)
	t.Categories = slices.Compact(t.Categories)
	t.Counts = make([][]float64, len(t.Categories))
	for i := range t.Counts {
		t.Counts[i] = make([]float64, len(t.Categories))
	}
	for i := range first {
		if math.IsNaN(first[i]) || math.IsNaN(second[i]) {
			continue
		}
		a, _ := slices.BinarySearch(t.Categories, first[i])
		b, _ := slices.BinarySearch(t.Categories, second[i])
		t.Counts[a][b]++
	}
	return t, nil
}

// Kappa is Cohen's κ, weighted by d, the agreement of two raters beyond what their
// own habits would give by chance (Cohen 1960, Educ Psychol Meas 20:37–46; 1968,
// Psychol Bull 70:213–220).
//
// The interval is Wilson's ([shareInterval]) for the observed agreement, with the
// large-sample variance of Fleiss, Cohen & Everitt (1969), Psychol Bull 72:323–327, made
// larger by items/(items − 1).
//
// Measured coverage at 95 % (10,000 runs; six categories chosen right in 40 to 95 % of
// cases, weighted κ on eight steps): from 20 items on unweighted 94.7–97.2 %, linear
// 94.4–96.1 %, by squared steps 93.2–96.5 %; with 10 items 95.1–98.5, 94.2–95.6 and
// 91.2–95.2 %.
func (t CrossTable) Kappa(d Disagreement, level float64) scoring.Estimate {
	if !(level > 0 && level < 1) {
		return scoring.Undefined(0, fmt.Sprintf("the level of an interval lies between 0 and 1, not at %v", level))
	}
	k, why := t.weigh(d)
	items := int(math.Round(k.n))
	if why != "" {
		return scoring.Undefined(items, why)
	}
	if items < 2 {
		return scoring.Point(k.value(), items, "needs at least 2 items for an interval")
	}
	lo, hi := shareInterval(k.value(), -k.expected/(1-k.expected), k.variance*k.n/(k.n-1), items, level)
	return scoring.Interval(k.value(), lo, hi, level, items)
}

// weighted are the parts of a weighted κ; agreement weights are 1 for the same category
// and 0 for the two furthest apart.
type weighted struct {
	n                  float64
	observed, expected float64 // mean agreement weight, found and by chance
	variance           float64 // of κ, in large samples
}

func (k weighted) value() float64 { return (k.observed - k.expected) / (1 - k.expected) }

func (t CrossTable) weigh(d Disagreement) (k weighted, why string) {
	size := len(t.Categories)
	if len(t.Counts) != size {
		return k, fmt.Sprintf("%d categories, but %d rows of counts", size, len(t.Counts))
	}
	var furthest float64
	rows, columns := make([]float64, size), make([]float64, size)
	for i, row := range t.Counts {
		if len(row) != size {
			return k, fmt.Sprintf("row %d has %d counts for %d categories", i+1, len(row), size)
		}
		for j, c := range row {
			if !(c >= 0) || c > tooLarge {
				return k, fmt.Sprintf("row %d has the count %v", i+1, c)
			}
			k.n += c
			rows[i] += c
			columns[j] += c
			furthest = math.Max(furthest, d(t.Categories[i], t.Categories[j]))
		}
	}
	if k.n == 0 {
		return k, "no item was answered by both raters"
	}
	if furthest == 0 {
		return k, "both raters chose one and the same category throughout: agreement beyond chance cannot be judged"
	}

	agreement := func(i, j int) float64 { return 1 - d(t.Categories[i], t.Categories[j])/furthest }
	meanOfRow, meanOfColumn := make([]float64, size), make([]float64, size)
	for i := range size {
		for j := range size {
			w := agreement(i, j)
			k.observed += t.Counts[i][j] / k.n * w
			k.expected += rows[i] / k.n * columns[j] / k.n * w
			meanOfRow[i] += columns[j] / k.n * w
			meanOfColumn[j] += rows[i] / k.n * w
		}
	}
	if k.expected > 1-1e-12 {
		return k, "both raters chose one and the same category throughout: agreement beyond chance cannot be judged"
	}
	kappa := k.value()
	var sum float64
	for i := range size {
		for j := range size {
			term := agreement(i, j) - (meanOfRow[i]+meanOfColumn[j])*(1-kappa)
			sum += t.Counts[i][j] / k.n * term * term
		}
	}
	offset := kappa - k.expected*(1-kappa)
	k.variance = math.Max(0, sum-offset*offset) / (k.n * sq(1-k.expected))
	return k, ""
}
