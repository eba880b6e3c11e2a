package tabs

import (
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
	// NearestTab is the ΔE00 of the nearest single tab.
	NearestTab float64

	tabs *index
}

// ranked is how many tabs are told apart by rank; farther ones count alike.
const ranked = 10

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
	v := &Sight{Target: target, Group: s.NearestGroup(target), tabs: s.tabs}
	var tab int
	tab, v.NearestTab = s.tabs.nearest(target)
	v.Best = s.best(target, tab, v.NearestTab)
	choice := s.NearestChoice(v.Group, target)
	v.RoomC, v.RoomH = choice.RoomC, choice.RoomH
	return v
}

// Nearer is how many tabs are strictly nearer to the target than e, at most ten. It is
// counted at every call: most who look ask no more than whether one is.
func (v *Sight) Nearer(e float64) int {
	n := 0
	v.tabs.search(v.Target, e, func(_ int32, other float64) float64 {
		if other < e {
			n++
		}
		if n >= ranked {
			return 0 // enough: nothing else is looked at
		}
		return e
	})
	return min(n, ranked)
}
