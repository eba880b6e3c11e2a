package history

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// seen is what an answer says of its question.
type seen struct {
	// scores say what of it was right, item by item; none in practice of one's own,
	// whose questions nobody else had, and where nothing is right or wrong.
	Scores []itemScore
	// The place of the value group that was right and of the one taken, and of the
	// nearest tab and the tab taken; −1 where there is none.
	Group, GroupTaken int16
	Tab, TabTaken     int32
	Far               bool // the excess over the best answer is beyond perceptibility
}

type itemScore struct {
	Item  Item
	Score float64 // 1 right, 0 wrong
}

// Item names a question across people: whoever has the same item saw the same
// bytes.
type Item struct {
	Kind   exercises.KindID
	Name   string
	Target colour.SRGB
}

func (as *asked) see(a *scoring.Attempt, m *scoring.Mark, in *scoring.Sitting) seen {
	s := seen{Group: -1, GroupTaken: -1, Tab: -1, TabTaken: -1}
	if in.Within != "" {
		it := Item{Kind: a.Trial.Kind, Name: a.Trial.Item, Target: a.Trial.Target}
		if it.Name == "" {
			it.Name = fmt.Sprintf("%03d", a.Trial.Ordinal+1)
		}
		it.Name = as.part + it.Name
		if a.Trial.Part != "" {
			it.Name += " " + a.Trial.Part
		}
		last, alike := "", 0
		for c := range as.judging.Of(m) {
			x := itemScore{Item: it}
			if c.Name != "" {
				x.Item.Name += " " + c.Name
			}
			if alike++; c.Name != last {
				last, alike = c.Name, 1
			}
			if alike > 1 { // the pairs of a bench
				x.Item.Name += fmt.Sprintf(" %d", alike)
			}
			if c.Right {
				x.Score = 1
			}
			s.Scores = append(s.Scores, x)
		}
	}
	sheet := in.Setup.Sheet
	if sheet == nil || !m.HasSheet || m.Sparse { // the teeth of a stock are not numbered as tabs are
		return s
	}
	at, placed := m.Place()
	taken := at.I
	if !placed {
		taken, _ = sheet.IndexOf(a.Answer.Tab)
		at.Group = groupTaken(sheet, a.Answer.Group, taken)
	}
	if m.HasGroup {
		s.GroupTaken = int16(at.Group)
		s.Group = s.GroupTaken + int16(m.GroupSteps) // too light counts up, and groups go from light to dark
	}
	// Who answers "between these two" takes no tab for another, and where that is
	// the best answer no tab is.
	if a.Answer.Neighbour == "" && m.Best.J < 0 {
		s.Tab, s.TabTaken = int32(m.Best.I), int32(taken)
		s.Far = m.Excess > scoring.Perceptibility.Value
	}
	return s
}

func groupTaken(sheet *tabs.Sheet, name string, tab int) int {
	for g, group := range sheet.Groups() {
		if group.Name == name {
			return g
		}
	}
	return sheet.GroupOf(tab)
}
