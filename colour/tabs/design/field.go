package design

import (
	"math"
	"runtime"
	"sync"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// dot is a tab that may still lie anywhere in its group's plane.
type dot struct {
	group int
	at    colour.LCh
	lab   colour.Lab
	pull  [2]float64 // gradient along chroma and hue, per ΔE00
	mean  [2]float64 // its running mean
	power [2]float64 // and running mean square
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
	region      tabs.Region
	groups      int
	dots        []dot
	least, most []float64 // chroma that a group's tabs may have
	answers     []said
	labs        []colour.Lab
	colours     []place   // the same
	far         []float64 // ΔE00 from each colour to its nearest answer
	hard        []int     // the colours nearly as far off as the worst
	reach       [][]int32 // for each hard colour, the answers that are or may become nearest
}

// newField takes over a plan; colours lie at the given pitch in ΔE00.
func newField(region tabs.Region, sheets []Sheet, pitch float64) *field {
	f := &field{region: region, groups: len(sheets)}
	for g, s := range sheets {
		for _, column := range s.Columns {
			for _, h := range column.H {
				f.dots = append(f.dots, dot{group: g, at: colour.LCh{L: s.L, C: column.C, H: h}})
			}
		}
		least, most := math.Inf(1), 0.0
		for _, d := range []float64{-1, 0, 1} { // about half a step between groups
			a, b := region.ChromaRange(s.L + d)
			least, most = min(least, a), max(most, b)
		}
		f.least, f.most = append(f.least, least), append(f.most, most)
	}
	f.labs = region.Grid(pitch)
	for _, c := range f.labs {
		f.colours = append(f.colours, newPlace(c))
	}
	f.far = make([]float64, len(f.colours))
	f.reach = make([][]int32, len(f.colours))
	return f
}

// units returns how much chroma C* and how many degrees of hue make one ΔE00 at a
// colour.
func units(x colour.LCh, t float64) [2]float64 {
	c := max(x.C, 1)
	return [2]float64{1 + 0.045*c, (1 + 0.015*c*t) / c / degree}
}

// shift moves a dot by d ΔE00 along chroma and hue, as far as its group allows.
func (f *field) shift(k int, d [2]float64) {
	x := &f.dots[k]
	u := units(x.at, 1)
	x.at.C = min(f.most[x.group], max(f.least[x.group], x.at.C+d[0]*u[0]))
	x.at.H = min(f.region.Yellowest, max(f.region.Reddest, x.at.H+d[1]*u[1]))
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
	var of []int
	var labs []colour.Lab
	for g := range f.groups {
		of, labs = of[:0], labs[:0]
		for k, d := range f.dots {
			if d.group == g {
				of, labs = append(of, k), append(labs, d.lab)
				f.answers = append(f.answers, said{i: k, j: -1})
			}
		}
		neighbours(labs, func(i, j int) colour.Lab { return labs[i].Mix(labs[j], 0.5) },
			func(i, j int, _ colour.Lab) { f.answers = append(f.answers, said{i: of[i], j: of[j]}) })
	}
	f.follow()
}

// neighbours calls found for each pair of colours with no third one nearer to
// the middle.
func neighbours(labs []colour.Lab, middle func(i, j int) colour.Lab, found func(i, j int, middle colour.Lab)) {
	for i := range labs {
	pairs:
		for j := i + 1; j < len(labs); j++ {
			m := middle(i, j)
			reach := min(colour.DeltaE00(m, labs[i]), colour.DeltaE00(m, labs[j]))
			for k := range labs {
				if k != i && k != j && colour.DeltaE00(m, labs[k]) < reach {
					continue pairs
				}
			}
			found(i, j, m)
		}
	}
}

const (
	hardest   = 0.45 // ΔE00 below the worst colour down to which colours count as hard
	bend      = 1    // ΔE00 by which an answer may be farther than the nearest and still become it between two links
	unreached = 9    // ΔE00 beyond which distances are not told apart
)

// measure finds every colour's distance to its nearest answer and returns the
// largest; and collects the hard colours.
func (f *field) measure() (worst float64) {
	workers := runtime.GOMAXPROCS(0)
	var wait sync.WaitGroup
	for w := range workers {
		wait.Go(func() {
			for i := w; i < len(f.colours); i += workers {
				p := &f.colours[i]
				best := float64(unreached * unreached)
				for k := range f.answers {
					q := &f.answers[k].place
					if dv := p.v - q.v; dv*dv < best {
						best = min(best, p.distance2(q, best))
					}
				}
				f.far[i] = math.Sqrt(best)
			}
		})
	}
	wait.Wait()
	for _, d := range f.far {
		worst = max(worst, d)
	}
	f.hard = f.hard[:0]
	for i, d := range f.far {
		if d < worst-hardest {
			continue
		}
		f.hard = append(f.hard, i)
		f.reach[i] = f.reach[i][:0]
		limit := (d + bend) * (d + bend)
		for k := range f.answers {
			if f.colours[i].distance2(&f.answers[k].place, limit) < limit {
				f.reach[i] = append(f.reach[i], int32(k))
			}
		}
	}
	return worst
}
