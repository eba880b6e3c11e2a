package tabs

import (
	"math"
	"sync/atomic"

	"shadedrill/colour"
)

// Sight is what a sheet has to say of one target colour. Marking asks for it at
// every answer, and targets repeat: of a million answers to tooth colours some
// 80,000 had a target of their own. So a sheet remembers it. What it says of an
// answer is not remembered: that is computed sooner than found in so large a
// memory.
type Sight struct {
	Target colour.Lab
	Best   Answer // see [Sheet.Best]
	Group  int    // see [Sheet.NearestGroup]
	// RoomC and RoomH are those of the choice of an observer without errors; see
	// [Sheet.NearestChoice].
	RoomC, RoomH bool

	nearest [ranked]float64 // ΔE00 of the nearest tabs, rising
}

// ranked is how many tabs are told apart by rank; farther ones count alike.
const ranked = 10

// Judged is one answer held against a target.
type Judged struct {
	Difference colour.Difference // answer minus target, by [colour.Differ]
	// Nearer is how many tabs are strictly nearer to the target, at most ten.
	Nearer int
}

// Limits of what is remembered, so that a hostile book fills no memory; a sheet
// of tooth colours stays far below.
const (
	mostBlocks = 512 // of 32 KB each
	mostSights = 1 << 18
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
	v := &Sight{Target: target, Group: s.NearestGroup(target)}
	var tab int
	tab, v.nearest = s.tabs.ranking(target)
	v.Best = s.best(target, tab, v.nearest[0])
	choice := s.NearestChoice(v.Group, target)
	v.RoomC, v.RoomH = choice.RoomC, choice.RoomH
	return v
}

// ranking is the nearest colour, of equally near ones the first, and the ΔE00 of
// the nearest ones, rising, +Inf where there are no more.
func (x *index) ranking(target colour.Lab) (id int, list [ranked]float64) {
	for i := range list {
		list[i] = math.Inf(1)
	}
	first := int32(-1)
	x.search(target, math.Inf(1), func(id int32, e float64) float64 {
		if e < list[0] || e == list[0] && id < first {
			first = id
		}
		if e < list[ranked-1] {
			i := ranked - 1
			for ; i > 0 && list[i-1] > e; i-- {
				list[i] = list[i-1]
			}
			list[i] = e
		}
		return list[ranked-1]
	})
	return int(first), list
}

// Judge holds an answer against the target.
func (v *Sight) Judge(answer colour.Lab) Judged {
	j := Judged{Difference: colour.Differ(v.Target, answer)}
	for j.Nearer < ranked && v.nearest[j.Nearer] < j.Difference.E {
		j.Nearer++
	}
	return j
}
