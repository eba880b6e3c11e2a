package exercises

import (
	"fmt"
	"math/rand/v2"
	"strings"

	"shadedrill/colour"
	"shadedrill/colour/fault"
	"shadedrill/colour/tabs"
)

// unusable says why a drill cannot be asked for, and what would mend it.
func unusable(hint, format string, values ...any) error {
	return fault.New(fmt.Sprintf(format, values...), hint)
}

// MostTrials is the longest drill; house rule.
const MostTrials = 10000

// checkCount refuses drills of no length and of endless length.
func (s Setup) checkCount() error {
	if s.Count < 1 || s.Count > MostTrials {
		return unusable(fmt.Sprintf("ask for 1 to %d trials", MostTrials), "a drill cannot have %d trials", s.Count)
	}
	return nil
}

// checkSheet refuses a sheet without a choice: matching needs two colours that
// differ as shown.
func (s Setup) checkSheet() error {
	if s.Sheet == nil || s.Sheet.Len() == 0 {
		return unusable("choose a library of tabs", "this exercise needs a library of tabs")
	}
	first := s.Sheet.Shown(0)
	for i := range s.Sheet.Len() {
		if s.Sheet.Shown(i) != first {
			return nil
		}
	}
	if s.Sheet.Len() == 1 {
		return unusable("choose a library with at least two tabs that differ", "library %q has a single tab: there is nothing to choose between", s.Sheet.Library())
	}
	return unusable("choose a library with at least two tabs that differ", "all %d tabs of library %q look the same on a display", s.Sheet.Len(), s.Sheet.Library())
}

// checkWord refuses a setting that is not one of the words; empty is always
// allowed and means the kind's own.
func checkWord(what, word string, allowed ...string) error {
	if word == "" {
		return nil
	}
	for _, a := range allowed {
		if word == a {
			return nil
		}
	}
	return unusable("there are: "+strings.Join(allowed, ", "), "no %s %q", what, fault.Excerpt(word))
}

// checkMatching refuses what no exercise can ask that matches targets with a
// library's tabs: an unusable count or sheet, or an unknown kind of target.
func (s Setup) checkMatching() error {
	if err := s.checkCount(); err != nil {
		return err
	}
	if err := s.checkSheet(); err != nil {
		return err
	}
	return checkWord("kind of target", string(s.Targets), string(NaturalTargets), string(TabTargets))
}

// lamp is what the drill's light does to a daylight colour. A colour that no
// tooth reflectance has keeps its daylight appearance.
func (s Setup) lamp() (func(colour.Lab) colour.Lab, error) {
	if s.Viewing.Light == "" {
		return func(c colour.Lab) colour.Lab { return c }, nil
	}
	light, err := colour.LightByID(s.Viewing.Light)
	if err != nil {
		return nil, unknownLight(s.Viewing.Light)
	}
	return Under(light), nil
}

func unknownLight(id string) error {
	var known []string
	for _, l := range colour.Lights() {
		known = append(known, l.ID)
	}
	return unusable("there are: "+strings.Join(known, ", "), "no light %q", fault.Excerpt(id))
}

// Under is what a light does to daylight colours: for [tabs.NewSheet] and for
// targets alike, so that both are seen in the same lamp. A colour that no tooth
// reflectance has keeps its daylight appearance.
func Under(light colour.Light) func(colour.Lab) colour.Lab {
	return func(c colour.Lab) colour.Lab {
		seen, found := light.Under(c)
		if !found {
			return c
		}
		return seen
	}
}

// drawShown draws colours until one can be displayed as it is, and gives its
// bytes.
func drawShown(rng *rand.Rand, lamp func(colour.Lab) colour.Lab, draw func(*rand.Rand) colour.Lab) colour.SRGB {
	var shown colour.SRGB
	// Nearly every tooth colour fits; the bound is for lamps and regions that
	// leave hardly anything.
	for range 1000 {
		var fits bool
		if shown, fits = lamp(draw(rng)).SRGB(); fits {
			break
		}
	}
	return shown
}

// showableTabs lists the tabs that the display shows as they are; all of them
// when it can show none.
func showableTabs(sheet *tabs.Sheet) []int {
	var fit, all []int
	for i := range sheet.Len() {
		all = append(all, i)
		if sheet.Fits(i) {
			fit = append(fit, i)
		}
	}
	if len(fit) == 0 {
		return all
	}
	return fit
}
