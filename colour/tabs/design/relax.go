package design

import (
	"math"
	"math/rand/v2"
	"slices"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// What keeps a sheet readable.
const (
	mostRows      = 5
	columnsApart  = 2.2 // ΔE00 of chroma, well beyond the 1.6 that make one column
	rowsApart     = 4   // degrees of hue
	chromaQuantum = 0.5 // plans move on a lattice of half units of chroma and whole degrees
)

func (st *stage) readable(g int, s Sheet) bool {
	first, last := s.Columns[0], s.Columns[len(s.Columns)-1]
	if first.C < st.least[g] || last.C > st.most[g] {
		return false
	}
	middle := (st.region.Reddest + st.region.Yellowest) / 2
	for i, c := range s.Columns {
		if len(c.H) == 0 || len(c.H) > mostRows {
			return false
		}
		if i > 0 {
			along := chromaAt(s.L, middle)
			if before := s.Columns[i-1].C; c.C <= before || colour.DeltaE00(along(before), along(c.C)) < columnsApart {
				return false
			}
		}
		if c.H[0] < st.region.Reddest || c.H[len(c.H)-1] > st.region.Yellowest {
			return false
		}
		for k := 1; k < len(c.H); k++ {
			if c.H[k]-c.H[k-1] < rowsApart {
				return false
			}
		}
	}
	return true
}

// column lays n tabs in equal ΔE00 steps of hue, each in the middle of its share.
func (st *stage) column(l, c float64, n int) Column {
	col := Column{C: c}
	for _, h := range centres(st.region.Reddest, st.region.Yellowest, n, hueAt(l, c)) {
		col.H = append(col.H, math.Round(h))
	}
	return col
}

// centres divides the path at(from)…at(to) into n parts of equal ΔE00 length and
// returns the middle of each.
func centres(from, to float64, n int, at func(float64) colour.Lab) []float64 {
	p := tabs.NewPath(from, to, at)
	out := make([]float64, n)
	for i := range out {
		out[i] = p.At((float64(i) + 0.5) / float64(n))
	}
	return out
}

// arcs returns the lengths of the hue arc at the given chromas, in ΔE00.
func (st *stage) arcs(l float64, chromas []float64) []float64 {
	out := make([]float64, len(chromas))
	for i, c := range chromas {
		out[i] = tabs.NewPath(st.region.Reddest, st.region.Yellowest, hueAt(l, c)).Length()
	}
	return out
}

// share divides n among shares in proportion to size, one at a time to whoever is
// most in want of one (the divisor method of Sainte-Laguë).
func share(n int, size []float64) []int {
	counts := make([]int, len(size))
	for range n {
		most := 0
		for i := range size {
			if size[i]/(float64(counts[i])+0.5) > size[most]/(float64(counts[most])+0.5) {
				most = i
			}
		}
		counts[most]++
	}
	return counts
}

// margin is what a border adds to a length when tabs are shared out: tabs near it
// answer for less. In ΔE00; found by trial.
const margin = 2.5

// shares divides n tabs among the groups by the area of their planes.
func (st *stage) shares(n int) []int {
	middle := (st.region.Reddest + st.region.Yellowest) / 2
	var areas []float64
	for g, s := range st.sheets {
		along := chromaAt(s.L, middle)
		var across float64
		arcs := st.arcs(s.L, centres(st.least[g], st.most[g], 8, along))
		for _, arc := range arcs {
			across += (arc + margin) / float64(len(arcs))
		}
		areas = append(areas, (tabs.NewPath(st.least[g], st.most[g], along).Length()+margin)*across)
	}
	return share(n, areas)
}

// start lays n tabs of group g over columns in equal ΔE00 steps of chroma.
func (st *stage) start(g, n, columns int) []Column {
	l := st.sheets[g].L
	middle := (st.region.Reddest + st.region.Yellowest) / 2
	chromas := centres(st.least[g], st.most[g], columns, chromaAt(l, middle))
	var out []Column
	for i, rows := range share(n, st.arcs(l, chromas)) {
		if rows > 0 {
			out = append(out, st.column(l, math.Round(chromas[i]/chromaQuantum)*chromaQuantum, rows))
		}
	}
	return out
}

// vary changes a sheet a little: a column or all of them in chroma, a tab or a
// column of them in hue, a column mirrored, or a tab moved to another column.
func (st *stage) vary(s Sheet, rng *rand.Rand) Sheet {
	next := s.clone()
	column := &next.Columns[rng.IntN(len(next.Columns))]
	switch rng.IntN(8) {
	case 0, 1:
		column.C += pick(rng, -2, -1, -0.5, 0.5, 1, 2)
	case 2, 3:
		column.H[rng.IntN(len(column.H))] += pick(rng, -4, -2, -1, 1, 2, 4)
	case 4:
		d := pick(rng, -2, -1, 1, 2)
		for i := range column.H {
			column.H[i] += d
		}
	case 5:
		d := pick(rng, -1, -0.5, 0.5, 1)
		for i := range next.Columns {
			next.Columns[i].C += d
		}
	case 6:
		for i, h := range column.H {
			column.H[i] = st.region.Reddest + st.region.Yellowest - h
		}
		slices.Reverse(column.H)
	case 7:
		other := &next.Columns[rng.IntN(len(next.Columns))]
		if other != column && len(column.H) > 1 {
			*column = st.column(s.L, column.C, len(column.H)-1)
			*other = st.column(s.L, other.C, len(other.H)+1)
		}
	}
	return next
}

func pick(rng *rand.Rand, from ...float64) float64 { return from[rng.IntN(len(from))] }

// relax improves group g by simulated annealing: a change that costs up to heat
// more may be kept at first, none at the end. The best sheet met is set.
func (st *stage) relax(g, steps int, heat float64, rng *rand.Rand, w *answers) {
	o := st.rest(g)
	now := st.sheets[g]
	cost := st.cost(now, o, w)
	best, least := now, cost
	for k := range steps {
		next := st.vary(now, rng)
		if !st.readable(g, next) {
			continue
		}
		c := st.cost(next, o, w)
		if c >= cost+heat*(1-float64(k)/float64(steps))*rng.Float64() {
			continue
		}
		now, cost = next, c
		if cost < least {
			best, least = now, cost
		}
	}
	st.set(g, best.Columns, w)
}
