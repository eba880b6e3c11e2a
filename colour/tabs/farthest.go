package tabs

import (
	"container/heap"
	"slices"

	"shadedrill/colour"
)

// Farthest finds the colour of the region that lies farthest, in ΔE00, from its
// best answer, in-betweens included: e is at most tolerance below the largest
// error anywhere in the region.
func (s *Sheet) Farthest(r Region, tolerance float64) (worst colour.Lab, e float64) {
	return r.farthest(tolerance, func(c colour.Lab) float64 { return s.Best(c).E })
}

// farthest finds the colour at which far is largest, by branch and bound; far is the
// ΔE00 to the nearest of some colours.
//
// A box of lightness, chroma and hue angle can hold no colour farther off than
// its centre is, by more than the ΔE00 from the centre to its farthest point. That
// is the triangle inequality, which ΔE00 obeys only nearly; over the small
// distances that boxes measure in the end, a margin of 3 % covers it, and also that
// the farthest point is sought at corners and in the middles of edges and faces,
// where the bounds of hue may bend in between.
func (r Region) farthest(tolerance float64, far func(colour.Lab) float64) (worst colour.Lab, e float64) {
	open := r.boxes(far)
	for _, b := range *open {
		if b.e > e {
			worst, e = b.colour(r, 0.5, 0.5, 0.5), b.e
		}
	}
	for open.Len() > 0 {
		b := heap.Pop(open).(box)
		if b.bound <= e+tolerance {
			break
		}
		for _, half := range b.halves(r) {
			r.judge(&half, far)
			if half.e > e {
				worst, e = half.colour(r, 0.5, 0.5, 0.5), half.e
			}
			if half.bound > e+tolerance {
				heap.Push(open, half)
			}
		}
	}
	return worst, e
}

// boxes cuts a region where its outline has corners, so that inside a box the
// outline is straight.
func (r Region) boxes(far func(colour.Lab) float64) *boxes {
	cuts := []float64{0, 1}
	for _, o := range []outline{r.least, r.most, r.green, r.red} {
		for _, k := range o {
			if share := (k.l - r.Darkest) / (r.Lightest - r.Darkest); share > 0 && share < 1 {
				cuts = append(cuts, share)
			}
		}
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	open := &boxes{}
	for i := range len(cuts) - 1 {
		b := box{from: [3]float64{cuts[i], 0, 0}, to: [3]float64{cuts[i+1], 1, 1}}
		r.judge(&b, far)
		heap.Push(open, b)
	}
	return open
}

// judge measures a box.
func (r Region) judge(b *box, far func(colour.Lab) float64) {
	centre := b.colour(r, 0.5, 0.5, 0.5)
	var radius float64
	for p := range 27 { // corners, and the middles of edges and faces
		c := b.colour(r, float64(p%3)/2, float64(p/3%3)/2, float64(p/9)/2)
		radius = max(radius, colour.DeltaE00(centre, c))
	}
	b.e = far(centre)
	b.bound = b.e + triangleMargin*radius
}

const triangleMargin = 1.03

// box is a part of a region, in shares of its range of lightness, of the range of
// chroma at that lightness, and of the range of hue angle at both.
type box struct {
	from, to [3]float64
	e, bound float64 // of the centre; no colour inside is farther off than bound
}

// colour returns the colour at shares x, y, z of the box's own sides.
func (b box) colour(r Region, x, y, z float64) colour.Lab {
	at := func(axis int, share float64) float64 { return b.from[axis] + share*(b.to[axis]-b.from[axis]) }
	l := r.Darkest + at(0, x)*(r.Lightest-r.Darkest)
	least, most := r.ChromaRange(l)
	c := least + at(1, y)*(most-least)
	reddest, yellowest := r.HueRange(l, c)
	return colour.LCh{L: l, C: c, H: reddest + at(2, z)*(yellowest-reddest)}.Lab()
}

// halves cuts the box across its longest side.
func (b box) halves(r Region) [2]box {
	longest, length := 0, -1.0
	for axis := range 3 {
		from, to := [3]float64{0.5, 0.5, 0.5}, [3]float64{0.5, 0.5, 0.5}
		from[axis], to[axis] = 0, 1
		if e := colour.DeltaE00(b.colour(r, from[0], from[1], from[2]), b.colour(r, to[0], to[1], to[2])); e > length {
			longest, length = axis, e
		}
	}
	low, high := b, b
	middle := (b.from[longest] + b.to[longest]) / 2
	low.to[longest], high.from[longest] = middle, middle
	return [2]box{low, high}
}

// boxes is a heap with the largest bound first.
type boxes []box

func (h boxes) Len() int           { return len(h) }
func (h boxes) Less(i, j int) bool { return h[i].bound > h[j].bound }
func (h boxes) Swap(i, j int)      { h[i], h[j] = h[j], h[i] }
func (h *boxes) Push(x any)        { *h = append(*h, x.(box)) }
func (h *boxes) Pop() any {
	old := *h
	b := old[len(old)-1]
	*h = old[:len(old)-1]
	return b
}
