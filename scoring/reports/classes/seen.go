package classes

import (
	"strings"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/reports/history"
)

// sightings count what was seen. Its numbers are whole, so that the order in which
// learners are added makes no difference.
type sightings struct {
	sheets map[string]*sheetSightings            // by fingerprint
	sets   map[string]map[history.Item]shareSeen // by what sittings belong to
	taken  map[string]bool                       // sets of which a sitting was counted, by exercise
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

func (t *sightings) take(s *history.Sitting) {
	if len(s.Seen) == 0 {
		return
	}
	var of *sheetSightings
	if s.Setup.Sheet != nil {
		of = t.sheet(s.Setup.SheetID, s.Setup.Sheet)
	}
	var items map[history.Item]shareSeen
	if s.Judges() {
		items = t.set(setOf(s.Within), s.Setup)
	}
	for _, x := range s.Seen {
		for _, of := range x.Scores {
			if items == nil {
				break
			}
			sum := items[of.Item]
			sum.sum += of.Score
			sum.n++
			items[of.Item] = sum
		}
		if of == nil {
			continue
		}
		if x.Group >= 0 {
			of.groups[[2]int16{x.Group, x.GroupTaken}]++
		}
		if x.Tab >= 0 {
			pair := [2]int32{x.Tab, x.TabTaken}
			of.tabs[pair]++
			if x.Far {
				of.far[pair]++
			}
		}
	}
	s.Seen = nil
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
func (t *sightings) set(name string, asked exercises.Setup) map[history.Item]shareSeen {
	part := name + " " + string(asked.Kind) + " " + asked.Options[scoring.OptionPart]
	if name == "" || t.taken[part] {
		return nil
	}
	if t.sets == nil {
		t.sets, t.taken = map[string]map[history.Item]shareSeen{}, map[string]bool{}
	}
	t.taken[part] = true
	items := t.sets[name]
	if items == nil {
		items = map[history.Item]shareSeen{}
		t.sets[name] = items
	}
	return items
}

// setOf names what a sitting belongs to. Of a proficiency test only the first
// take counts.
func setOf(within string) string {
	ref, _ := scoring.ParseSetRef(within)
	switch {
	case ref.Kind != scoring.TestSet:
		return within
	case ref.Take > 1:
		return ""
	}
	return "proficiency test, form " + ref.Name
}

// setTitle is what people read for a set.
func (c *Review) setTitle(set string) string {
	if title, ok := c.Scope.Sets[set]; ok {
		return title
	}
	if kind, name, ok := strings.Cut(set, ":"); ok {
		return kind + " " + name
	}
	return set
}
