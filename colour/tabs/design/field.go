package design

import (
	"cmp"
	"math"
	"runtime"
	"slices"
	"sync"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// dot is a tab that may still lie anywhere in its group, which has the lightness v
// in ΔE00.
type dot struct {
	group int
	v     float64
	at    colour.LCh
	lab   colour.Lab
	drive [3]drive // along lightness, chroma and hue
}

// said is an answer: a tab, or halfway between two when j is not −1.
type said struct {
	i, j int
	lab  colour.Lab
	place
}

// field is a region filled with colours and a plan of tabs that answers for
// them, not yet rounded to bytes.
type field struct {
	region  tabs.Region
	groups  []drive // each group's lightness
	dots    []dot
	answers []said
	labs    []colour.Lab // a grid
	colours []place      // the same
	far     []float64    // ΔE00 from each colour of the grid to its nearest answer
	width   float64      // ΔE00 below the worst colour down to which colours count as hard
	hard    []hard       // the peaks between them, and the colours nearly as far off as the worst
}

// hard is a colour that lies far from its nearest answer, and the answers that are
// nearest or may become so.
type hard struct {
	place
	lab   colour.Lab
	d     float64
	reach []int32
}

// newField takes over a plan; colours lie at the given pitch in ΔE00.
func newField(region tabs.Region, groups int, dots []dot, pitch float64) *field {
	f := &field{region: region, groups: make([]drive, groups), dots: dots, labs: region.Grid(pitch)}
	slices.SortStableFunc(f.labs, func(a, b colour.Lab) int { return cmp.Compare(a.L, b.L) })
	for _, c := range f.labs {
		f.colours = append(f.colours, newPlace(c))
	}
	f.far = make([]float64, len(f.colours))
	return f
}

// shift moves a dot by d ΔE00 along lightness, chroma and hue, as far as its group
// and the region allow.
func (f *field) shift(k int, d [3]float64) {
	x := &f.dots[k]
	chroma, hue := units(x.at)
	v := min(x.v+flatPlan, max(x.v-flatPlan, valueOf(x.at.L)+d[0]))
	x.at = inside(f.region, colour.LCh{L: lightnessOf(v), C: x.at.C + d[1]*chroma, H: x.at.H + d[2]*hue})
}

// follow moves the answers to where the dots now are.
func (f *field) follow() {
	for k := range f.dots {
		f.dots[k].lab = f.dots[k].at.Lab()
	}
	for k := range f.answers {
		a := &f.answers[k]
		a.lab = f.dots[a.i].lab
		if a.j >= 0 {
			a.lab = a.lab.Mix(f.dots[a.j].lab, 0.5)
		}
		a.place = newPlace(a.lab)
	}
}

// link finds out which dots are neighbours, by the rule of package tabs.
func (f *field) link() {
	f.answers = f.answers[:0]
	f.follow()
	for g := range f.groups {
		var of []int
		for k, d := range f.dots {
			if d.group == g {
				of = append(of, k)
				f.answers = append(f.answers, said{i: k, j: -1})
			}
		}
		f.linkGroup(of)
	}
	f.follow()
	slices.SortStableFunc(f.answers, func(a, b said) int { return cmp.Compare(a.v, b.v) })
}

// linkGroup links the dots of a group that have no third one nearer to their middle.
func (f *field) linkGroup(of []int) {
	for n, i := range of {
	pairs:
		for _, j := range of[n+1:] {
			x, y := f.dots[i].lab, f.dots[j].lab
			middle := x.Mix(y, 0.5)
			reach := min(colour.DeltaE00(middle, x), colour.DeltaE00(middle, y))
			for _, k := range of {
				if k != i && k != j && colour.DeltaE00(middle, f.dots[k].lab) < reach {
					continue pairs
				}
			}
			f.answers = append(f.answers, said{i: i, j: j})
		}
	}
}

const (
	unreached = 9    // ΔE00 beyond which distances are not told apart
	flatPlan  = 0.3  // ΔE00 of lightness that a tab may be off its group's before it is brought to bytes
	bend      = 0.7  // ΔE00 by which an answer may be farther than the nearest and still become it between two links
	summit    = 0.35 // ΔE00 around a colour of the grid in which it is the farthest if a climb starts from it
)

// nearest2 is the squared distance from a colour to the nearest of answers that are
// sorted by lightness.
func nearest2(p *place, answers []said) float64 {
	best := float64(unreached * unreached)
	up, _ := slices.BinarySearchFunc(answers, p.v, func(a said, v float64) int { return cmp.Compare(a.v, v) })
	for k := up; k < len(answers); k++ {
		if dv := p.v - answers[k].v; dv*dv >= best {
			break
		}
		best = min(best, p.distance2(&answers[k].place, best))
	}
	for k := up - 1; k >= 0; k-- {
		if dv := p.v - answers[k].v; dv*dv >= best {
			break
		}
		best = min(best, p.distance2(&answers[k].place, best))
	}
	return best
}

// measure finds the colours that lie farthest from their nearest answer, on the
// grid and at the peaks between, and returns the largest distance.
func (f *field) measure() (worst float64) {
	each(len(f.colours), func(i int) { f.far[i] = math.Sqrt(nearest2(&f.colours[i], f.answers)) })
	for _, d := range f.far {
		worst = max(worst, d)
	}
	var from []int
	f.hard = f.hard[:0]
	for i, d := range f.far {
		if d > worst-f.width {
			from = append(from, i)
		}
	}
	peakFrom := tops(from, func(i int) float64 { return f.far[i] }, func(i int) *place { return &f.colours[i] })
	peaks := make([]hard, len(peakFrom))
	each(len(peakFrom), func(k int) {
		i := peakFrom[k]
		lab, d := climb(f.region, f.labs[i], 0.15, 0.008, axes, func(_ colour.Lab, p *place) float64 { return math.Sqrt(nearest2(p, f.answers)) })
		peaks[k] = hard{place: newPlace(lab), lab: lab, d: d}
		peaks[k].reach = f.within(&peaks[k].place, d+bend)
	})
	for _, p := range peaks {
		worst = max(worst, p.d)
	}
	f.hard = append(f.hard, peaks...)
	for _, i := range from {
		f.hard = append(f.hard, hard{f.colours[i], f.labs[i], f.far[i], f.within(&f.colours[i], f.far[i]+bend)})
	}
	return worst
}

// tops picks the colours from which it is worth climbing: those that lie farthest from
// their answer of all within a little distance.
func tops[I int | int32](of []I, d func(I) float64, at func(I) *place) (list []I) {
	of = slices.Clone(of)
	slices.SortStableFunc(of, func(i, j I) int { return cmp.Compare(d(j), d(i)) })
	for _, i := range of {
		if !slices.ContainsFunc(list, func(j I) bool { return at(i).distance2(at(j), 1) < summit*summit }) {
			list = append(list, i)
		}
	}
	return list
}

// within lists the answers up to a distance.
func (f *field) within(p *place, d float64) (list []int32) {
	for k := range f.answers {
		if dv := p.v - f.answers[k].v; dv*dv < d*d && p.distance2(&f.answers[k].place, d*d) < d*d {
			list = append(list, int32(k))
		}
	}
	return list
}

// each does n things, as many at once as there are processors.
func each(n int, do func(i int)) {
	workers := runtime.GOMAXPROCS(0)
	var wait sync.WaitGroup
	for w := range workers {
		wait.Go(func() {
			for i := w; i < n; i += workers {
				do(i)
			}
		})
	}
	wait.Wait()
}
