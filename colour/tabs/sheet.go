package tabs

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"sync"

	"shadedrill/colour"
)

// Sheet is a library as a screen shows it: every tab's bytes, perhaps under
// another lamp. Marks are computed from a Sheet. It serialises to JSON, so that
// the record can keep it and an old answer can be marked again; it is safe for
// concurrent use.
type Sheet struct {
	library string
	shown   []shownTab
	places  map[string]int // of tabs by name
	labs    []colour.Lab   // of the shown bytes
	groupOf []int
	groups  []SheetGroup
	print   string
	tabs    *index

	between     sync.Once
	neighbours  [][]int
	pairs       []pair
	pairColours *index
	choices     [][]Choice // by group
	flats       []*index   // of the choices of each group, by chroma and hue
	sights      sights
	cells       cells
}

// shownTab is one tab as shown.
type shownTab struct {
	Name  string      `json:"name"`
	Shown colour.SRGB `json:"shown"`
	Fits  bool        `json:"fits"` // inside the display's gamut
	// Measured is the library's own colour in daylight, before any rounding;
	// sheets stored by older programs lack it.
	Measured *colour.Lab `json:"measured,omitempty"`
}

// SheetGroup is a value group: the indices of its tabs in sheet order, and the
// same tabs as columns of equal chroma, each by rising hue angle. Shown is the
// patch that stands for the group where groups are chosen among, and Lightness
// the L* of that patch: which group is as light as a target is decided by what
// could be seen. In a sheet stored before groups had a patch of their own, Shown is
// the tab in the middle, as it was shown then, and Lightness the mean L* of the tabs.
type SheetGroup struct {
	Name      string
	Lightness float64
	Shown     colour.SRGB
	Tabs      []int
	Columns   [][]int

	strip bool // the group has a patch of its own
}

// Middle is the tab in the middle of the group: of its columns by chroma the one in
// the middle, and in that the hue in the middle.
func (g SheetGroup) Middle() int {
	column := g.Columns[(len(g.Columns)-1)/2]
	return column[(len(column)-1)/2]
}

// NewSheet shows a library under a lamp: under maps each tab's daylight colour to
// its appearance there; nil is daylight. Tabs keep their index, their group and
// their place in it.
func NewSheet(l *Library, under func(colour.Lab) colour.Lab) *Sheet {
	s := &Sheet{library: l.name}
	for gi, g := range l.groups {
		group := SheetGroup{Name: g.Name}
		for _, column := range intoColumns(g.Tabs) {
			var places []int
			for _, t := range column {
				c := t.Lab
				if under != nil {
					c = under(c)
				}
				shown, fits := c.SRGB()
				places = append(places, len(s.shown))
				s.shown = append(s.shown, shownTab{t.Name, shown, fits, &t.Lab})
				s.groupOf = append(s.groupOf, gi)
			}
			group.Columns = append(group.Columns, places)
			group.Tabs = append(group.Tabs, places...)
		}
		s.groups = append(s.groups, group)
	}
	s.readBytes()
	s.layStrip()
	s.finish()
	return s
}

// readBytes finds each tab's colour as shown, and its place by name.
func (s *Sheet) readBytes() {
	s.labs = make([]colour.Lab, len(s.shown))
	s.places = make(map[string]int, len(s.shown))
	for i, t := range s.shown {
		s.labs[i] = t.Shown.Lab()
		if _, twice := s.places[t.Name]; !twice {
			s.places[t.Name] = i
		}
	}
	s.tabs = newIndex(s.labs)
}

// finish computes what else follows from the bytes.
func (s *Sheet) finish() {
	h := sha256.New()
	for gi, g := range s.groups {
		fmt.Fprintf(h, "group %q\n", g.Name)
		if g.strip {
			s.groups[gi].Lightness = g.Shown.Lab().L
			fmt.Fprintf(h, "shown as %s\n", g.Shown.Hex())
		} else {
			s.groups[gi].Shown = s.shown[g.Middle()].Shown
			s.groups[gi].Lightness = meanLight(s.colours(g.Tabs))
		}
		for _, column := range g.Columns {
			fmt.Fprintln(h, "column")
			for _, i := range column {
				fmt.Fprintf(h, "%q %s\n", s.shown[i].Name, s.shown[i].Shown.Hex())
			}
		}
	}
	s.print = hex.EncodeToString(h.Sum(nil))[:16]
}

// Library returns the name of the library shown.
func (s *Sheet) Library() string { return s.library }

// Fingerprint identifies groups, names, places and bytes, those of the strip
// included: the first 16
// hexadecimal digits of a SHA-256.
func (s *Sheet) Fingerprint() string { return s.print }

// Len returns the number of tabs.
func (s *Sheet) Len() int { return len(s.shown) }

// Name returns the name of tab i.
func (s *Sheet) Name(i int) string { return s.shown[i].Name }

// Shown returns the bytes of tab i.
func (s *Sheet) Shown(i int) colour.SRGB { return s.shown[i].Shown }

// Fits reports whether tab i lies inside the display's gamut; otherwise its bytes
// are the clamped ones and show another colour.
func (s *Sheet) Fits(i int) bool { return s.shown[i].Fits }

// Lab returns the colour of tab i's bytes.
func (s *Sheet) Lab(i int) colour.Lab { return s.labs[i] }

// Measured returns the library's own daylight colour of tab i, neither rounded
// nor clamped to what a display shows: what counts for tabs in the hand. Where a
// stored sheet lacks it, it is the colour of the bytes.
func (s *Sheet) Measured(i int) colour.Lab {
	if m := s.shown[i].Measured; m != nil {
		return *m
	}
	return s.labs[i]
}

// GroupOf returns the index in Groups of tab i's value group.
func (s *Sheet) GroupOf(i int) int { return s.groupOf[i] }

// Groups returns the value groups, lightest first. The slices are the sheet's
// own: read them only.
func (s *Sheet) Groups() []SheetGroup { return s.groups }

// IndexOf finds a tab by its name.
func (s *Sheet) IndexOf(name string) (int, bool) {
	i, found := s.places[name]
	return i, found
}

// Colour returns the colour of shown bytes: that of tab i where they are the tab's.
func (s *Sheet) Colour(shown colour.SRGB, i int) colour.Lab {
	if s.shown[i].Shown == shown {
		return s.labs[i]
	}
	return shown.Lab()
}

// Nearest returns the tab whose shown colour is nearest to the target, and its
// ΔE00; of equally near tabs the first.
func (s *Sheet) Nearest(target colour.Lab) (i int, dE float64) { return s.tabs.nearest(target) }
