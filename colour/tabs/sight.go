package tabs

import (
	"math"
	"sort"
	"sync"
	"sync/atomic"

	"shadedrill/colour"
)

// Sight is what a sheet has to say of one target colour. Marking asks for it at
// every answer, and targets repeat: of a million answers to tooth colours some
// 80,000 had a target of their own. So a sheet remembers it, and with it what it
// said of the answers given to that target.
type Sight struct {
	Target colour.Lab
	Best   Answer // see [Sheet.Best]
	Group  int    // see [Sheet.NearestGroup]
	// RoomC and RoomH are those of the choice that a true eye would make; see
	// [Sheet.NearestChoice].
	RoomC, RoomH bool

	nearest [ranked]float64 // ΔE00 of the nearest tabs, rising
	judged  atomic.Pointer[judgedList]
}

// ranked is how many tabs are told apart by rank; farther ones count alike.
const ranked = 10

// Judged is one answer held against a target.
type Judged struct {
	Difference colour.Difference // answer minus target
	// E is the ΔE00 as the sheet computes it for its own tabs: it may differ from
	// Difference.E in the last bit.
	E float64
	// Nearer is how many tabs are strictly nearer to the target, at most ten.
	Nearer int
}

type judgedList struct {
	answer colour.SRGB
	Judged
	next *judgedList
	n    int // how many there are from here on
}

// Limits of what is remembered, so that a hostile book fills no memory; a sheet
// of tooth colours stays far below.
const (
	mostSights = 1 << 18
	mostJudged = 48
)

// sights remembers what was seen; the zero value is ready.
type sights struct {
	byTarget sync.Map // colour.SRGB -> *Sight
	n        atomic.Int64
}

// See looks at a target colour as a screen shows it.
func (s *Sheet) See(target colour.SRGB) *Sight {
	if v, ok := s.sights.byTarget.Load(target); ok {
		return v.(*Sight)
	}
	v := s.look(target.Lab())
	if s.sights.n.Add(1) <= mostSights {
		s.sights.byTarget.Store(target, v)
	}
	return v
}

func (s *Sheet) look(target colour.Lab) *Sight {
	v := &Sight{Target: target, Best: s.Best(target), Group: s.NearestGroup(target), nearest: s.tabs.distances(target)}
	choice := s.NearestChoice(v.Group, target)
	v.RoomC, v.RoomH = choice.RoomC, choice.RoomH
	return v
}

// distances are those of the nearest colours, rising, +Inf where there are no more.
func (x *index) distances(target colour.Lab) (list [ranked]float64) {
	for i := range list {
		list[i] = math.Inf(1)
	}
	x.search(target, math.Inf(1), func(_ int32, e float64) float64 {
		if i := sort.SearchFloat64s(list[:], e); i < ranked {
			copy(list[i+1:], list[i:])
			list[i] = e
		}
		return list[ranked-1]
	})
	return list
}

// Judge holds an answer against the target.
func (v *Sight) Judge(answer colour.SRGB) Judged {
	first := v.judged.Load()
	for j := first; j != nil; j = j.next {
		if j.answer == answer {
			return j.Judged
		}
	}
	lab := answer.Lab()
	j := &judgedList{answer: answer, next: first, n: 1}
	j.Difference = colour.Compare(v.Target, lab, colour.Unit)
	j.E = colour.DeltaE00(v.Target, lab)
	j.Nearer = sort.SearchFloat64s(v.nearest[:], j.E)
	if first != nil {
		j.n += first.n
	}
	if j.n <= mostJudged {
		v.judged.CompareAndSwap(first, j) // whoever comes second computes it again another time
	}
	return j.Judged
}
