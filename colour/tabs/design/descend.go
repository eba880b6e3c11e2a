package design

import (
	"math"
	"math/rand/v2"
	"slices"

	"shadedrill/colour"
)

// A descent moves all tabs at once so that the worst-answered colours come
// nearer to an answer. What it lowers is the soft maximum τ·log Σ exp(d/τ) of the
// colours' distances d; τ falls from a width at which many colours pull to one at
// which only the worst do. The colours are those of a grid and the peaks between
// them, looked for anew every few steps: a plan is judged by the largest error
// anywhere and not by that of the grid. Each colour pulls at its nearest answer,
// through an in-between at both its tabs by half, and at the lightness of their
// groups. Steps are those of Adam (D. P. Kingma and J. Ba, International
// Conference on Learning Representations 2015, algorithm 1), with decay rates and
// an ε suited to the few colours that pull late.
type descent struct {
	steps               int
	wide, narrow        float64 // τ at first and last, ΔE00
	stepFirst, stepLast float64 // ΔE00
}

// hopDescent is the one after a hop; its numbers were found by trial.
var hopDescent = descent{steps: 400, wide: 0.06, narrow: 0.01, stepFirst: 0.012, stepLast: 0.001}

const (
	meanKept  = 0.8  // of the running mean, from step to step
	powerKept = 0.95 // of the running mean square
	epsilon   = 0.03 // of the largest gradient
	relink    = 10   // steps between two looks at which tabs are neighbours and where the peaks are
	hardest   = 0.3  // ΔE00 below the worst colour down to which colours pull, or ten widths τ where that is less
	littlest  = 1e-4 // weight below which a colour does not pull
)

// drive is the gradient along one axis, per ΔE00, its running mean and mean square.
type drive struct{ pull, mean, power float64 }

// step takes the gradient in, relative to the largest, and returns how far to go.
func (d *drive) step(largest, length float64) float64 {
	pull := d.pull / largest
	d.mean = meanKept*d.mean + (1-meanKept)*pull
	d.power = powerKept*d.power + (1-powerKept)*pull*pull
	return -length * d.mean / (math.Sqrt(d.power) + epsilon)
}

// descend leaves the field at the best plan met and returns its largest error.
func (f *field) descend(d descent) float64 {
	for k := range f.dots {
		f.dots[k].drive = [3]drive{}
	}
	clear(f.groups)
	var best []dot
	least := math.Inf(1)
	for step := range d.steps {
		t := float64(step) / float64(d.steps)
		tau := d.wide * math.Pow(d.narrow/d.wide, t)
		if step%relink == 0 {
			f.width = min(hardest, 10*tau)
			f.link()
			worst := f.measure()
			if worst < least {
				least, best = worst, slices.Clone(f.dots)
			}
		}
		f.step(tau, d.stepFirst*math.Pow(d.stepLast/d.stepFirst, t))
	}
	return f.back(best)
}

// back restores a plan.
func (f *field) back(dots []dot) float64 {
	f.dots = dots
	f.link()
	return f.measure()
}

func (f *field) step(tau, length float64) {
	worst := 0.0
	nearest := make([]int32, len(f.hard))
	for n := range f.hard {
		h := &f.hard[n]
		best := float64(unreached * unreached)
		nearest[n] = -1
		for _, k := range h.reach {
			if d := h.distance2(&f.answers[k].place, best); d < best {
				best, nearest[n] = d, k
			}
		}
		h.d = math.Sqrt(best)
		if nearest[n] >= 0 { // else all its answers have moved out of reach
			worst = max(worst, h.d)
		}
	}
	for k := range f.dots {
		for axis := range 3 {
			f.dots[k].drive[axis].pull = 0
		}
	}
	for g := range f.groups {
		f.groups[g].pull = 0
	}
	for n, k := range nearest {
		h := &f.hard[n]
		weight := math.Exp((h.d - worst) / tau)
		if k < 0 || weight < littlest {
			continue
		}
		a := &f.answers[k]
		dC, dH := h.plane(&a.place)
		for axis, slope := range [3]float64{a.v - h.v, dC, dH} { // how the distance grows, times itself
			slope *= weight / h.d
			if axis == 0 {
				f.groups[f.dots[a.i].group].pull += slope
			}
			if a.j < 0 {
				f.dots[a.i].drive[axis].pull += slope
			} else {
				f.dots[a.i].drive[axis].pull += slope / 2
				f.dots[a.j].drive[axis].pull += slope / 2
			}
		}
	}
	largest, heaviest := 0.0, 0.0
	for _, d := range f.dots {
		for _, a := range d.drive {
			largest = max(largest, math.Abs(a.pull))
		}
	}
	for _, g := range f.groups {
		heaviest = max(heaviest, math.Abs(g.pull))
	}
	if largest == 0 {
		return
	}
	lifts := make([]float64, len(f.groups))
	if heaviest > 0 {
		for g := range f.groups {
			lifts[g] = groupStep * f.groups[g].step(heaviest, length)
		}
	}
	for k := range f.dots {
		d := &f.dots[k]
		lift := lifts[d.group]
		d.v += lift
		var by [3]float64
		for axis := range by {
			by[axis] = d.drive[axis].step(largest, length)
		}
		by[0] += lift
		f.shift(k, by)
	}
	f.follow()
}

// groupStep is how far a group's lightness goes at a time, of what a tab goes.
const groupStep = 0.3

const (
	hopReach = 6.0  // ΔE00 around the centre of a hop
	moving   = 0.25 // share of hops that take a tab to another place
	strayTab = 0.5  // share of the others that go a tab drawn at random, not around the worst colour
)

// hop displaces the tabs around one colour at random and descends anew; the plan
// is kept when its worst colour is better off.
func (f *field) hop(now float64, rng *rand.Rand) float64 {
	old := slices.Clone(f.dots)
	worst := f.hard[0]
	for _, h := range f.hard {
		if h.d > worst.d {
			worst = h
		}
	}
	if rng.Float64() < moving {
		f.move(rng.IntN(len(f.dots)), worst.lab)
	} else {
		centre := f.dots[rng.IntN(len(f.dots))].lab
		if rng.Float64() > strayTab {
			centre = worst.lab
		}
		spread := pick(rng, 0.3, 0.6, 1)
		for k, d := range f.dots {
			if colour.DeltaE00(d.lab, centre) <= hopReach {
				f.shift(k, [3]float64{0, spread * rng.NormFloat64(), spread * rng.NormFloat64()})
			}
		}
	}
	if next := f.descend(hopDescent); next < now {
		return next
	}
	return f.back(old)
}

// move takes a tab away and puts it where one is wanted, in the group nearest in
// lightness.
func (f *field) move(k int, to colour.Lab) {
	d := &f.dots[k]
	v := valueOf(to.L)
	for _, other := range f.dots {
		if math.Abs(other.v-v) < math.Abs(d.v-v) {
			d.group, d.v = other.group, other.v
		}
	}
	d.at = inside(f.region, to.LCh())
	f.shift(k, [3]float64{})
}

func pick(rng *rand.Rand, from ...float64) float64 { return from[rng.IntN(len(from))] }
