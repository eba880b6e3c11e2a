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
// which only the worst do. Each colour pulls at its nearest answer, and through an
// in-between at both its tabs by half. Steps are those of Adam (D. P. Kingma and
// J. Ba, International Conference on Learning Representations 2015, algorithm 1),
// with decay rates and an ε suited to the few colours that pull late.
type descent struct {
	steps               int
	wide, narrow        float64 // τ at first and last, ΔE00
	stepFirst, stepLast float64 // ΔE00
}

// Numbers of the descents; found by trial.
var (
	firstDescent = descent{steps: 2500, wide: 0.3, narrow: 0.02, stepFirst: 0.02, stepLast: 0.001}
	hopDescent   = descent{steps: 400, wide: 0.06, narrow: 0.01, stepFirst: 0.01, stepLast: 0.001}
)

const (
	meanKept  = 0.8  // of the running mean, from step to step
	powerKept = 0.95 // of the running mean square
	epsilon   = 0.03 // of the largest gradient
	relink    = 10   // steps between two looks at which tabs are neighbours
	littlest  = 1e-4 // weight below which a colour does not pull
)

// descend leaves the field at the best plan met and returns its largest error.
func (f *field) descend(d descent) float64 {
	for k := range f.dots {
		f.dots[k].mean, f.dots[k].power = [2]float64{}, [2]float64{}
	}
	var best []dot
	least := math.Inf(1)
	for step := range d.steps {
		if step%relink == 0 {
			f.link()
			if worst := f.measure(); worst < least {
				least, best = worst, slices.Clone(f.dots)
			}
		}
		t := float64(step) / float64(d.steps)
		f.step(d.wide*math.Pow(d.narrow/d.wide, t), d.stepFirst*math.Pow(d.stepLast/d.stepFirst, t))
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
	type pulled struct {
		colour, answer int
		d              float64
	}
	var hard []pulled
	worst := 0.0
	for _, i := range f.hard {
		p := pulled{i, -1, 0}
		best := math.Inf(1)
		for _, k := range f.reach[i] {
			if d := f.colours[i].distance2(&f.answers[k].place, best); d < best {
				best, p.answer = d, int(k)
			}
		}
		if p.answer >= 0 { // else all its answers have moved out of reach
			p.d = math.Sqrt(best)
			worst = max(worst, p.d)
			hard = append(hard, p)
		}
	}
	for k := range f.dots {
		f.dots[k].pull = [2]float64{}
	}
	for _, p := range hard {
		weight := math.Exp((p.d - worst) / tau)
		if weight < littlest {
			continue
		}
		a := &f.answers[p.answer]
		slope := slopes(&f.colours[p.colour], a)
		for axis, s := range slope {
			if a.j < 0 {
				f.dots[a.i].pull[axis] += weight * s
			} else {
				f.dots[a.i].pull[axis] += weight * s / 2
				f.dots[a.j].pull[axis] += weight * s / 2
			}
		}
	}
	largest := 0.0
	for _, d := range f.dots {
		largest = max(largest, math.Abs(d.pull[0]), math.Abs(d.pull[1]))
	}
	if largest == 0 {
		return
	}
	for k := range f.dots {
		d := &f.dots[k]
		var by [2]float64
		for axis, pull := range d.pull {
			pull /= largest
			d.mean[axis] = meanKept*d.mean[axis] + (1-meanKept)*pull
			d.power[axis] = powerKept*d.power[axis] + (1-powerKept)*pull*pull
			by[axis] = -length * d.mean[axis] / (math.Sqrt(d.power[axis]) + epsilon)
		}
		f.shift(k, by)
	}
	f.follow()
}

// slopes returns by how much the distance grows when the answer moves by a ΔE00
// along chroma and hue, by central differences.
func slopes(p *place, a *said) (out [2]float64) {
	const by = 0.02
	at := a.lab.LCh()
	u := units(at, a.t)
	for axis := range out {
		more, less := at, at
		if axis == 0 {
			more.C, less.C = at.C+by*u[0], at.C-by*u[0]
		} else {
			more.H, less.H = at.H+by*u[1], at.H-by*u[1]
		}
		m, l := newPlace(more.Lab()), newPlace(less.Lab())
		inf := math.Inf(1)
		out[axis] = (math.Sqrt(p.distance2(&m, inf)) - math.Sqrt(p.distance2(&l, inf))) / (2 * by)
	}
	return out
}

const (
	hopReach = 6.0 // ΔE00 around the centre of a hop
	strayTab = 0.5 // share of hops around a tab drawn at random, not around the worst colour
)

// hop displaces the tabs around one colour at random and descends anew; the plan
// is kept when its worst colour is better off.
func (f *field) hop(now float64, rng *rand.Rand) float64 {
	old := slices.Clone(f.dots)
	centre := f.dots[rng.IntN(len(f.dots))].lab
	if rng.Float64() > strayTab {
		worst := 0
		for i, d := range f.far {
			if d > f.far[worst] {
				worst = i
			}
		}
		centre = f.labs[worst]
	}
	spread := pick(rng, 0.3, 0.6, 1)
	for k, d := range f.dots {
		if colour.DeltaE00(d.lab, centre) <= hopReach {
			f.shift(k, [2]float64{spread * rng.NormFloat64(), spread * rng.NormFloat64()})
		}
	}
	if next := f.descend(hopDescent); next < now {
		return next
	}
	return f.back(old)
}
