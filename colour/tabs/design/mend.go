package design

import (
	"cmp"
	"math/rand/v2"
	"slices"

	"shadedrill/colour/tabs"
)

// A mending goes on where an annealing finds nothing any more. The tabs around one dear
// colour are annealed by themselves, and all is undone unless the whole has become
// cheaper (large neighbourhood search: P. Shaw, Principles and Practice of Constraint
// Programming 1998, from memory). From time to time the search of package tabs says
// what the farthest colour of all is; that is what counts in the end.
type mending struct {
	repairs, moves int     // moves a repair
	wide, narrow   float64 // τ at first and last, ΔE00
	lax, strict    float64 // as in an annealing, in every repair
	aim            float64 // ΔE00 from which on nothing more is asked
}

const (
	judged         = 25    // repairs after which the whole is judged
	fewest, others = 6, 12 // tabs that a repair may move: so many, and up to so many others
	farthestTo     = 0.002 // ΔE00 to which the farthest colour of all is known
)

// mend goes through with it and returns the best library met.
func (w *watch) mend(name string, with mending, rng *rand.Rand) (best *tabs.Library, err error) {
	w.exact = true
	var least float64
	for r := range with.repairs + 1 {
		if r%judged == 0 {
			w.setPrice(between(with.wide, with.narrow, float64(r)/float64(with.repairs)))
			w.begin(w.worst() - floor)
			w.climbAll()
			var l *tabs.Library
			if l, err = library(name, w.bytes()); err == nil {
				at, far := tabs.NewSheet(l, nil).Farthest(w.region, farthestTo)
				if best == nil || far < least {
					best, least = l, far
				}
				if least <= with.aim {
					break
				}
				w.addAnswered(at)
				w.sum()
			}
		}
		w.repair(with, rng)
	}
	if best != nil {
		err = nil
	}
	return best, err
}

// repair anneals the tabs around one dear colour.
func (w *watch) repair(with mending, rng *rand.Rand) {
	dear, sums := w.dear(nil, nil)
	if len(dear) == 0 {
		return
	}
	centre := w.points[drawn(dear, sums, rng)]
	far := func(k int) float64 { return centre.distance2(&w.tints[w.of[k]].place, beyond) }
	var around []int
	for k := range w.of {
		around = append(around, k)
	}
	slices.SortStableFunc(around, func(i, j int) int { return cmp.Compare(far(i), far(j)) })
	around = around[:fewest+rng.IntN(others)]
	was, before, from := slices.Clone(w.of), w.total, w.worst()-floor
	for m := range with.moves {
		keen := between(with.lax, with.strict, float64(m)/float64(with.moves))
		w.nudge(around[rng.IntN(len(around))], keen, from, rng)
	}
	if w.total < before {
		return
	}
	for _, k := range around {
		if to := was[k]; w.of[k] != to {
			w.propose(k, to)
			w.keep(k, to, w.try())
		}
	}
}
