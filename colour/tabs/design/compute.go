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
	End     float64 // from the region's end to the first group, in steps between groups at first
	Columns int     // of a full group at first
	Seed    uint64
	First   descent
	Hops    int
}

// The two built-in libraries.
var (
	NaturalBrief = Brief{Name: "natural", Groups: 12, Tabs: 110, End: 0.45, Columns: 4, Seed: 2, Hops: 20,
		First: descent{steps: 4000, wide: 0.5, narrow: 0.01, stepFirst: 0.05, stepLast: 0.001}}
	StarterBrief = Brief{Name: "starter", Groups: 6, Tabs: 24, End: 0.45, Columns: 2, Seed: 1, Hops: 6,
		First: descent{steps: 2000, wide: 0.8, narrow: 0.02, stepFirst: 0.08, stepLast: 0.001}}
)

const (
	descentPitch = 0.5 // ΔE00 between the colours that a search asks for, before the peaks between them
	jitter       = 0.2 // ΔE00 by which tabs are displaced at first, so that nothing lies in rank and file
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
	s := newSettling(f, worst)
	s.settle(rng)
	return s.library(b.Name)
}

// Natural computes the built-in library "natural".
func Natural() (*tabs.Library, error) { return Compute(NaturalBrief) }

// Starter computes the built-in library "starter".
func Starter() (*tabs.Library, error) { return Compute(StarterBrief) }
