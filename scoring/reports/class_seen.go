package reports

import (
	"fmt"
	"strings"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/exam"
)

// seen is what an answer says of its question.
type seen struct {
	// scores say what of it was right, item by item; none in practice of one's own,
	// whose questions nobody else had, and where nothing is right or wrong.
	scores []itemScore
	// The place of the value group that was right and of the one taken, and of the
	// nearest tab and the tab taken; −1 where there is none.
	group, groupTaken int16
	tab, tabTaken     int32
	far               bool // more than perceptibility was given away
}

type itemScore struct {
	item  item
	score float64 // 1 right, 0 wrong
}

// item names a question across people: whoever has the same item saw the same
// bytes.
type item struct {
	kind   exercises.KindID
	name   string
	target colour.SRGB
}

func see(a scoring.Attempt, m scoring.Mark, in scoring.Sitting) seen {
	s := seen{group: -1, groupTaken: -1, tab: -1, tabTaken: -1}
	if in.Within != "" {
		it := item{kind: a.Trial.Kind, name: a.Trial.Item, target: a.Trial.Target}
		if it.name == "" {
			it.name = fmt.Sprintf("%03d", a.Trial.Ordinal+1)
		}
		if a.Trial.Part != "" {
			it.name += " " + a.Trial.Part
		}
		last, alike := "", 0
		for c := range m.Judgements(a.Trial.Kind) {
			x := itemScore{item: it}
			if c.Name != "" {
				x.item.name += " " + c.Name
			}
			if alike++; c.Name != last {
				last, alike = c.Name, 1
			}
			if alike > 1 { // the pairs of a bench
				x.item.name += fmt.Sprintf(" %d", alike)
			}
			if c.Right {
				x.score = 1
			}
			s.scores = append(s.scores, x)
		}
	}
	sheet := in.Setup.Sheet
	if sheet == nil || !m.HasSheet {
		return s
	}
	taken, _ := sheet.IndexOf(a.Answer.Tab)
	if m.HasGroup {
		s.groupTaken = int16(groupTaken(sheet, a.Answer.Group, taken))
		s.group = s.groupTaken + int16(m.GroupSteps) // too light counts up, and groups go from light to dark
	}
	// Who answers "between these two" takes no tab for another, and where that is
	// the best answer no tab is.
	if a.Answer.Neighbour == "" && m.Best.J < 0 {
		s.tab, s.tabTaken = int32(m.Best.I), int32(taken)
		s.far = m.Excess > scoring.Perceptibility.Value
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

// sightings count what was seen. Its numbers are whole, so that the order in which
// learners are added makes no difference.
type sightings struct {
	sheets map[string]*sheetSightings    // by fingerprint
	sets   map[string]map[item]shareSeen // by what sittings belong to
	taken  map[string]bool               // sets of which a sitting was counted, by exercise
}

type sheetSightings struct {
	sheet  *tabs.Sheet
	groups map[[2]int16]int // right, taken
	tabs   map[[2]int32]int // nearest, taken
	far    map[[2]int32]int // of these, more than perceptibility away
}

type shareSeen struct {
	sum float64 // of scores 0 and 1
	n   int
}

func (t *sightings) take(s *sittingHistory) {
	if len(s.seen) == 0 {
		return
	}
	var of *sheetSightings
	if s.sitting.Setup.Sheet != nil {
		of = t.sheet(s.sitting.Setup.SheetID, s.sitting.Setup.Sheet)
	}
	var items map[item]shareSeen
	if !exam.Free(s.sitting) { // whose items have no right answer
		items = t.set(setOf(s.sitting.Within), s.sitting.Setup.Kind)
	}
	for _, x := range s.seen {
		for _, of := range x.scores {
			if items == nil {
				break
			}
			sum := items[of.item]
			sum.sum += of.score
			sum.n++
			items[of.item] = sum
		}
		if of == nil {
			continue
		}
		if x.group >= 0 {
			of.groups[[2]int16{x.group, x.groupTaken}]++
		}
		if x.tab >= 0 {
			pair := [2]int32{x.tab, x.tabTaken}
			of.tabs[pair]++
			if x.far {
				of.far[pair]++
			}
		}
	}
	s.seen = nil
}

// add moves the counts of another over, all but those of shared items.
func (t *sightings) add(other *sightings) {
	for id, from := range other.sheets {
		t.sheet(id, from.sheet).add(from)
	}
	other.sheets = nil
}

func (of *sheetSightings) add(from *sheetSightings) {
	for pair, n := range from.groups {
		of.groups[pair] += n
	}
	for pair, n := range from.tabs {
		of.tabs[pair] += n
	}
	for pair, n := range from.far {
		of.far[pair] += n
	}
}

func (t *sightings) sheet(id string, sheet *tabs.Sheet) *sheetSightings {
	if t.sheets == nil {
		t.sheets = map[string]*sheetSightings{}
	}
	of := t.sheets[id]
	if of == nil {
		of = &sheetSightings{sheet: sheet, groups: map[[2]int16]int{}, tabs: map[[2]int32]int{}, far: map[[2]int32]int{}}
		t.sheets[id] = of
	}
	return of
}

// set is the place for the items of what sittings belong to, nil for nothing and
// for who did it before: the second time the items are known.
func (t *sightings) set(name string, kind exercises.KindID) map[item]shareSeen {
	if name == "" || t.taken[name+" "+string(kind)] {
		return nil
	}
	if t.sets == nil {
		t.sets, t.taken = map[string]map[item]shareSeen{}, map[string]bool{}
	}
	t.taken[name+" "+string(kind)] = true
	items := t.sets[name]
	if items == nil {
		items = map[item]shareSeen{}
		t.sets[name] = items
	}
	return items
}

// setOf names what a sitting belongs to. Of a proficiency test only the first
// take counts.
func setOf(within string) string {
	form, take, ok := exam.ParseWithin(within)
	switch {
	case !ok:
		return within
	case take > 1:
		return ""
	}
	return "proficiency test, form " + form
}

// setTitle is what people read for a set.
func (c *ClassReview) setTitle(set string) string {
	if title, ok := c.Class.Sets[set]; ok {
		return title
	}
	if kind, name, ok := strings.Cut(set, ":"); ok {
		return kind + " " + name
	}
	return set
}
