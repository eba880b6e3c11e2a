package trainer

import (
	"sync"

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
	thin    thinness
}

// thinness is how much of a library a level leaves.
type thinness struct{ groups, tabs int }

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

// sheet is what a level leaves of a library under a light; "" is daylight.
func (s *shelf) sheet(library int, light string, level exercises.Level) (*tabs.Sheet, error) {
	at := onShelf{library, light, thinness{level.Groups, level.Tabs}}
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
	l, err := tabs.Thin(s.libraries[library], level.Groups, level.Tabs)
	if err != nil {
		return nil, err
	}
	sheet := sharedSheet(l, light, under)
	s.seen[at] = sheet
	return sheet, nil
}

// shared are the sheets of all trainers in this process: a class on one server
// looks at the same tabs, and each sheet remembers what it has worked out.
var shared = struct {
	sync.Mutex
	sheets map[sharedKey]func() *tabs.Sheet
}{sheets: map[sharedKey]func() *tabs.Sheet{}}

type sharedKey struct{ library, fingerprint, light string }

// mostShared bounds what people's own libraries may add. House choice.
const mostShared = 64

// sharedSheet makes a sheet once, however many trainers ask for it at a time.
func sharedSheet(l *tabs.Library, light string, under func(colour.Lab) colour.Lab) *tabs.Sheet {
	key := sharedKey{l.Name(), l.Fingerprint(), light}
	shared.Lock()
	made, ok := shared.sheets[key]
	if !ok {
		made = sync.OnceValue(func() *tabs.Sheet { return tabs.NewSheet(l, under) })
		if len(shared.sheets) < mostShared {
			shared.sheets[key] = made
		}
	}
	shared.Unlock()
	return made()
}

// find returns which library a sitting was taken from.
func (s *shelf) find(setup exercises.Setup) (library int, ok bool) {
	for i := range s.libraries {
		sheet, err := s.sheet(i, setup.Viewing.Light, exercises.LevelOf(setup.Kind, setup.LevelNow()))
		if err == nil && sheet.Fingerprint() == setup.SheetID {
			return i, true
		}
	}
	return 0, false
}
