package scoring

import (
	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

func init() { register(exercises.ValueFirst, Rules{Mark: markSheet, Shade: true}) }

// markSheet marks an answer taken from a sheet, by its bytes.
func markSheet(t exercises.Trial, a exercises.Answer, sheet *tabs.Sheet) Mark {
	if sheet == nil || a.Colour == nil {
		return markColour(t, a, sheet)
	}
	sight := sheet.See(t.Target)
	return markShade(&t, &a, sheet, &sight)
}

// markShade is markSheet where it is known what the sheet has to say of the target.
func markShade(t *exercises.Trial, a *exercises.Answer, sheet *tabs.Sheet, sight *tabs.Sight) Mark {
	if a.Colour == nil {
		return Mark{}
	}
	at, found := tabsTaken(a, sheet)
	if at.I < 0 {
		return markColour(*t, *a, sheet)
	}
	d := colour.Differ(sight.Target, sheet.Colour(*a.Colour, at.I))
	m := Mark{HasColour: true, Difference: d, Band: BandOf(d.E), Free: exercises.RoomIn(sheet, sight),
		HasSheet: true, Best: sight.Best(), Nearest: !(sight.NearestTab < d.E), sheet: sheet, target: sight.Target}
	// An answer that no sheet offers can be better than the best one; its excess is 0
	// then.
	m.Excess = max(0, d.E-m.Best.E)
	if at.Group, m.HasGroup = groupNamed(sheet, a.Group, at.I); m.HasGroup {
		m.place, m.placed = at, found
		m.GroupSteps = groupSteps(sight.Group, sheet.GroupOf(m.Best.I), at.Group)
	}
	return m
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

// groupSteps counts value groups from the right one or the other, > 0 for too light. Right is
// the group whose patch on the strip is nearest to the target in L*, both in the
// bytes that were shown, since the first step is judged by value alone and the patches
// differ in nothing else (in sheets stored before groups had such a patch: the
// group whose tabs are nearest in the mean); the group that holds the best answer of
// all is right too, because it leads to that answer. Other groups are counted from the nearer of the two, one
// halfway between from the darker, as too light.
func groupSteps(one, other, chosen int) int {
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
