package tabs

import (
	"encoding/json"
	"fmt"

	"shadedrill/colour"
)

// sheetJSON is the stored form: everything else follows from it.
type sheetJSON struct {
	Library string      `json:"library"`
	Groups  []groupJSON `json:"groups"`
}

type groupJSON struct {
	Name    string       `json:"name"`
	Shown   *colour.SRGB `json:"shown,omitempty"` // of the strip; sheets stored by older programs lack it
	Columns [][]shownTab `json:"columns"`
}

// MarshalJSON writes the sheet: groups, columns, names and bytes, those of the strip included.
func (s *Sheet) MarshalJSON() ([]byte, error) {
	out := sheetJSON{Library: s.library}
	for _, g := range s.groups {
		group := groupJSON{Name: g.Name}
		if g.strip {
			group.Shown = &g.Shown
		}
		for _, column := range g.Columns {
			var tabs []shownTab
			for _, i := range column {
				tabs = append(tabs, s.shown[i])
			}
			group.Columns = append(group.Columns, tabs)
		}
		out.Groups = append(out.Groups, group)
	}
	return json.Marshal(out)
}

// UnmarshalJSON reads what MarshalJSON wrote; the fingerprint comes out the same.
// A sheet without tabs, or with a name no library would have, is refused.
func (s *Sheet) UnmarshalJSON(text []byte) error {
	var in sheetJSON
	if err := json.Unmarshal(text, &in); err != nil {
		return err
	}
	read := Sheet{library: in.Library}
	for gi, g := range in.Groups {
		if err := checkName(g.Name); err != nil {
			return fmt.Errorf("stored sheet: a group's name %w", err)
		}
		group := SheetGroup{Name: g.Name}
		if g.Shown != nil {
			group.Shown, group.strip = *g.Shown, true
		}
		if len(g.Columns) == 0 {
			return fmt.Errorf("stored sheet: group %q has no tabs", g.Name)
		}
		for _, column := range g.Columns {
			if len(column) == 0 {
				return fmt.Errorf("stored sheet: group %q has an empty column", g.Name)
			}
			var places []int
			for _, t := range column {
				if err := checkName(t.Name); err != nil {
					return fmt.Errorf("stored sheet: a tab's name %w", err)
				}
				places = append(places, len(read.shown))
				read.shown = append(read.shown, t)
				read.groupOf = append(read.groupOf, gi)
			}
			group.Columns = append(group.Columns, places)
			group.Tabs = append(group.Tabs, places...)
		}
		read.groups = append(read.groups, group)
	}
	if len(read.shown) == 0 {
		return fmt.Errorf("stored sheet: no tabs")
	}
	s.library, s.shown, s.groupOf, s.groups = read.library, read.shown, read.groupOf, read.groups
	s.readBytes()
	s.finish()
	return nil
}
