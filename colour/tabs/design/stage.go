package design

import (
	"math"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// stage is the region filled with colours to be answered for, and the plan that
// answers. It keeps each group's distances, so that changing one group costs that
// group's distances only.
type stage struct {
	region      tabs.Region
	wanted      float64 // the largest error to allow, ΔE00
	step        float64 // between groups, ΔE00
	sheets      []Sheet
	least, most []float64 // the chroma that each group's share of the region spans
	levels      []level
	near        [][]int // for each group, the levels up to one step away
	watched     level   // single colours that were found far from any answer
}

// level is a set of colours, mostly a plane of the region at one lightness, with
// each group's squared distances to them.
type level struct {
	weight         float64 // of one colour in the means
	colours        []place
	alone, between [][]float64 // [group][colour]
}

// newStage sets groups at equal ΔE00 steps, the first and last a share end of a
// step from the region's lightest and darkest colour, and fills the region with
// colours at the given pitch in the plane and a quarter step in lightness.
func newStage(region tabs.Region, groups int, end, pitch, wanted float64) *stage {
	path := tabs.NewPath(region.Lightest, region.Darkest, lightness)
	whole := path.Length()
	step := whole / (float64(groups-1) + 2*end)
	lightnessAt := func(v float64) float64 {
		return path.At(min(1, max(0, v/whole)))
	}
	st := &stage{region: region, step: step, wanted: wanted, near: make([][]int, groups)}
	at := make([]float64, groups)
	for g := range groups {
		at[g] = (end + float64(g)) * step
		st.sheets = append(st.sheets, Sheet{L: lightnessAt(at[g])})
		least, most := math.Inf(1), 0.0
		for _, d := range []float64{-0.5, 0, 0.5} {
			a, b := region.ChromaRange(lightnessAt(at[g] + d*step))
			least, most = min(least, a), max(most, b)
		}
		st.least, st.most = append(st.least, least), append(st.most, most)
	}
	cuts := []float64{0, at[0] / 2}
	for q := range 4*(groups-1) + 1 {
		cuts = append(cuts, at[0]+float64(q)/4*step)
	}
	cuts = append(cuts, (at[groups-1]+whole)/2, whole)
	for k, v := range cuts {
		plane := region
		plane.Lightest = lightnessAt(v)
		plane.Darkest = plane.Lightest
		before, after := cuts[max(0, k-1)], cuts[min(k+1, len(cuts)-1)]
		l := newLevel(groups, plane.Grid(pitch))
		l.weight = (after - before) / 2
		st.levels = append(st.levels, l)
		for g := range groups {
			if math.Abs(v-at[g]) <= 1.001*step {
				st.near[g] = append(st.near[g], k)
			}
		}
	}
	st.watched = newLevel(groups, nil)
	return st
}

func newLevel(groups int, colours []colour.Lab) level {
	var l level
	for _, c := range colours {
		l.colours = append(l.colours, newPlace(c))
	}
	for range groups {
		far := make([]float64, len(colours))
		for i := range far {
			far[i] = math.Inf(1)
		}
		l.alone = append(l.alone, far)
		l.between = append(l.between, append([]float64(nil), far...))
	}
	return l
}

// set puts a sheet on the stage as group g.
func (st *stage) set(g int, columns []Column, w *answers) {
	st.sheets[g].Columns = columns
	w.fill(st.sheets[g])
	for _, k := range st.near[g] {
		st.levels[k].settle(g, w)
	}
	st.watched.settle(g, w)
}

func (l *level) settle(g int, w *answers) {
	for i := range l.colours {
		l.alone[g][i], l.between[g][i] = w.distances2(&l.colours[i], math.Inf(1), math.Inf(1))
	}
}

// watch adds colours that every change must keep near an answer.
func (st *stage) watch(colours []colour.Lab, w *answers) {
	more := newLevel(len(st.sheets), colours)
	st.watched.colours = append(st.watched.colours, more.colours...)
	for g := range st.sheets {
		st.watched.alone[g] = append(st.watched.alone[g], more.alone[g]...)
		st.watched.between[g] = append(st.watched.between[g], more.between[g]...)
		w.fill(st.sheets[g])
		st.watched.settle(g, w)
	}
}

// rest is what the other groups do for the colours near one group.
type rest struct {
	weight         float64
	colours        []place
	alone, between []float64 // squared distances to the nearest answers
}

func (st *stage) rest(g int) []rest {
	var out []rest
	for _, k := range st.near[g] {
		out = append(out, st.levels[k].without(g, math.Inf(1), 0))
	}
	return append(out, st.watched.without(g, st.step, valueOf(st.sheets[g].L)))
}

// without leaves out group g, and colours farther than reach from the lightness v.
func (l *level) without(g int, reach, v float64) rest {
	r := rest{weight: l.weight}
	for i, c := range l.colours {
		if math.Abs(c.v-v) > reach {
			continue
		}
		alone, between := math.Inf(1), math.Inf(1)
		for other := range l.alone {
			if other != g {
				alone, between = min(alone, l.alone[other][i]), min(between, l.between[other][i])
			}
		}
		r.colours = append(r.colours, c)
		r.alone, r.between = append(r.alone, alone), append(r.between, between)
	}
	return r
}

// The cost of a plan is the mean error of tabs alone and, less, with in-betweens;
// far above both, any error beyond what is wanted, counted from a little before.
const (
	weightAlone   = 3
	weightBetween = 0.3
	weightExcess  = 1000
	weightWatched = 0.7
	weightWorst   = 3
	before        = 0.05
)

// cost judges a sheet for a group among the others.
func (st *stage) cost(s Sheet, others []rest, w *answers) float64 {
	w.fill(s)
	var alone, between, excess, watched, worst, weight float64
	for k := range others {
		r := &others[k]
		for i := range r.colours {
			a2, b2 := w.distances2(&r.colours[i], r.alone[i], r.between[i])
			b := math.Sqrt(b2)
			worst = max(worst, b)
			over := max(0, b-st.wanted+before)
			if r.weight == 0 {
				watched += over * over
				continue
			}
			alone += r.weight * math.Sqrt(a2)
			between += r.weight * b
			excess += r.weight * over * over
			weight += r.weight
		}
	}
	return (weightAlone*alone+weightBetween*between+weightExcess*excess)/weight +
		weightWatched*watched + weightWorst*max(0, worst-st.wanted)
}
