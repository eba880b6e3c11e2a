package design

import (
	"math"
	"slices"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// What a learner may say of a library in bytes: each tab, and the middle of two tabs
// of a group when no third tab is nearer to it (the rule of package tabs). Moving one
// tab changes its own answer and some of the middles of its group. answers keeps all
// pairs of a group with what stands between them, so that a change is known without
// going through the group anew.
type answers struct {
	region tabs.Region
	tints  []tint
	index  map[colour.SRGB]int
	groups [][]int // tabs by group
	seats  []seat  // by tab
	of     []int   // the tint of each tab
	pairs  []pair  // by slot
	gone   []change
	come   []change
	moved  []repaired
}

// tint is a colour in bytes.
type tint struct {
	bytes colour.SRGB
	lab   colour.Lab
	place
	inside bool   // of the region
	near   []near // the watched colours that it may answer for
	seen   int    // how many watched colours were looked through for that,
	watch  int    // and in which watch
}

// seat is the place of a tab: its group, and which of it.
type seat struct{ group, q int }

// Slots number what may be said: of group g the tab q is slot(g, q, q), and the middle
// of two tabs i and j is slot(g, i, j).
const most = 16 // tabs of a group

func slot(group, i, j int) int { return (group*most+min(i, j))*most + max(i, j) }

// pair is two tabs of a group: the tint of their middle, how far it is from the nearer
// of them, and a bit for each other tab that is nearer still. It can be said when there
// is none. A single tab is a pair with itself.
type pair struct {
	middle int
	reach  float64
	closer uint32
}

func (p *pair) said() bool { return p.middle >= 0 && p.closer == 0 }

// change is an answer that comes or goes.
type change struct{ slot, tint int }

// repaired is what a pair becomes.
type repaired struct {
	slot int
	pair
}

func newAnswers(region tabs.Region, groups [][]colour.SRGB) *answers {
	a := &answers{region: region, index: map[colour.SRGB]int{}, groups: make([][]int, len(groups)), pairs: make([]pair, len(groups)*most*most)}
	for s := range a.pairs {
		a.pairs[s].middle = -1
	}
	for g, of := range groups {
		for q, b := range of {
			a.groups[g] = append(a.groups[g], len(a.of))
			a.seats = append(a.seats, seat{g, q})
			a.of = append(a.of, a.tint(b))
		}
		for j := range of {
			for i := range j + 1 {
				a.pairs[slot(g, i, j)] = a.pair(g, i, j, func(q int) int { return a.of[a.groups[g][q]] })
			}
		}
	}
	return a
}

// tint returns the number of a colour.
func (a *answers) tint(b colour.SRGB) int {
	if k, ok := a.index[b]; ok {
		return k
	}
	lab := b.Lab()
	a.tints = append(a.tints, tint{bytes: b, lab: lab, place: newPlace(lab), inside: a.region.Contains(lab)})
	a.index[b] = len(a.tints) - 1
	return a.index[b]
}

// pair looks at tabs i and j of a group whose tabs have the tints of.
func (a *answers) pair(group, i, j int, of func(q int) int) pair {
	if i == j {
		return pair{middle: of(i)}
	}
	p := pair{middle: a.tint(tabs.Halfway(a.tints[of(i)].lab, a.tints[of(j)].lab))}
	m := a.tints[p.middle].lab
	p.reach = min(colour.DeltaE00(m, a.tints[of(i)].lab), colour.DeltaE00(m, a.tints[of(j)].lab))
	for q := range a.groups[group] {
		if q != i && q != j && a.closer(of(q), &p) {
			p.closer |= 1 << q
		}
	}
	return p
}

// closer says whether a tint is nearer to the middle of a pair than the pair itself.
func (a *answers) closer(k int, p *pair) bool {
	reach2 := p.reach * p.reach
	switch d2 := a.tints[k].distance2(&a.tints[p.middle].place, reach2*sure); {
	case d2 > reach2*sure:
		return false
	case d2 < reach2/sure:
		return true
	}
	return colour.DeltaE00(a.tints[k].lab, a.tints[p.middle].lab) < p.reach
}

// propose finds what comes and what goes if tab k took another tint.
func (a *answers) propose(k, to int) {
	g, q := a.seats[k].group, a.seats[k].q
	of := func(i int) int {
		if i == q {
			return to
		}
		return a.of[a.groups[g][i]]
	}
	a.gone, a.come, a.moved = a.gone[:0], a.come[:0], a.moved[:0]
	for j := range a.groups[g] {
		for i := range j + 1 {
			s := slot(g, i, j)
			was := &a.pairs[s]
			now := *was
			switch {
			case i == q || j == q:
				now = a.pair(g, i, j, of)
			case i == j:
				continue
			case a.closer(to, was):
				now.closer |= 1 << q
			default:
				now.closer &^= 1 << q
			}
			if now == *was {
				continue
			}
			a.moved = append(a.moved, repaired{s, now})
			if was.said() == now.said() && was.middle == now.middle {
				continue
			}
			if was.said() {
				a.gone = append(a.gone, change{s, was.middle})
			}
			if now.said() {
				a.come = append(a.come, change{s, now.middle})
			}
		}
	}
}

// adopt makes the proposal true.
func (a *answers) adopt(k, to int) {
	for _, m := range a.moved {
		a.pairs[m.slot] = m.pair
	}
	a.of[k] = to
}

const (
	flat    = 0.7 // ΔE00 by which tabs of a group may differ in lightness: it looks equally light
	columns = 5   // of a group's sheet, which is to be easy to overlook
	oneSpan = 1.6 // ΔE00 of chroma in a column, the rule of package tabs
)

// allowed says whether tab k may take a tint: it lies in the region, and the group
// stays equally light and within so many columns, or is not made worse.
func (a *answers) allowed(k, to int) bool {
	if !a.tints[to].inside {
		return false
	}
	group := a.groups[a.seats[k].group]
	for _, other := range group {
		if other != k && math.Abs(a.tints[a.of[other]].v-a.tints[to].v) > flat {
			return false
		}
	}
	var was, is [most]float64
	for q, other := range group {
		was[q] = a.tints[a.of[other]].chroma
		is[q] = was[q]
		if other == k {
			is[q] = a.tints[to].chroma
		}
	}
	n := columnsOf(is[:len(group)])
	return n <= columns || n <= columnsOf(was[:len(group)])
}

// columnsOf counts the columns of tabs with these chromas.
func columnsOf(chromas []float64) (n int) {
	slices.Sort(chromas)
	first := math.Inf(-1)
	for _, c := range chromas {
		if (c-first)/(1+0.045*(c+first)/2) > oneSpan || n == 0 {
			n, first = n+1, c
		}
	}
	return n
}

// bytes returns the tabs by group.
func (a *answers) bytes() [][]colour.SRGB {
	groups := make([][]colour.SRGB, len(a.groups))
	for k, t := range a.of {
		g := a.seats[k].group
		groups[g] = append(groups[g], a.tints[t].bytes)
	}
	return groups
}
