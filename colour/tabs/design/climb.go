package design

import (
	"math"
	"slices"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// climb walks from a colour of the region to one nearby that lies farther from
// every answer than its surroundings do: by steps along some ways, first and last
// so many ΔE00 long. far measures.
func climb(r tabs.Region, from colour.Lab, first, last float64, along [][3]float64, far func(colour.Lab, *place) float64) (peak colour.Lab, height float64) {
	at, p := from.LCh(), newPlace(from)
	peak, height = from, far(from, &p)
	for step := first; step >= last; {
		moved := false
		u, v := units(at)
		lightness := 1 / (valueOf(at.L+0.5) - valueOf(at.L-0.5))
		for _, d := range along {
			x := inside(r, colour.LCh{L: at.L + step*d[0]*lightness, C: at.C + step*d[1]*u, H: at.H + step*d[2]*v})
			lab := x.Lab()
			q := newPlace(lab)
			if e := far(lab, &q); e > height {
				at, peak, height, moved = x, lab, e, true
			}
		}
		if !moved {
			step /= 2
		}
	}
	return peak, height
}

// The ways of a climb, of length 1: the axes of lightness, chroma and hue, and the
// diagonals between all three. Where the pieces of several answers meet there are
// ridges that lead up along none of the axes.
var axes, waysOut = func() (axes, all [][3]float64) {
	for k := range 6 {
		var way [3]float64
		way[k/2] = 1 - 2*float64(k%2)
		axes = append(axes, way)
	}
	s := 1 / math.Sqrt(3)
	all = slices.Clone(axes)
	for k := range 8 {
		all = append(all, [3]float64{s - 2*s*float64(k&1), s - s*float64(k&2), s - s*float64(k&4)/2})
	}
	return axes, all
}()

// inside moves a colour to the region's border if it lies beyond.
func inside(r tabs.Region, x colour.LCh) colour.LCh {
	x.L = min(r.Lightest, max(r.Darkest, x.L))
	least, most := r.ChromaRange(x.L)
	x.C = min(most, max(least, x.C))
	reddest, yellowest := r.HueRange(x.L, x.C)
	x.H = min(yellowest, max(reddest, x.H))
	return x
}
