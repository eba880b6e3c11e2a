package design

import (
	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// climb walks from a colour of the region to one nearby that lies farther from
// every answer than its surroundings do: by single steps along lightness, chroma
// and hue, first and last so many ΔE00 long. far measures.
func climb(r tabs.Region, from colour.Lab, first, last float64, far func(*place) float64) (peak colour.Lab, height float64) {
	at, p := from.LCh(), newPlace(from)
	peak, height = from, far(&p)
	for step := first; step >= last; {
		moved := false
		u, v := units(at)
		lightness := 1 / (valueOf(at.L+0.5) - valueOf(at.L-0.5))
		for _, d := range [...]colour.LCh{
			{L: lightness}, {L: -lightness}, {C: u}, {C: -u}, {H: v}, {H: -v},
		} {
			x := inside(r, colour.LCh{L: at.L + step*d.L, C: at.C + step*d.C, H: at.H + step*d.H})
			lab := x.Lab()
			q := newPlace(lab)
			if e := far(&q); e > height {
				at, peak, height, moved = x, lab, e, true
			}
		}
		if !moved {
			step /= 2
		}
	}
	return peak, height
}

// inside moves a colour to the region's border if it lies beyond.
func inside(r tabs.Region, x colour.LCh) colour.LCh {
	x.L = min(r.Lightest, max(r.Darkest, x.L))
	least, most := r.ChromaRange(x.L)
	x.C = min(most, max(least, x.C))
	reddest, yellowest := r.HueRange(x.L, x.C)
	x.H = min(yellowest, max(reddest, x.H))
	return x
}
