package design

import (
	"math/rand/v2"

	"shadedrill/colour/tabs"
)

// Brief is what is asked of a library.
type Brief struct {
	Name    string
	Groups  int
	Tabs    int
	Lender  int     // the group that gives one of its share of tabs to the lightest; 0 for none
	End     float64 // from the region's end to the first group, in steps between groups at first
	Columns int     // of a full group at first
	Seed    uint64
	First   descent
	Hops    int
	Bytes   annealing
	Last    mending
}

// The two built-in libraries. All numbers were found by trial.
var (
	NaturalBrief = Brief{Name: "natural", Groups: 12, Tabs: 110, Lender: 4, End: 0.45, Columns: 4, Seed: 2, Hops: 20,
		First: descent{steps: 4000, wide: 0.5, narrow: 0.01, stepFirst: 0.05, stepLast: 0.001},
		Bytes: annealing{rounds: 60, moves: 40000, wide: 0.017, narrow: 0.01, lax: 40, strict: 220},
		Last:  mending{repairs: 2000, moves: 1500, wide: 0.006, narrow: 0.004, lax: 15, strict: 500, aim: 1.648}}
	StarterBrief = Brief{Name: "starter", Groups: 6, Tabs: 24, End: 0.45, Columns: 2, Seed: 3, Hops: 30,
		First: descent{steps: 2000, wide: 0.8, narrow: 0.02, stepFirst: 0.08, stepLast: 0.001},
		Bytes: annealing{rounds: 30, moves: 2000, wide: 0.04, narrow: 0.02, lax: 25, strict: 400},
		Last:  mending{repairs: 300, moves: 500, wide: 0.02, narrow: 0.006, lax: 15, strict: 500}}
)

const (
	descentPitch = 0.5 // ΔE00 between the colours that a search asks for, before the peaks between them
	jitter       = 0.2 // ΔE00 by which tabs are displaced at first, so that nothing lies in rank and file
	bytesPitch   = 0.3 // as descentPitch, once tabs are bytes
)

// Compute designs a library.
func Compute(b Brief) (*tabs.Library, error) {
	rng := rand.New(rand.NewPCG(b.Seed, 1))
	f := newField(tabs.Teeth, b.Groups, start(tabs.Teeth, b), descentPitch)
	for k := range f.dots {
		f.shift(k, [3]float64{0, jitter * rng.NormFloat64(), jitter * rng.NormFloat64()})
	}
	worst := f.descend(b.First)
	for range b.Hops {
		worst = f.hop(worst, rng)
	}
	w := newWatch(newAnswers(tabs.Teeth, f.rounded()), bytesPitch, worst)
	w.anneal(b.Bytes, rng)
	return w.mend(b.Name, b.Last, rng)
}

// Natural computes the built-in library "natural".
func Natural() (*tabs.Library, error) { return Compute(NaturalBrief) }

// Starter computes the built-in library "starter".
func Starter() (*tabs.Library, error) { return Compute(StarterBrief) }
