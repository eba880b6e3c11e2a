package trainer

import (
	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

// shelf holds the tab libraries to choose from, and each as it looks under the
// lamps it was asked for.
type shelf struct {
	libraries []*tabs.Library
	seen      map[onShelf]*tabs.Sheet
}

type onShelf struct {
	library int
	light   string
}

// newShelf takes the given libraries, or the built-in ones.
func newShelf(libraries []*tabs.Library) (*shelf, error) {
	s := &shelf{libraries: libraries, seen: map[onShelf]*tabs.Sheet{}}
	if len(libraries) > 0 {
		return s, nil
	}
	for _, name := range tabs.Builtin() {
		l, err := tabs.Load(name)
		if err != nil {
			return nil, err
		}
		s.libraries = append(s.libraries, l)
	}
	return s, nil
}

// sheet is a library under a light; "" is daylight.
func (s *shelf) sheet(library int, light string) (*tabs.Sheet, error) {
	at := onShelf{library, light}
	if sheet, ok := s.seen[at]; ok {
		return sheet, nil
	}
	var under func(colour.Lab) colour.Lab
	if light != "" {
		lamp, err := colour.LightByID(light)
		if err != nil {
			return nil, err
		}
		under = exercises.Under(lamp)
	}
	sheet := tabs.NewSheet(s.libraries[library], under)
	s.seen[at] = sheet
	return sheet, nil
}

// find returns which library a sitting was taken from.
func (s *shelf) find(fingerprint, light string) (library int, ok bool) {
	for i := range s.libraries {
		if sheet, err := s.sheet(i, light); err == nil && sheet.Fingerprint() == fingerprint {
			return i, true
		}
	}
	return 0, false
}
