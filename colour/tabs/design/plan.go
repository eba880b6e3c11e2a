package design

import (
	"fmt"
	"slices"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// Column is one chroma column of a sheet: tabs of one C* at the given hue
// angles in degrees, rising.
type Column struct {
	C float64
	H []float64
}

// Sheet is the plan of one value group: its lightness L* and its columns, weakest
// first.
type Sheet struct {
	L       float64
	Columns []Column
}

// Len returns the number of tabs.
func (s Sheet) Len() (n int) {
	for _, c := range s.Columns {
		n += len(c.H)
	}
	return n
}

func (s Sheet) clone() Sheet {
	out := Sheet{s.L, slices.Clone(s.Columns)}
	for i := range out.Columns {
		out.Columns[i].H = slices.Clone(out.Columns[i].H)
	}
	return out
}

// shown moves a planned colour to the nearest one that a screen shows exactly: a
// built-in tab exists on screens only, and a colour that none can show would be a
// fiction.
func shown(l, c, h float64) colour.Lab {
	bytes, _ := colour.LCh{L: l, C: c, H: h}.Lab().SRGB()
	return bytes.Lab()
}

// Library makes the library of the given sheets.
func Library(name string, sheets []Sheet) (*tabs.Library, error) {
	var groups []tabs.Group
	for _, s := range sheets {
		var labs []colour.Lab
		for _, column := range s.Columns {
			for _, h := range column.H {
				labs = append(labs, shown(s.L, column.C, h))
			}
		}
		groups = append(groups, group(s.L, labs))
	}
	return tabs.New(name, "", groups)
}

// group makes a value group. A tab is named by the rounded chroma and hue of its
// own colour and by the lightness of its group, from which a byte's rounding
// takes it less than half a unit away.
func group(l float64, labs []colour.Lab) tabs.Group {
	g := tabs.Group{Name: fmt.Sprintf("L%.0f", l)}
	for _, lab := range labs {
		lch := lab.LCh()
		g.Tabs = append(g.Tabs, tabs.Tab{Name: fmt.Sprintf("%s C%.0f h%.0f", g.Name, lch.C, lch.H), Lab: lab})
	}
	return g
}
