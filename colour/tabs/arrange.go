package tabs

import (
	"cmp"
	"fmt"
	"slices"

	"shadedrill/colour"
)

// groupSpan and columnSpan are the widest spread, in ΔE00, of lightness within a
// computed value group and of chroma within one column of a group's sheet:
// twice [colour.Perceptibility], so that no member lies farther than a just visible
// difference from the middle.
var (
	groupSpan  = 2 * colour.Perceptibility.Value
	columnSpan = 2 * colour.Perceptibility.Value
)

func compareFloats(a, b float64) int { return cmp.Compare(a, b) }

// GroupByValue forms value groups from tabs that came without: the fewest
// groups in which no two tabs differ by more than 1.6 ΔE00 in lightness alone.
// Groups are named by their mean lightness, "L78".
func GroupByValue(tabs []Tab) []Group {
	sorted := slices.Clone(tabs)
	slices.SortStableFunc(sorted, func(a, b Tab) int { return cmp.Compare(b.Lab.L, a.Lab.L) })
	var groups []Group
	for _, t := range sorted {
		last := len(groups) - 1
		if last < 0 || lightnessStep(groups[last].Tabs[0].Lab.L, t.Lab.L) > groupSpan {
			groups = append(groups, Group{})
			last++
		}
		groups[last].Tabs = append(groups[last].Tabs, t)
	}
	for i := range groups {
		groups[i].Value = meanLightness(groups[i].Tabs)
	}
	nameByValue(groups)
	return groups
}

// nameByValue writes "L78", with as many decimals as it takes to tell the
// groups apart.
func nameByValue(groups []Group) {
	for decimals := 0; decimals <= 6; decimals++ {
		seen := map[string]bool{}
		for i := range groups {
			groups[i].Name = fmt.Sprintf("L%.*f", decimals, groups[i].Value)
			seen[groups[i].Name] = true
		}
		if len(seen) == len(groups) {
			return
		}
	}
}

// intoColumns lays one group's tabs out for its sheet: chroma along, hue down. A
// column holds tabs whose chroma differs by at most 1.6 ΔE00, weakest column
// first; within a column tabs go by rising hue angle, redder before yellower.
// Ties go by name, so the layout does not depend on the order of the input.
func intoColumns(tabs []Tab) [][]Tab {
	sorted := slices.Clone(tabs)
	slices.SortStableFunc(sorted, func(a, b Tab) int {
		return cmp.Or(cmp.Compare(a.Lab.Chroma(), b.Lab.Chroma()), cmp.Compare(a.Name, b.Name))
	})
	var columns [][]Tab
	for _, t := range sorted {
		last := len(columns) - 1
		if last < 0 || chromaStep(columns[last][0].Lab, t.Lab) > columnSpan {
			columns = append(columns, nil)
			last++
		}
		columns[last] = append(columns[last], t)
	}
	for _, c := range columns {
		slices.SortStableFunc(c, func(a, b Tab) int {
			return cmp.Or(cmp.Compare(a.Lab.LCh().H, b.Lab.LCh().H), cmp.Compare(a.Lab.Chroma(), b.Lab.Chroma()))
		})
	}
	return columns
}

// lightnessStep is the ΔE00 of a pure difference in L*.
func lightnessStep(l1, l2 float64) float64 {
	return colour.DeltaE00(colour.Lab{L: l1}, colour.Lab{L: l2})
}

// chromaStep is the ΔE00 of the two colours' difference in chroma alone, at
// the hue angle of the first.
func chromaStep(a, b colour.Lab) float64 {
	from, to := a.LCh(), b.LCh()
	to.L, to.H = from.L, from.H
	return colour.DeltaE00(a, to.Lab())
}
