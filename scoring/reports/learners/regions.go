package learners

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// Regions are cells of lightness and chroma, as wide as a learner can name:
// about two value groups by one or two chroma columns. The edges lie between
// cells; the first and the last cell are open.
var (
	lightnessEdges = []float64{65, 72, 79, 86}
	chromaEdges    = []float64{10, 16, 22}
)

const (
	leastInRegion = 6 // answers that a median's interval needs at 95 %
	mostRegions   = 8 // listed
)

// regionSection says where the errors are largest.
func regionSection(kinds []*history.Kind) report.Section {
	t := &report.Table{None: fmt.Sprintf("no region with %d answers yet", leastInRegion), Columns: []report.Column{
		{Key: "lightness", Title: "lightness L*", Left: true}, {Key: "chroma", Title: "chroma C*", Left: true},
		{Key: "answers", Title: "answers"},
		{Key: "median_dE00", Title: "median ΔE00", Estimates: true},
		{Key: "bias", Title: "bias", Left: true},
	}}
	type cell struct {
		l, c   int
		judged []history.Judged
	}
	across := len(chromaEdges) + 1
	cells := make([]cell, (len(lightnessEdges)+1)*across)
	for i := range cells {
		cells[i].l, cells[i].c = i/across, i%across
	}
	for _, k := range kinds {
		for _, s := range k.Sittings {
			for _, j := range s.Judged {
				target := j.Target.Lab()
				l, c := bin(lightnessEdges, target.L), bin(chromaEdges, target.Chroma())
				at := &cells[l*across+c]
				at.judged = append(at.judged, j)
			}
		}
	}
	type found struct {
		row    []report.Cell
		median float64
	}
	var list []found
	map_ := newRegionMap()
	for _, at := range cells {
		if len(at.judged) < leastInRegion {
			continue
		}
		e := trend.Median(history.Column(at.judged, history.Size), history.Level)
		map_.set(at.l, at.c, e.Value)
		biases := history.BiasOf([][]history.Judged{at.judged}).Estimates
		words, largest := history.BiasWords(biases, nil), 0.0
		for i, b := range biases {
			a := history.Axes[i]
			if w := history.BiasWord(b, a.Above, a.Below); w != "" && math.Abs(b.Value) > largest {
				words, largest = w, math.Abs(b.Value)
			}
		}
		list = append(list, found{[]report.Cell{
			report.Text(span(lightnessEdges, at.l)), report.Text(span(chromaEdges, at.c)), report.Count(len(at.judged)),
			report.Estimate(e), report.Text(words),
		}, e.Value})
	}
	slices.SortStableFunc(list, func(a, b found) int { return cmp.Compare(b.median, a.median) })
	for _, f := range list[:min(len(list), mostRegions)] {
		t.Rows = append(t.Rows, f.row)
	}
	s := report.Section{Key: "regions", Title: "Where they are largest", Table: t, Notes: []string{
		fmt.Sprintf("Regions of the target's colour with at least %d answers, the largest errors first; the strongest bias there.", leastInRegion),
	}}
	if len(list) > 0 {
		s.Plots = []report.Plot{map_.plot()}
	}
	return s
}

// bin returns the cell of v: how many edges lie at or below it.
func bin(edges []float64, v float64) int {
	i := 0
	for i < len(edges) && v >= edges[i] {
		i++
	}
	return i
}

func span(edges []float64, i int) string {
	switch i {
	case 0:
		return fmt.Sprintf("under %g", edges[0])
	case len(edges):
		return fmt.Sprintf("%g and more", edges[i-1])
	}
	return fmt.Sprintf("%g to %g", edges[i-1], edges[i])
}

// regionMap is the heat map of medians, lightest row first.
type regionMap struct{ report.Matrix }

func newRegionMap() *regionMap {
	m := &regionMap{report.Matrix{RowTitle: "lightness L*", ColumnTitle: "chroma C*", Decimals: 1}}
	for i := len(lightnessEdges); i >= 0; i-- {
		m.Rows = append(m.Rows, span(lightnessEdges, i))
		row := make([]float64, len(chromaEdges)+1)
		for c := range row {
			row[c] = math.NaN()
		}
		m.Values = append(m.Values, row)
	}
	for i := range len(chromaEdges) + 1 {
		m.Columns = append(m.Columns, span(chromaEdges, i))
	}
	return m
}

func (m *regionMap) set(l, c int, v float64) { m.Values[len(lightnessEdges)-l][c] = v }

func (m *regionMap) plot() report.Plot {
	return report.Plot{Key: "regions", Title: "Median ΔE00 by the target's colour", Matrix: &m.Matrix}
}
