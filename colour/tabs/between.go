package tabs

import (
	"cmp"
	"slices"

	"shadedrill/colour"
)

// A learner may answer "between these two". Two tabs of one value group are
// neighbours when no third tab of the group is nearer to the colour halfway
// between them than they are themselves: otherwise the third would be the better
// answer, and the pair would say less than it seems to. (In the plane of chroma
// and hue this is the Gabriel graph, taken in ΔE00: K. R. Gabriel and R. R.
// Sokal, Systematic Zoology 18 (1969) 259–278.) The halfway colour is the mean in
// CIELAB of the two shown colours, rounded to bytes.
//
// Only the 16 nearest tabs are tried as partners, in built-in libraries far more
// than can be neighbours; a measured library with hundreds of tabs a group keeps
// its nearest pairs. Tabs shown in the same bytes have nothing between them.
const mostPartners = 16

// Answer is what a learner can say: tab I, or the colour halfway between tabs I
// and J; J is −1 for a single tab. E is its ΔE00 to the target.
type Answer struct {
	I, J   int
	Colour colour.SRGB
	E      float64
}

type pair struct {
	i, j   int
	colour colour.SRGB
}

// Halfway returns the displayable colour midway between two in CIELAB.
func Halfway(a, b colour.Lab) colour.SRGB {
	// The middle of two displayable colours is inside the gamut but for rounding.
	shown, _ := a.Mix(b, 0.5).SRGB()
	return shown
}

// Between returns the colour halfway between tabs i and j, neighbours or not.
func (s *Sheet) Between(i, j int) colour.SRGB { return Halfway(s.labs[i], s.labs[j]) }

// Neighbours returns the tabs next to tab i in its own value group, in index
// order: see [Halfway] for what a pair of them is good for. The slice is the
// sheet's own: read it only.
func (s *Sheet) Neighbours(i int) []int {
	s.between.Do(s.findNeighbours)
	return s.neighbours[i]
}

// Prepare works out beforehand what the first answer would have to wait for. It may
// run beside everything else.
func (s *Sheet) Prepare() { s.between.Do(s.findNeighbours) }

// Best returns the answer nearest to the target, over all tabs and all pairs of
// neighbours; where a tab and a pair are equally near, the tab.
func (s *Sheet) Best(target colour.Lab) Answer {
	i, e := s.tabs.nearest(target)
	return s.best(target, i, e)
}

// best is [Sheet.Best] when the nearest tab and its ΔE00 are known.
func (s *Sheet) best(target colour.Lab, tab int, e float64) Answer {
	s.between.Do(s.findNeighbours)
	best := Answer{tab, -1, s.shown[tab].Shown, e}
	if p, e := s.pairColours.nearestBut(target, -1, e); p >= 0 {
		best = Answer{s.pairs[p].i, s.pairs[p].j, s.pairs[p].colour, e}
	}
	return best
}

func (s *Sheet) findNeighbours() {
	s.neighbours = make([][]int, len(s.shown))
	var colours []colour.Lab
	for _, g := range s.groups {
		own := make([]colour.Lab, len(g.Tabs))
		for k, i := range g.Tabs {
			own[k] = s.labs[i]
		}
		for _, p := range neighbourPairs(own, func(a, b colour.Lab) colour.Lab { return Halfway(a, b).Lab() }) {
			i, j := g.Tabs[p[0]], g.Tabs[p[1]]
			s.neighbours[i] = append(s.neighbours[i], j)
			s.neighbours[j] = append(s.neighbours[j], i)
			made := pair{i, j, s.Between(i, j)}
			s.pairs = append(s.pairs, made)
			colours = append(colours, made.colour.Lab())
		}
	}
	for _, n := range s.neighbours {
		slices.Sort(n)
	}
	s.pairColours = newIndex(colours)
	s.findChoices()
}

// neighbourPairs returns the pairs of neighbours in one group, first index below
// second.
func neighbourPairs(own []colour.Lab, halfway func(a, b colour.Lab) colour.Lab) [][2]int {
	near := newIndex(own)
	partners := make([][]int, len(own))
	for i := range own {
		partners[i] = near.closest(own[i], mostPartners+1)
	}
	var pairs [][2]int
	for i := range own {
		for _, j := range partners[i] {
			if j == i || own[i] == own[j] || i > j && slices.Contains(partners[j], i) {
				continue // itself, nothing between, or already tried from the other side
			}
			middle := halfway(own[i], own[j])
			reach := min(colour.DeltaE00(middle, own[i]), colour.DeltaE00(middle, own[j]))
			if near.nearer(middle, reach) == 0 {
				pairs = append(pairs, [2]int{min(i, j), max(i, j)})
			}
		}
	}
	slices.SortFunc(pairs, func(a, b [2]int) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	return pairs
}

// closest returns the ids of the n nearest colours, nearest first.
func (x *index) closest(target colour.Lab, n int) []int {
	type found struct {
		id int
		e  float64
	}
	var best []found
	limit := func() float64 {
		if len(best) < n {
			return 1e9
		}
		return best[len(best)-1].e
	}
	x.search(target, limit(), func(id int32, e float64) float64 {
		f := found{int(id), e}
		at, _ := slices.BinarySearchFunc(best, f, func(a, b found) int {
			return cmp.Or(cmp.Compare(a.e, b.e), cmp.Compare(a.id, b.id))
		})
		best = slices.Insert(best, at, f)
		if len(best) > n {
			best = best[:n]
		}
		return limit()
	})
	ids := make([]int, len(best))
	for i, f := range best {
		ids[i] = f.id
	}
	return ids
}
