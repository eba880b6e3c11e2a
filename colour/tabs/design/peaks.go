package design

import (
	"math"

	"shadedrill/colour"
)

// Steps of a climb, ΔE00: first with the quick distance, then with the whole formula. A
// peak is where several answers are equally far, and its sides are steep, so where it
// lies must be known as well as how high it is.
const climbFirst, climbLast, exactLast = 0.12, 0.007, 0.0008

// climbFrom climbs from the colours that the proposal tried leaves farther from their
// answers than they were, and takes in the peaks that lie beyond a distance.
func (w *watch) climbFrom(from float64) (added bool) {
	var starts []int32
	for n, i := range w.touched {
		if d := w.then[n]; d > from-look && d > w.d[i]+1e-6 {
			starts = append(starts, i)
			w.least[i] = d
		}
	}
	for _, i := range w.tops(starts, w.least) {
		w.here = w.here[:0]
		for _, s := range w.slots[i] {
			if w.without[s.at] != w.epoch {
				w.here = append(w.here, w.pairs[s.at].middle)
			}
		}
		for _, c := range w.come {
			w.here = append(w.here, c.tint)
		}
		peak, d := climb(w.region, w.labs[i], climbFirst, climbLast, waysOut, func(_ colour.Lab, p *place) float64 {
			best := w.reach * w.reach
			for _, k := range w.here {
				best = min(best, p.distance2(&w.tints[k].place, best))
			}
			return math.Sqrt(best)
		})
		const nearly = 0.01 // the quick distance is righter than that
		if d < from-nearly {
			continue
		}
		if w.exact {
			peak, d = w.climbOn(peak)
		}
		if d > from && d > w.least[i]+0.002 && w.addPeak(peak) {
			w.total += w.price(w.d[len(w.d)-1])
			added = true
		}
	}
	return added
}

// climbOn ends a climb by the whole formula, by the answers that are here.
func (w *watch) climbOn(from colour.Lab) (peak colour.Lab, d float64) {
	return climb(w.region, from, climbLast, exactLast, waysOut, func(c colour.Lab, p *place) float64 {
		best := w.reach
		for _, k := range w.here {
			if p.distance2(&w.tints[k].place, best*best) < best*best*sure {
				best = min(best, colour.DeltaE00(c, w.tints[k].lab))
			}
		}
		return best
	})
}

// climbAll climbs from all colours that are far from their answers, and takes the peaks
// in.
func (w *watch) climbAll() {
	const from, kept = 0.25, 0.1 // ΔE00 below the worst
	limit := w.worst()
	var starts []int32
	for i, d := range w.d {
		if d > limit-from {
			starts = append(starts, int32(i))
		}
	}
	far := w.measureAny()
	for _, i := range w.tops(starts, w.d) {
		peak, d := climb(w.region, w.labs[i], climbFirst, climbLast, waysOut, far)
		if d < limit-kept {
			continue
		}
		w.here = w.here[:0]
		p := newPlace(peak)
		for s := range w.pairs {
			if x := &w.pairs[s]; x.said() && p.distance2(&w.tints[x.middle].place, w.reach*w.reach) < w.reach*w.reach {
				w.here = append(w.here, x.middle)
			}
		}
		peak, _ = w.climbOn(peak)
		w.addPeak(peak)
	}
	w.sum()
}

func (w *watch) tops(of []int32, d []float64) []int32 {
	return tops(of, func(i int32) float64 { return d[i] }, func(i int32) *place { return &w.points[i] })
}
