package scoring

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

func init() { register(exercises.LineUp, Rules{Mark: markLineUp, InOrder: true}) }

// markLineUp marks an order by the bytes laid. Measures carry the attribute's
// name, so that tables keep value, chroma and hue apart. The order as a whole is
// right when no two patches stand the wrong way round that differ beyond
// acceptability: a finer mistake is within what is accepted in the mouth.
func markLineUp(t exercises.Trial, a exercises.Answer, _ *tabs.Sheet) Mark {
	row, ok := laidRow(t, a)
	if !ok {
		return Mark{}
	}
	n := len(row.order)
	pairs, inversions := n*(n-1)/2, row.inversions()
	largest := 0.0
	for i, left := range row.order {
		for _, right := range row.order[i+1:] {
			if left > right {
				largest = max(largest, row.distance(left, right))
			}
		}
	}
	var why string
	switch {
	case inversions == 0:
		why = fmt.Sprintf("all %d patches stand in order", n)
	case inversions == pairs:
		why = "the row stands the other way round, from end to end"
	default:
		stand := "stand"
		if inversions == 1 {
			stand = "stands"
		}
		within := "beyond acceptability"
		if largest <= Acceptability.Value {
			within = "within acceptability"
		}
		why = fmt.Sprintf("%d of %d pairs %s the wrong way round, the farthest %.1f ΔE00 apart, %s", inversions, pairs, stand, largest, within)
	}
	tau := row.tauB().Value // there are at least two patches
	measures := []Measure{
		{Name: "tau-b, " + t.Part, Value: tau, Unit: "1 in order, −1 reversed"},
		{Name: "inversions, " + t.Part, Value: float64(inversions), Unit: "pairs"},
	}
	if excess := row.excessPath(row.distance); excess.Defined() {
		measures = append(measures, Measure{Name: "excess path, " + t.Part, Value: 100 * excess.Value, Unit: "% of the right way"})
		if inversions > 0 {
			why += fmt.Sprintf("; the way along the row is %.0f %% too long", 100*excess.Value)
		}
	}
	if inversions > 0 && inversions < pairs {
		why += fmt.Sprintf("; tau-b %+.2f, where +1 is in order and -1 reversed", tau)
	}
	return Mark{
		Checks:   []Check{{Name: "order of " + t.Part, Right: largest <= Acceptability.Value, Why: why}},
		Measures: measures,
	}
}

// laid is an arrangement of patches with their colours by right place.
type laid struct {
	arrangement
	at []colour.Lab // of right place 1, 2, …
}

func (l laid) distance(i, j int) float64 { return colour.DeltaE00(l.at[i-1], l.at[j-1]) }

// laidRow gives each patch its right place. Of equal patches the one laid first
// belongs first, since nobody could tell them apart. It is not ok for an answer
// that is no order of the trial's patches.
func laidRow(t exercises.Trial, a exercises.Answer) (row laid, ok bool) {
	n := len(t.Patches)
	if len(a.Order) != n || n < 2 {
		return row, false
	}
	// The same patches as they were laid: their right order in that numbering.
	asLaid := t
	asLaid.Patches = make([]exercises.Patch, n)
	for i, patch := range a.Order {
		if patch < 0 || patch >= n {
			return row, false
		}
		asLaid.Patches[i] = t.Patches[patch]
	}
	places := make([]int, n)
	right := exercises.RightOrder(asLaid)
	if right == nil {
		return row, false
	}
	for place, i := range right {
		places[i] = place + 1
		row.at = append(row.at, asLaid.Patches[i].Colour.Lab())
	}
	seen := make([]bool, n)
	for _, patch := range a.Order {
		if seen[patch] {
			return row, false
		}
		seen[patch] = true
	}
	var err error
	row.arrangement, err = newArrangement(places)
	return row, err == nil
}
