package design

import (
	"math"
	"math/rand/v2"
	"slices"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// settling brings a plan to bytes. Rounding alone would undo what the descent
// gained: a byte is up to 0.4 ΔE00, and in-betweens are rounded as well. So tabs
// are moved by single bytes as long as that helps the worst-answered colours; and
// where no single move helps, a few tabs near the worst are displaced together.
type settling struct {
	region    tabs.Region
	tabs      [][]colour.SRGB // by group
	value     []float64       // the lightness of each group, in ΔE00
	labs      []colour.Lab    // the colours to answer for: a grid, and every peak found between
	colours   []place         // the same
	grid      int             // how many of them are the grid
	near      [][]int32       // by group: the colours that it can answer
	far       [][]float64     // by group and colour: ΔE00 to its nearest answer
	known     map[[3]int]bool // peaks, to a twelfth of a unit
	outOf     float64         // ΔE00 of lightness from which a group is not asked; the few answers beyond are left out of account
	influence float64         // ΔE00 from a tab to the colours that its in-betweens can answer
	limit     float64         // ΔE00 from which distances are dear
	tau       float64         // and over which their price grows e-fold
	gain      float64         // price that a move must save
	findPeaks bool            // look between the colours of the grid after each move
}

const unreached = 9 // ΔE00 beyond which distances are not told apart

const (
	flatness = 0.35 // ΔE00 of lightness that a tab may be off its group's: a group looks equally light
	free     = 6    // widths below the limit from which a colour costs nothing
	peakFrom = 0.15 // ΔE00 below the limit from which peaks are climbed to
)

func newSettling(f *field, limit float64) *settling {
	groups := len(f.groups)
	s := &settling{region: f.region, limit: limit, outOf: limit + 0.55, influence: 4 * limit, labs: slices.Clone(f.labs),
		known: map[[3]int]bool{}, tabs: make([][]colour.SRGB, groups), value: make([]float64, groups)}
	s.grid = len(s.labs)
	for _, c := range s.labs {
		s.colours = append(s.colours, newPlace(c))
	}
	for _, d := range f.dots {
		bytes, _ := d.lab.SRGB()
		s.tabs[d.group] = append(s.tabs[d.group], bytes)
		s.value[d.group] = d.v
	}
	for g := range s.tabs {
		far := make([]float64, len(s.colours))
		var near []int32
		for i, c := range s.colours {
			far[i] = unreached
			if math.Abs(c.v-s.value[g]) < s.outOf {
				near = append(near, int32(i))
			}
		}
		s.far, s.near = append(s.far, far), append(s.near, near)
		s.refresh(g, s.near[g])
	}
	return s
}

// answersOf lists what a group lets a learner say, in shown bytes.
func answersOf(group []colour.SRGB) []place {
	labs := make([]colour.Lab, len(group))
	var out []place
	for i, t := range group {
		labs[i] = t.Lab()
		out = append(out, newPlace(labs[i]))
	}
	neighbours(labs, func(i, j int) colour.Lab { return tabs.Halfway(labs[i], labs[j]).Lab() },
		func(_, _ int, middle colour.Lab) { out = append(out, newPlace(middle)) })
	return out
}

func nearestOf(answers []place, p *place) float64 {
	best := float64(unreached * unreached)
	for k := range answers {
		best = min(best, p.distance2(&answers[k], best))
	}
	return math.Sqrt(best)
}

// refresh measures group g's distances to some colours anew.
func (s *settling) refresh(g int, of []int32) {
	a := answersOf(s.tabs[g])
	for _, i := range of {
		s.far[g][i] = nearestOf(a, &s.colours[i])
	}
}

// without is the distance of a colour to the nearest answer of the groups but g.
func (s *settling) without(g int, i int32) float64 {
	d := float64(unreached)
	for other := range s.far {
		if other != g {
			d = min(d, s.far[other][i])
		}
	}
	return d
}

func (s *settling) price(d float64) float64 {
	x := (d - s.limit) / s.tau
	if x < -free {
		return 0
	}
	return math.Exp(min(x, 30))
}

// cost is the price of all colours; worst the largest distance.
func (s *settling) cost() (cost, worst float64, at int) {
	for i := range s.colours {
		d := s.without(-1, int32(i))
		cost += s.price(d)
		if d > worst {
			worst, at = d, i
		}
	}
	return cost, worst, at
}

// measureAll returns a function that measures any colour.
func (s *settling) measureAll() func(*place) float64 {
	var all [][]place
	for _, t := range s.tabs {
		all = append(all, answersOf(t))
	}
	return func(p *place) float64 {
		best := float64(unreached * unreached)
		for g, answers := range all {
			dv := math.Abs(s.value[g]-p.v) - 2*flatness // an in-between may be rounded further off
			if dv > 0 && dv*dv > best {
				continue
			}
			for k := range answers {
				best = min(best, p.distance2(&answers[k], best))
			}
		}
		return math.Sqrt(best)
	}
}

// watchPeaks climbs from some colours and answers for the peaks too from then on.
func (s *settling) watchPeaks(from []int32) {
	const first, last = 0.12, 0.007
	far := s.measureAll()
	for _, i := range tops(from, func(i int32) float64 { return s.without(-1, i) }, func(i int32) *place { return &s.colours[i] }) {
		lab, e := climb(s.region, s.labs[i], first, last, far)
		key := [3]int{int(12 * lab.L), int(12 * lab.A), int(12 * lab.B)}
		if e < s.limit-3*s.tau || s.known[key] {
			continue
		}
		s.known[key] = true
		s.labs = append(s.labs, lab)
		s.colours = append(s.colours, newPlace(lab))
		added := int32(len(s.colours) - 1)
		for g := range s.tabs {
			s.far[g] = append(s.far[g], unreached)
			if math.Abs(s.colours[added].v-s.value[g]) < s.outOf {
				s.near[g] = append(s.near[g], added)
				s.refresh(g, []int32{added})
			}
		}
	}
}

// allowed says whether a tab of group g may have a colour.
func (s *settling) allowed(g int, t colour.SRGB) bool {
	x := t.Lab().LCh()
	y := inside(s.region, x)
	return math.Abs(valueOf(x.L)-s.value[g]) <= flatness &&
		math.Abs(x.C-y.C) < 1e-9 && math.Abs(x.H-y.H) < 1e-9
}

// improve moves one tab by the byte that saves most, and says whether it did.
func (s *settling) improve(g, q int) bool {
	here := newPlace(s.tabs[g][q].Lab())
	var touched []int32 // the colours that matter here
	var others []float64
	before := 0.0
	for _, i := range s.near[g] {
		if s.colours[i].distance2(&here, s.influence*s.influence) > s.influence*s.influence {
			continue
		}
		if d := s.without(g, i); d >= s.limit-free*s.tau {
			touched, others = append(touched, i), append(others, d)
			before += s.price(min(d, s.far[g][i]))
		}
	}
	if before <= s.gain {
		return false
	}
	old, best, least := s.tabs[g][q], s.tabs[g][q], before
	for next := range around(old) {
		if !s.allowed(g, next) {
			continue
		}
		s.tabs[g][q] = next
		a := answersOf(s.tabs[g])
		cost := 0.0
		for k, i := range touched {
			if cost += s.price(min(others[k], nearestOf(a, &s.colours[i]))); cost >= least {
				break
			}
		}
		if cost < least {
			best, least = next, cost
		}
	}
	s.tabs[g][q] = old
	if least > before-s.gain {
		return false
	}
	return s.move(g, q, best, touched, before-least)
}

// move makes a move that saves so much on the colours known so far; and takes it
// back when the peaks that come up between them cost more.
func (s *settling) move(g, q int, to colour.SRGB, touched []int32, saved float64) bool {
	old, far := s.tabs[g][q], slices.Clone(s.far[g])
	s.tabs[g][q] = to
	s.refresh(g, s.near[g])
	if !s.findPeaks {
		return true
	}
	var from []int32
	for _, i := range touched {
		if s.without(-1, i) > s.limit-peakFrom {
			from = append(from, i)
		}
	}
	count := len(s.colours)
	s.watchPeaks(from)
	after := slices.Clone(s.far[g])
	copy(s.far[g], far)
	s.tabs[g][q] = old
	var peaks []int32
	for i := count; i < len(s.colours); i++ {
		peaks = append(peaks, int32(i))
	}
	s.refresh(g, peaks)
	for _, i := range peaks {
		others := s.without(g, i)
		saved += s.price(min(others, s.far[g][i])) - s.price(min(others, after[i]))
	}
	if saved < s.gain {
		return false
	}
	s.tabs[g][q] = to
	copy(s.far[g], after)
	return true
}

// around lists the colours one code away in some channels.
func around(t colour.SRGB) func(yield func(colour.SRGB) bool) {
	return func(yield func(colour.SRGB) bool) {
		for k := range 27 {
			next := colour.SRGB{R: t.R + uint8(k%3) - 1, G: t.G + uint8(k/3%3) - 1, B: t.B + uint8(k/9) - 1}
			if next != t && !yield(next) {
				return
			}
		}
	}
}

// spot is the place of a tab in the plan.
type spot struct{ g, q int }

func (s *settling) spots() (all []spot) {
	for g := range s.tabs {
		for q := range s.tabs[g] {
			all = append(all, spot{g, q})
		}
	}
	return all
}

// sweep improves the given tabs in random order until none can be improved.
func (s *settling) sweep(of []spot, rng *rand.Rand) {
	for moved := true; moved; {
		moved = false
		for _, k := range rng.Perm(len(of)) {
			for s.improve(of[k].g, of[k].q) {
				moved = true
			}
		}
	}
}
