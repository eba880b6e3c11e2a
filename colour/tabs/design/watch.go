package design

import (
	"cmp"
	"math"
	"slices"

	"shadedrill/colour"
)

// watch knows, of the colours that matter, how far each is from its nearest answer.
// Those are the colours of a grid that lie far from every answer, and the peaks found
// between them. Which ones matter changes with the answers: before an answer goes, the
// colours that would be far from all others are taken in, and so are the peaks that
// come up.
type watch struct {
	*answers
	whole  []colour.Lab // the grid, by lightness and then chroma
	places []place      // the same
	levels []int        // where each lightness of it begins, and its end
	in     []bool       // which of them are watched
	labs   []colour.Lab // the watched colours; those of the grid come first, by lightness
	points []place      // the same
	grid   int          // how many of them are of the grid
	number int          // of the watch: it is begun anew from time to time
	peaks  map[[3]int]bool
	slots  [][]near  // by watched colour: the answers within its reach
	d      []float64 // and its distance to the nearest
	limit  float64   // the largest error of the plan, about which colours get a price
	reach  float64   // ΔE00 beyond which distances are not told apart
	deep   float64   // ΔE00 from which a colour is watched at first
	unseen float64   // ΔE00 up to which a colour may lie that is not watched
	exact  bool      // where a peak lies is asked of the whole formula
	prices
	trial
}

// sure is a factor within which the square of a quick distance surely is right.
const sure = 1.02

// near is a watched colour, or a slot, and how far it is.
type near struct {
	at int32
	d  float64
}

// trial is what a proposal would do to the watched colours.
type trial struct {
	epoch   int
	marked  []int     // by watched colour, the epoch in which it was touched
	without []int     // by slot, the epoch in which it goes
	least   []float64 // by watched colour, the nearest of the answers that come
	touched []int32   // whose answers come or go
	then    []float64 // how far those would be
	local   []place   // the answers about a colour, for a while
	here    []int     // the same as tints
}

// reaching and shallow are how far reach and deep lie from the largest error of the
// plan, ΔE00.
const reaching, shallow = 0.3, 0.3

func newWatch(a *answers, pitch, limit float64) *watch {
	w := &watch{answers: a, whole: a.region.Grid(pitch), limit: limit, reach: limit + reaching, deep: limit - shallow, peaks: map[[3]int]bool{}}
	slices.SortStableFunc(w.whole, func(x, y colour.Lab) int { return cmp.Compare(x.L, y.L) })
	for i, c := range w.whole {
		w.places = append(w.places, newPlace(c))
		if i == 0 || w.places[i].v > w.places[i-1].v+0.01 {
			w.levels = append(w.levels, i)
		}
	}
	w.levels = append(w.levels, len(w.whole))
	w.in = make([]bool, len(w.whole))
	w.without = make([]int, len(a.pairs))
	w.begin(0)
	return w
}

// begin chooses the colours to watch anew; of the peaks known it keeps those beyond a
// distance.
func (w *watch) begin(keep float64) {
	var peaks []colour.Lab
	for i := w.grid; i < len(w.labs); i++ {
		if w.d[i] > keep {
			peaks = append(peaks, w.labs[i])
		}
	}
	w.labs, w.points, w.slots, w.d, w.marked, w.least = w.labs[:0], w.points[:0], w.slots[:0], w.d[:0], w.marked[:0], w.least[:0]
	clear(w.peaks)
	w.number++
	w.unseen = w.deep
	far := w.measureAny()
	for i := range w.places {
		if w.in[i] = far(w.whole[i], &w.places[i]) > w.deep; w.in[i] {
			w.add(w.whole[i])
		}
	}
	w.grid = len(w.labs)
	for s := range w.pairs {
		if p := &w.pairs[s]; p.said() {
			for _, x := range w.near(p.middle) {
				w.slots[x.at] = append(w.slots[x.at], near{int32(s), x.d})
				w.d[x.at] = min(w.d[x.at], x.d)
			}
		}
	}
	for _, c := range peaks {
		w.addPeak(c)
	}
	w.sum()
}

// add watches a colour that has no answer yet.
func (w *watch) add(c colour.Lab) {
	w.labs, w.points = append(w.labs, c), append(w.points, newPlace(c))
	w.slots = append(w.slots, make([]near, 0, 12))
	w.d, w.marked, w.least = append(w.d, w.reach), append(w.marked, 0), append(w.least, 0)
}

// addAnswered adds a colour and finds its answers.
func (w *watch) addAnswered(c colour.Lab) {
	w.add(c)
	i := len(w.labs) - 1
	for s := range w.pairs {
		if p := &w.pairs[s]; p.said() {
			if d, ok := w.within(&w.tints[p.middle], i); ok {
				w.slots[i] = append(w.slots[i], near{int32(s), d})
				w.d[i] = min(w.d[i], d)
			}
		}
	}
}

// addPeak adds a colour that is not known yet, to a sixtieth of a unit.
func (w *watch) addPeak(c colour.Lab) bool {
	key := [3]int{int(60 * c.L), int(60 * c.A), int(60 * c.B)}
	if w.peaks[key] {
		return false
	}
	w.peaks[key] = true
	w.addAnswered(c)
	return true
}

// within is the distance from a tint to a watched colour within reach.
func (w *watch) within(t *tint, i int) (float64, bool) {
	reach2 := w.reach * w.reach * sure
	if t.distance2(&w.points[i], reach2) >= reach2 {
		return 0, false
	}
	d := colour.DeltaE00(t.lab, w.labs[i])
	return d, d < w.reach
}

