package tabs

import (
	"math"
	"math/rand/v2"

	"shadedrill/colour"
)

// Choice is something a learner can answer with: tab I, or the middle of tabs I
// and J; J is −1 for a single tab.
type Choice struct {
	I, J  int
	Shown colour.SRGB
	// RoomC and RoomH say that the choice's group has tabs on both sides of it
	// along chroma and along hue, at least elbowRoom away and not more than aside
	// off in the other.
	RoomC, RoomH bool

	flat colour.Lab // at one lightness for all, so that only chroma and hue count
}

// Flat is the choice's colour at one lightness for all of its sheet: choices of a group
// are told apart by chroma and hue alone.
func (c Choice) Flat() colour.Lab { return c.flat }

const (
	elbowRoom = 1.2 // ΔE00; house rule: some 1.5 times what half of observers see
	aside     = 1.5 // ΔE00; house rule
	flatL     = 50
)

// Choices lists what can be answered from a value group: its tabs in sheet
// order, then the middles of its neighbours. The slice is the sheet's own: read
// it only.
func (s *Sheet) Choices(group int) []Choice {
	s.between.Do(s.findNeighbours)
	return s.choices[group]
}

// NearestGroup is the value group whose patch, as shown, is nearest to a colour in
// L*; of equally near groups the lightest.
func (s *Sheet) NearestGroup(c colour.Lab) int {
	best, least := 0, math.Inf(1)
	for g := range s.groups {
		if d := math.Abs(s.groups[g].Lightness - c.L); d < least {
			best, least = g, d
		}
	}
	return best
}

// NearestChoice is the choice of a value group that is nearest to a colour by
// chroma and hue, whatever its lightness; of equally near ones the first.
func (s *Sheet) NearestChoice(group int, c colour.Lab) Choice {
	choices := s.Choices(group)
	c.L = flatL
	// The one nearest by a* and b* is tried first: it is seldom far from the best, and then
	// nearly all others are out by their bounds.
	best, near := 0, math.Inf(1)
	for k := range choices {
		a, b := choices[k].flat.A-c.A, choices[k].flat.B-c.B
		if d := a*a + b*b; d < near {
			best, near = k, d
		}
	}
	best, _ = s.flats[group].nearestBut(c, best, colour.DeltaE00(c, choices[best].flat))
	return choices[best]
}

func (s *Sheet) findChoices() {
	s.choices = make([][]Choice, len(s.groups))
	for g, group := range s.groups {
		for _, i := range group.Tabs {
			s.choices[g] = append(s.choices[g], s.choice(i, -1, s.shown[i].Shown))
		}
	}
	for _, p := range s.pairs {
		g := s.groupOf[p.i]
		s.choices[g] = append(s.choices[g], s.choice(p.i, p.j, p.colour))
	}
	s.flats = make([]*index, len(s.groups))
	for g, choices := range s.choices {
		flat := make([]colour.Lab, len(choices))
		for k := range choices {
			flat[k] = choices[k].flat
		}
		s.flats[g] = newIndex(flat)
		tabs := len(s.groups[g].Tabs)
		scattered := rand.New(rand.NewPCG(1, 1)).Perm(tabs)
		around := make([]extent, tabs)
		for k := range around {
			around[k] = extentOf(choices[k].flat)
		}
		for k := range choices {
			choices[k].look(choices, around, scattered)
		}
	}
}

func (s *Sheet) choice(i, j int, shown colour.SRGB) Choice {
	flat := shown.Lab()
	flat.L = flatL
	return Choice{I: i, J: j, Shown: shown, flat: flat}
}

// look finds the room that a choice has among the first so many choices of its
// group, its tabs. Most choices have room on all sides and find it soon, if
// the tabs come in no order. Those at an edge look at all of them, so what cannot
// give room where it is wanted is left out by bounds.
func (c *Choice) look(group []Choice, around []extent, scattered []int) {
	var lessC, moreC, lessH, moreH bool
	own := extentOf(c.flat)
	for _, k := range scattered {
		e := &around[k]
		wantC := !lessC && e.cLo < own.cHi || !moreC && e.cHi > own.cLo
		wantH := !lessH && e.hLo < own.hHi || !moreH && e.hHi > own.hLo
		if !(wantC && own.hueMayBe(e) || wantH && own.chromaMayBe(e)) {
			continue
		}
		d := colour.Compare(c.flat, group[k].flat, colour.Unit)
		if math.Abs(d.H) <= aside {
			lessC, moreC = lessC || d.C <= -elbowRoom, moreC || d.C >= elbowRoom
		}
		if math.Abs(d.C) <= aside {
			lessH, moreH = lessH || d.H <= -elbowRoom, moreH || d.H >= elbowRoom
		}
		if lessC && moreC && lessH && moreH {
			break
		}
	}
	c.RoomC, c.RoomH = lessC && moreC, lessH && moreH
}

// extent holds bounds of what CIEDE2000 makes of a colour's chroma and hue angle:
// C' and h' are those of (a', b) with a' = (1 + G)·a, and G lies within 0 and 0.5
// whatever the other colour of the pair is.
type extent struct{ cLo, cHi, hLo, hHi float64 }

func extentOf(c colour.Lab) extent {
	e := extent{cLo: math.Hypot(c.A, c.B), cHi: reach(c), hLo: math.Inf(-1), hHi: math.Inf(1)}
	if c.B > 0 { // hue angles between 0 and 180° do not wrap
		near, far := math.Atan2(c.B, c.A), math.Atan2(c.B, 1.5*c.A)
		e.hLo, e.hHi = min(near, far), max(near, far)
	}
	return e
}

// gap is how far two intervals lie apart, 0 where they touch.
func gap(lo, hi, otherLo, otherHi float64) float64 { return max(0, otherLo-hi, lo-otherHi) }

// most is an upper bound of SC = 1 + 0.045·C̄', and of SH, which is never larger.
func (e extent) most(o *extent) float64 { return 1 + 0.0225*(e.cHi+o.cHi) }

// chromaMayBe is false when the difference in chroma is surely more than aside.
func (e extent) chromaMayBe(o *extent) bool {
	return gap(e.cLo, e.cHi, o.cLo, o.cHi) <= aside*e.most(o)+boundSlack
}

// hueMayBe is false when the difference in hue is surely more than aside:
// ΔH' = 2·√(C'·C')·sin(Δh'/2), and sin x ≥ 2x/π up to a right angle.
func (e extent) hueMayBe(o *extent) bool {
	g := gap(e.hLo, e.hHi, o.hLo, o.hHi)
	if !(g > 0 && g < math.Pi) {
		return true
	}
	return 2*math.Sqrt(e.cLo*o.cLo)*g/math.Pi <= aside*e.most(o)+boundSlack
}
