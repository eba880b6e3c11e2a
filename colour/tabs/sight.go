package tabs

import (
	"sync"
	"sync/atomic"

	"shadedrill/colour"
)

// Sight is what a sheet has to say of one target colour. Marking asks for it at
// every answer, and targets repeat: of a million answers to tooth colours some
// 60,000 had a target of their own. So a sheet remembers it. What it says of an
// answer is not remembered: that is computed sooner than found in so large a
// memory.
//
// It is as long as what a processor fetches at once, since most of what a look
// takes is to wait for that.
type Sight struct {
	Target colour.Lab
	// NearestTab is the ΔE00 of the nearest single tab.
	NearestTab float64
	Group      int // see [Sheet.NearestGroup]
	// RoomC and RoomH are those of the choice of an observer without errors; see
	// [Sheet.NearestChoice].
	RoomC, RoomH bool

	colour colour.SRGB // of the best answer, as are the next three
	i, j   int32
	e      float64
}

// Best is the best answer to the target; see [Sheet.Best].
func (v Sight) Best() Answer { return Answer{I: int(v.i), J: int(v.j), Colour: v.colour, E: v.e} }

// ranked is how many tabs are told apart by rank; farther ones count alike.
const ranked = 10

// mostBlocks of 4 KB each are remembered, so that a hostile book fills no memory; a
// sheet of tooth colours stays below half of it.
const mostBlocks = 1 << 12

// sights remembers what was seen, by target; the zero value is ready. It is a table
// of three levels: tooth colours lie together, in some thousand blocks of 4 by 4 by 4
// bytes, which they fill by half. A look takes no lock.
type sights struct {
	fields [1 << 9]atomic.Pointer[sightField]
	adding sync.Mutex
	blocks int
}

type sightField [1 << 9]sightBlock

// sightBlock has a bit in known for each sight that is there and changes no more. The bits
// lie apart from the sights: they are few enough to be at hand.
type sightBlock struct {
	known atomic.Uint64
	seen  []Sight // there before the first bit is set
}

// place is where a target lies in the table.
func place(c colour.SRGB) (field, block, within int) {
	part := func(shift, mask int) int {
		bits := func(b uint8) int { return int(b) >> shift & mask }
		return (bits(c.R)*(mask+1)+bits(c.G))*(mask+1) + bits(c.B)
	}
	return part(5, 7), part(2, 7), part(0, 3)
}

// See looks at a target colour as a screen shows it.
func (s *Sheet) See(target colour.SRGB) Sight {
	i, j, k := place(target)
	if field := s.sights.fields[i].Load(); field != nil {
		if block := &field[j]; block.known.Load()>>k&1 != 0 {
			return block.seen[k]
		}
	}
	v := s.look(target.Lab())
	s.sights.keep(i, j, k, v)
	return v
}

// keep remembers a sight in its place, where there is room.
func (m *sights) keep(i, j, k int, v Sight) {
	m.adding.Lock()
	defer m.adding.Unlock()
	field := m.fields[i].Load()
	if field == nil {
		field = new(sightField)
		m.fields[i].Store(field)
	}
	block := &field[j]
	if block.seen == nil {
		if m.blocks >= mostBlocks {
			return
		}
		m.blocks++
		block.seen = make([]Sight, 1<<6)
	}
	if known := block.known.Load(); known>>k&1 == 0 {
		block.seen[k] = v
		block.known.Store(known | 1<<k)
	}
}

func (s *Sheet) look(target colour.Lab) Sight {
	v := Sight{Target: target, Group: s.NearestGroup(target)}
	choice := s.NearestChoice(v.Group, target)
	v.RoomC, v.RoomH = choice.RoomC, choice.RoomH
	// A tab of that choice is seldom far from the nearest of all.
	var tab int
	tab, v.NearestTab = s.tabs.nearestBut(target, choice.I, colour.DeltaE00(target, s.labs[choice.I]))
	best := s.best(target, tab, v.NearestTab)
	v.i, v.j, v.colour, v.e = int32(best.I), int32(best.J), best.Colour, best.E
	return v
}

// Nearer is how many tabs are strictly nearer to a target than e, at most ten. It is
// counted at every call: most who look ask no more than whether one is.
func (s *Sheet) Nearer(target colour.Lab, e float64) int {
	n := 0
	s.tabs.search(target, e, func(_ int32, other float64) float64 {
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
