// Package design computes the built-in tab libraries. Nothing in it is
// recalled: value groups stand at equal ΔE00 steps of lightness over the region
// [tabs.Teeth], and each group's sheet is a plan of chroma columns.
package design

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// Column is one chroma column of a group's sheet: tabs of one C* at the given
// hue angles, rising.
type Column struct {
	C float64
	H []float64
}

// Sheet is one value group: its lightness L* and its columns, weakest first.
type Sheet struct {
	L       float64
	Columns []Column
}

// tabsOf gives the group's tabs, each moved to the nearest colour that a screen
// shows exactly.
func (s Sheet) tabsOf() []tabs.Tab {
	var out []tabs.Tab
	for _, c := range s.Columns {
		for _, h := range c.H {
			shown, _ := colour.LCh{L: s.L, C: c.C, H: h}.Lab().SRGB()
			lab := shown.Lab()
			out = append(out, tabs.Tab{Name: lab.LCh().String(), Lab: lab})
		}
	}
	return out
}

// Library builds the library of the given sheets.
func Library(name string, sheets []Sheet) (*tabs.Library, error) {
	var groups []tabs.Group
	for _, s := range sheets {
		groups = append(groups, tabs.Group{Name: fmt.Sprintf("L%.0f", s.L), Tabs: s.tabsOf()})
	}
	return tabs.New(name, "", groups)
}

// even is the plainest plan: groups, columns and hue angles in equal ΔE00
// steps, each tab in the middle of its share, every other column shifted.
func even(groups, columns int, pitch float64) []Sheet {
	r := tabs.Teeth
	middle := (r.Reddest + r.Yellowest) / 2
	var sheets []Sheet
	for _, l := range tabs.Centres(r.Darkest, r.Lightest, groups, func(l float64) colour.Lab { return colour.Lab{L: l} }) {
		s := Sheet{L: l}
		least, most := r.ChromaRange(l)
		along := func(c float64) colour.Lab { return colour.LCh{L: l, C: c, H: middle}.Lab() }
		n := min(columns, max(1, len(tabs.Steps(least, most, pitch, along))))
		for _, c := range tabs.Centres(least, most, n, along) {
			down := func(h float64) colour.Lab { return colour.LCh{L: l, C: c, H: h}.Lab() }
			rows := max(1, len(tabs.Steps(r.Reddest, r.Yellowest, pitch, down))-1)
			s.Columns = append(s.Columns, Column{c, tabs.Centres(r.Reddest, r.Yellowest, rows, down)})
		}
		sheets = append(sheets, s)
	}
	return sheets
}

// Natural and Starter compute the built-in libraries.
func Natural() (*tabs.Library, error) { return Library("natural", even(9, 4, 3.4)) }

// Starter computes the coarse library for beginners.
func Starter() (*tabs.Library, error) { return Library("starter", even(6, 2, 6)) }
