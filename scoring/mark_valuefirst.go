package scoring

import (
	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

func init() { registerMarker(exercises.ValueFirst, markSheet) }

// markSheet marks an answer taken from a sheet, by its bytes.
func markSheet(t exercises.Trial, a exercises.Answer, sheet *tabs.Sheet) Mark {
	m := markColour(t, a)
	if sheet == nil {
		return m
	}
	i, found := sheet.IndexOf(a.Tab)
	if !found || !m.HasColour {
		return m
	}
	target := t.Target.Lab()
	m.HasSheet = true
	m.Leans = exercises.RoomAround(sheet, target)
	m.Best = sheet.Best(target)
	// An answer that no sheet offers can be better than the best one; nothing was
	// given away then.
	e := colour.DeltaE00(target, a.Colour.Lab()) // as the sheet computes it, to the last bit
	m.Excess = max(0, e-m.Best.E)
	m.Points = rankPoints(sheet, target, e)
	if chosen, ok := groupNamed(sheet, a.Group, i); ok {
		m.HasGroup = true
		m.GroupSteps = groupSteps(sheet, target, m.Best, chosen)
	}
	return m
}

// rankPoints is the score of the published training studies: 10 for the nearest
// tab, 9 for the next, … 1 for the tenth, 0 beyond (J Esthet Restor Dent 28
// (2016) 287–294). An answer between two tabs counts by the tabs that are nearer
// than it, so that a better in-between answer is never worth less than a tab.
func rankPoints(sheet *tabs.Sheet, target colour.Lab, e float64) int {
	points := 10
	for i := range sheet.Len() {
		// The floor spares most of the work: this runs once for every attempt of
		// a table.
		lab := sheet.Lab(i)
		if colour.DeltaE00Floor(target, lab) < e && colour.DeltaE00(target, lab) < e {
			if points--; points == 0 {
				break
			}
		}
	}
	return points
}

func groupNamed(sheet *tabs.Sheet, name string, tab int) (group int, ok bool) {
	if name == "" {
		return sheet.GroupOf(tab), true
	}
	for g, group := range sheet.Groups() {
		if group.Name == name {
			return g, true
		}
	}
	return 0, false
}

// groupSteps counts value groups from the right one, > 0 for too light. Right is
// the group nearest to the target in lightness, since the first step is judged by
// value alone; the group that holds the best answer of all is right too, because
// it leads to that answer. Other groups are counted from the nearer of the two.
func groupSteps(sheet *tabs.Sheet, target colour.Lab, best tabs.Answer, chosen int) int {
	one, other := sheet.NearestGroup(target), sheet.GroupOf(best.I)
	lightest, darkest := min(one, other), max(one, other) // groups go from light to dark
	switch {
	case chosen < lightest:
		return lightest - chosen
	case chosen > darkest:
		return darkest - chosen
	case chosen == one || chosen == other:
		return 0
	}
	if up, down := chosen-lightest, darkest-chosen; up < down {
		return -up
	} else {
		return down
	}
}
