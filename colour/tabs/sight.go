package tabs

import (
	"math"
	"slices"
	"sort"
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

// judgedList is what was said of answers to one target. It is never changed: a
// longer one takes its place. Answers stand by themselves, so that a search
// touches one line of memory.
type judgedList struct {
	n       int
	answers [mostJudged]colour.SRGB
	judged  []Judged
}

// Limits of what is remembered, so that a hostile book fills no memory; a sheet
// of tooth colours stays far below.
const (
	mostBlocks = 512 // of 32 KB each
	mostSights = 1 << 18
	mostJudged = 16
)

// sights remembers what was seen, by target; the zero value is ready. It is a
// table of two levels: tooth colours lie together, in a few hundred blocks of 16
// by 16 by 16 bytes, and a look costs two loads and no lock.
type sights struct {
	blocks    [1 << 12]atomic.Pointer[sightBlock]
	n, filled atomic.Int64
}

type sightBlock [1 << 12]atomic.Pointer[Sight]

// place is where a target lies in the table.
func place(c colour.SRGB) (block, within int) {
	return int(c.R>>4)<<8 | int(c.G>>4)<<4 | int(c.B>>4), int(c.R&15)<<8 | int(c.G&15)<<4 | int(c.B&15)
}

// See looks at a target colour as a screen shows it.
func (s *Sheet) See(target colour.SRGB) *Sight {
	i, j := place(target)
	block := s.sights.blocks[i].Load()
	if block != nil {
		if v := block[j].Load(); v != nil {
			return v
		}
	}
	v := s.look(target.Lab())
	if block == nil {
		if s.sights.filled.Add(1) > mostBlocks {
			return v
		}
		s.sights.blocks[i].CompareAndSwap(nil, new(sightBlock))
		block = s.sights.blocks[i].Load()
	}
	if s.sights.n.Add(1) <= mostSights {
		block[j].Store(v)
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
	known := v.judged.Load()
	if known != nil {
		for i := range known.n {
			if known.answers[i] == answer {
				return known.judged[i]
			}
		}
	}
	lab := answer.Lab()
	j := Judged{Difference: colour.Compare(v.Target, lab, colour.Unit), E: colour.DeltaE00(v.Target, lab)}
	j.Nearer = sort.SearchFloat64s(v.nearest[:], j.E)
	longer := &judgedList{n: 1}
	if known != nil {
		if known.n == mostJudged {
			return j
		}
		*longer = judgedList{n: known.n + 1, answers: known.answers, judged: slices.Clone(known.judged)}
	}
	longer.answers[longer.n-1] = answer
	longer.judged = append(longer.judged, j)
	v.judged.CompareAndSwap(known, longer) // whoever comes second computes it again another time
	return j
}
