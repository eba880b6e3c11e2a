package design

import (
	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// start lays a plan: groups at equal ΔE00 steps of lightness, the first and the
// last a share end of a step from the region's lightest and darkest colour; tabs
// shared out among them by the area of their planes; in a group a few columns in
// equal ΔE00 steps of chroma, and in a column rows in equal steps of hue.
func start(r tabs.Region, b Brief) []dot {
	whole := valueOf(r.Lightest) - valueOf(r.Darkest)
	step := whole / (float64(b.Groups-1) + 2*b.End)
	var lights, areas []float64
	for g := range b.Groups {
		l := lightnessOf(valueOf(r.Lightest) - (b.End+float64(g))*step)
		least, most := r.ChromaRange(l)
		across := 0.0
		const cuts = 8
		for _, c := range centres(least, most, cuts, chromaAt(r, l)) {
			across += (arc(r, l, c) + margin) / cuts
		}
		lights = append(lights, l)
		areas = append(areas, (tabs.NewPath(least, most, chromaAt(r, l)).Length()+margin)*across)
	}
	var dots []dot
	counts := share(b.Tabs, areas)
	if b.Lender > 0 {
		counts[b.Lender]--
		counts[0]++
	}
	for g, n := range counts {
		l := lights[g]
		least, most := r.ChromaRange(l)
		columns := min(b.Columns, (n+1)/2)
		chromas := centres(least, most, columns, chromaAt(r, l))
		var arcs []float64
		for _, c := range chromas {
			arcs = append(arcs, arc(r, l, c))
		}
		for i, rows := range share(n, arcs) {
			if rows == 0 {
				continue
			}
			reddest, yellowest := r.HueRange(l, chromas[i])
			for _, h := range centres(reddest, yellowest, rows, hueAt(l, chromas[i])) {
				dots = append(dots, dot{group: g, v: valueOf(l), at: colour.LCh{L: l, C: chromas[i], H: h}})
			}
		}
	}
	return dots
}

// margin is what a border adds to a length when tabs are shared out: tabs near it
// answer for less. In ΔE00; found by trial.
const margin = 2.5

// arc is the length of the region's hues at a lightness and chroma, in ΔE00.
func arc(r tabs.Region, l, c float64) float64 {
	reddest, yellowest := r.HueRange(l, c)
	return tabs.NewPath(reddest, yellowest, hueAt(l, c)).Length()
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
