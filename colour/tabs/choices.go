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

// NearestGroup is the value group whose lightness L* is nearest to that of a
// colour; of equally near groups the lightest.
func (s *Sheet) NearestGroup(c colour.Lab) int {
	best, least := 0, math.Inf(1)
	for g, group := range s.groups {
		if d := math.Abs(group.Lightness - c.L); d < least {
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
	best, least := 0, math.Inf(1)
	for k := range choices {
		if colour.DeltaE00Floor(c, choices[k].flat) >= least {
			continue
		}
		if e := colour.DeltaE00(c, choices[k].flat); e < least {
			best, least = k, e
		}
	}
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
	for g, choices := range s.choices {
		scattered := rand.New(rand.NewPCG(1, 1)).Perm(len(s.groups[g].Tabs))
		for k := range choices {
			choices[k].look(choices, scattered)
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
// the tabs come in no order.
func (c *Choice) look(group []Choice, scattered []int) {
	var lessC, moreC, lessH, moreH bool
	for _, k := range scattered {
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
