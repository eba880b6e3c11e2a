package scoring

import (
	"math"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

// Taken is what an answer from a sheet says of what was seen: not the colour that was
// taken but the range of colours for which nothing on offer would have been nearer.
// Where the library ends the range has no end either, so that an answer at its border
// is not read as if more could have been said.
//
// All is measured from the target in the parts of CIEDE2000, in ΔE00 units. Value is
// chosen by groups, so its range lies between the lightnesses half way to the next
// groups. Chroma and hue are chosen together among the group's tabs and middles: the
// cell of the one taken is the part of their plane that is nearer to it than to any
// other, laid out in strips of equal chroma.
type Taken struct {
	Darkest, Lightest float64 // ΔL', ±Inf beyond the last group
	Groups            int     // how many there were
	Cell              []tabs.Strip
	Choices           int // how many the group offered
}

// Place is an answer's place in its sheet: tab I, or between I and J where J is not −1,
// of a value group.
type Place struct{ Group, I, J int }

// PlaceOf finds it; false where the answer is none of the sheet's.
func PlaceOf(a exercises.Answer, sheet *tabs.Sheet) (Place, bool) {
	if sheet == nil {
		return Place{}, false
	}
	p, found := tabsTaken(&a, sheet)
	if found {
		p.Group, found = groupNamed(sheet, a.Group, p.I)
	}
	if !found {
		return Place{}, false
	}
	return p, true
}

// tabsTaken finds the tabs of an answer, without their group; I is −1 where the first is
// none of the sheet's, and found false where any is not.
func tabsTaken(a *exercises.Answer, sheet *tabs.Sheet) (p Place, found bool) {
	p.J = -1
	if p.I, found = sheet.IndexOf(a.Tab); !found {
		return Place{I: -1, J: -1}, false
	}
	if a.Neighbour != "" {
		p.J, found = sheet.IndexOf(a.Neighbour)
	}
	return p, found
}

// TakenAt says what it takes to answer a target in a place of the sheet; without
// middles, for somebody who chooses among tabs alone. It is false where the sheet does
// not offer that.
func TakenAt(sheet *tabs.Sheet, target colour.Lab, at Place, middles bool) (Taken, bool) {
	groups, group := sheet.Groups(), at.Group
	if group < 0 || group >= len(groups) {
		return Taken{}, false
	}
	choices, i, j := sheet.Choices(group), at.I, at.J
	if !middles {
		choices = choices[:len(groups[group].Tabs)] // the tabs come first
	}
	own := -1
	for k, c := range choices {
		if c.I == i && c.J == j || c.I == j && c.J == i && j >= 0 {
			own = k
			break
		}
	}
	if own < 0 {
		return Taken{}, false
	}
	t := Taken{Darkest: math.Inf(-1), Lightest: math.Inf(1), Groups: len(groups), Choices: len(choices)}
	half := func(a, b int) float64 {
		return colour.Lightness(target.L, (groups[a].Lightness+groups[b].Lightness)/2)
	}
	if group > 0 { // groups go from light to dark
		t.Lightest = half(group-1, group)
	}
	if group < len(groups)-1 {
		t.Darkest = half(group, group+1)
	}
	t.Cell = sheet.Cell(group, own, len(choices), target)
	return t, len(t.Cell) > 0
}
