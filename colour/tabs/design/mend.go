package design

import (
	"cmp"
	"math/rand/v2"
	"slices"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// Numbers of the settling; found by trial.
var widths = []float64{0.04, 0.025, 0.015} // τ, ΔE00

const (
	coarseGain = 0.3  // price that a move must save at the wide widths,
	fineGain   = 0.02 // and at the last
	peaksFrom  = 1    // the width from which peaks are looked for
	displaced  = 3    // tabs moved together, at most
	local      = 14   // tabs around the worst colour that then settle anew
	kicks      = 60   // at most
)

// settle moves the tabs by bytes until every colour lies below the limit, or
// nothing helps any more.
func (s *settling) settle(rng *rand.Rand) (worst float64) {
	for k, tau := range widths {
		s.tau, s.gain, s.findPeaks = tau, coarseGain, k >= peaksFrom
		if k == len(widths)-1 {
			s.gain = fineGain
		}
		s.sweep(s.spots(), rng)
		s.watchAll()
	}
	s.sweep(s.spots(), rng)
	s.watchAll()
	_, worst, at := s.cost()
	for k := 0; k < kicks && worst > s.limit; k++ {
		s.kick(at, rng)
		_, worst, at = s.cost()
	}
	return worst
}

// watchAll looks for peaks everywhere.
func (s *settling) watchAll() {
	var from []int32
	for i := range s.grid {
		if s.without(-1, int32(i)) > s.limit-peakFrom {
			from = append(from, int32(i))
		}
	}
	s.watchPeaks(from)
}

// kick displaces a few tabs near a colour, lets the tabs around it settle, and
// takes all back if that did not pay.
func (s *settling) kick(at int, rng *rand.Rand) {
	near := s.spots()
	e := func(x spot) float64 { return colour.DeltaE00(s.labs[at], s.tabs[x.g][x.q].Lab()) }
	slices.SortStableFunc(near, func(a, b spot) int { return cmp.Compare(e(a), e(b)) })
	near = near[:local]
	oldTabs, oldFar := cloneAll(s.tabs), cloneAll(s.far)
	for range 1 + rng.IntN(displaced) {
		x := near[rng.IntN(local/2)]
		t := s.tabs[x.g][x.q]
		for range 1 + rng.IntN(2) {
			choice := slices.Collect(around(t))
			if next := choice[rng.IntN(len(choice))]; s.allowed(x.g, next) {
				t = next
			}
		}
		s.tabs[x.g][x.q] = t
		s.refresh(x.g, s.near[x.g])
	}
	s.sweep(near, rng)
	after, _, _ := s.cost()
	newTabs, newFar := s.tabs, s.far
	s.tabs, s.far = oldTabs, oldFar
	for g := range s.tabs { // the old plan's distances to the peaks found meanwhile
		count := len(s.far[g])
		s.far[g] = append(s.far[g], newFar[g][count:]...)
		i, _ := slices.BinarySearch(s.near[g], int32(count))
		s.refresh(g, s.near[g][i:])
	}
	if before, _, _ := s.cost(); after < before-s.gain {
		s.tabs, s.far = newTabs, newFar
	}
}

func cloneAll[T any](x [][]T) [][]T {
	out := make([][]T, len(x))
	for i := range x {
		out[i] = slices.Clone(x[i])
	}
	return out
}

// library makes the library of the settled bytes. Groups are named by their
// mean lightness.
func (s *settling) library(name string) (*tabs.Library, error) {
	var groups []tabs.Group
	for _, of := range s.tabs {
		var labs []colour.Lab
		mean := 0.0
		for _, t := range of {
			labs = append(labs, t.Lab())
			mean += t.Lab().L / float64(len(of))
		}
		groups = append(groups, group(mean, labs))
	}
	return tabs.New(name, "", groups)
}