// near lists the watched colours within reach of a tint.
func (w *watch) near(k int) []near {
	t := &w.tints[k]
	if t.watch != w.number {
		t.watch, t.near, t.seen = w.number, t.near[:0], 0
	}
	try := func(i int) {
		if d, ok := w.within(t, i); ok {
			t.near = append(t.near, near{int32(i), d})
		}
	}
	if t.seen == 0 {
		from, _ := slices.BinarySearchFunc(w.points[:w.grid], t.v-w.reach, func(p place, v float64) int { return cmp.Compare(p.v, v) })
		for i := from; i < w.grid && w.points[i].v < t.v+w.reach; i++ {
			try(i)
		}
		t.seen = w.grid
	}
	for ; t.seen < len(w.points); t.seen++ {
		try(t.seen)
	}
	return t.near
}

// worst is the largest distance.
func (w *watch) worst() float64 { return slices.Max(w.d) }

// measureAny returns a function that measures any colour.
func (w *watch) measureAny() func(colour.Lab, *place) float64 {
	var all []said
	for s := range w.pairs {
		if p := &w.pairs[s]; p.said() {
			all = append(all, said{place: w.tints[p.middle].place})
		}
	}
	slices.SortStableFunc(all, func(p, q said) int { return cmp.Compare(p.v, q.v) })
	return func(_ colour.Lab, p *place) float64 { return math.Sqrt(nearest2(p, all)) }
}

// try measures a proposal: how the sum of prices would change.
func (w *watch) try() (change float64) {
	w.epoch++
	w.touched, w.then = w.touched[:0], w.then[:0]
	touch := func(i int32, d float64) {
		if w.marked[i] != w.epoch {
			w.marked[i], w.least[i] = w.epoch, d
			w.touched = append(w.touched, i)
		}
		w.least[i] = min(w.least[i], d)
	}
	for _, c := range w.come {
		for _, x := range w.near(c.tint) {
			touch(x.at, x.d)
		}
	}
	for _, c := range w.gone {
		w.without[c.slot] = w.epoch
		for _, x := range w.near(c.tint) {
			touch(x.at, w.reach)
		}
	}
	for _, i := range w.touched {
		d := w.least[i]
		for _, s := range w.slots[i] {
			if s.d < d && w.without[s.at] != w.epoch {
				d = s.d
			}
		}
		w.then = append(w.then, d)
		if d != w.d[i] {
			change += w.price(d) - w.price(w.d[i])
		}
	}
	return change
}

// keep makes a proposal that was tried true.
func (w *watch) keep(k, to int, change float64) {
	for _, c := range w.gone {
		for _, x := range w.near(c.tint) {
			list := w.slots[x.at]
			at := slices.IndexFunc(list, func(n near) bool { return int(n.at) == c.slot })
			list[at] = list[len(list)-1]
			w.slots[x.at] = list[:len(list)-1]
		}
	}
	for _, c := range w.come {
		for _, x := range w.near(c.tint) {
			w.slots[x.at] = append(w.slots[x.at], near{int32(c.slot), x.d})
		}
	}
	for n, i := range w.touched {
		w.d[i] = w.then[n]
	}
	w.adopt(k, to)
	w.total += change
}

// bringIn takes in the colours of the grid that a proposal would leave farther than
// so much from every answer.
func (w *watch) bringIn(from float64) (added bool) {
	w.unseen = max(w.unseen, from)
	within := w.unseen
	for _, c := range w.gone {
		gone := &w.tints[c.tint].place
		w.local = w.local[:0]
		for n, first := range w.levels[:len(w.levels)-1] {
			dv := w.places[first].v - gone.v
			if math.Abs(dv) >= within {
				continue
			}
			level := w.places[first:w.levels[n+1]]
			room := math.Sqrt(within*within-dv*dv) * (1.03 + 0.045*gone.chroma)
			at, _ := slices.BinarySearchFunc(level, gone.chroma-room, func(p place, c float64) int { return cmp.Compare(p.chroma, c) })
			for i := first + at; i < w.levels[n+1] && w.places[i].chroma < gone.chroma+room; i++ {
				p := &w.places[i]
				if w.in[i] || p.distance2(gone, within*within) >= within*within {
					continue
				}
				if len(w.local) == 0 {
					w.local = w.around(gone)
				}
				if !answered(p, w.local, from) {
					w.in[i], added = true, true
					w.addAnswered(w.whole[i])
					w.total += w.price(w.d[len(w.d)-1])
				}
			}
		}
	}
	return added
}

// around lists the answers that a proposal leaves near a place, and those that come.
func (w *watch) around(p *place) []place {
	list := w.local[:0]
	for s := range w.pairs {
		if x := &w.pairs[s]; x.said() && w.without[s] != w.epoch && math.Abs(w.tints[x.middle].v-p.v) < 2*w.reach {
			list = append(list, w.tints[x.middle].place)
		}
	}
	for _, c := range w.come {
		list = append(list, w.tints[c.tint].place)
	}
	return list
}

// answered says whether an answer lies within a distance. The one found goes to the
// front, since it will be the one for the next colour too.
func answered(p *place, by []place, within float64) bool {
	for k := range by {
		if p.distance2(&by[k], within*within) < within*within {
			by[0], by[k] = by[k], by[0]
			return true
		}
	}
	return false
}
