package exercises

import (
	"cmp"
	"math"
	"reflect"
	"slices"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// Value comes first, then chroma, then hue, and within each the rows grow.
func TestLineUpLessons(t *testing.T) {
	for _, c := range []struct {
		setup   Setup
		parts   string // initials
		patches []int
	}{
		{Setup{Count: 12}, "vvvvcccchhhh", []int{5, 6, 8, 9, 5, 6, 8, 9, 5, 6, 8, 9}},
		{Setup{Count: 7}, "vvvcchh", []int{5, 7, 9, 5, 9, 5, 9}},
		{Setup{Count: 1}, "v", []int{5}},
		{Setup{Count: 2}, "vc", []int{5, 5}},
		{Setup{Count: 5, Attribute: "hue"}, "hhhhh", []int{5, 6, 7, 8, 9}},
		{Setup{Count: 3, Options: map[string]string{OptionPatches: "7"}}, "vch", []int{7, 7, 7}},
	} {
		c.setup.Kind, c.setup.Seed = LineUp, 3
		trials, _ := play(t, c.setup, observer.Observer{}, 1)
		parts, patches := "", []int(nil)
		for _, tr := range trials {
			parts += tr.Part[:1]
			patches = append(patches, len(tr.Patches))
		}
		if parts != c.parts || !slices.Equal(patches, c.patches) {
			t.Errorf("%+v: %s with %v patches instead of %s with %v", c.setup, parts, patches, c.parts, c.patches)
		}
	}
}

// As shown, neighbours differ visibly along the attribute and hardly in the
// others; the row has its span and is laid out of order; and the colours are those
// of teeth.
func TestLineUpRows(t *testing.T) {
	for light, slack := range map[string]float64{"": 0, "a": 0.03, "f11": 0.03} {
		for _, lesson := range lineUpAttributes {
			s := Setup{Kind: LineUp, Count: 12, Seed: 7, Attribute: lesson.name, Viewing: Viewing{Light: light}}
			trials, _ := play(t, s, observer.Observer{}, 1)
			for _, tr := range trials {
				order := RightOrder(tr)
				if slices.IsSorted(order) {
					t.Errorf("%s: the row lies in order", lesson.name)
				}
				var row []colour.SRGB
				for _, i := range order {
					row = append(row, tr.Patches[i].Colour)
				}
				if row[len(row)/2] != tr.Target {
					t.Errorf("%s: the target is not the middle of the row", lesson.name)
				}
				step := lineUpSpan / float64(len(row)-1)
				for i := range row {
					c := row[i].Lab()
					region := tabs.Teeth
					if lesson.name == AttributeHue {
						region = tabs.ToothBox
					}
					if light == "" && !region.Contains(c) && colour.DeltaE00(c, nearestIn(region, c)) > 0.6 {
						t.Errorf("%s: %v is no tooth", lesson.name, c.LCh())
					}
					if _, across := parts(colour.Compare(row[0].Lab(), c, colour.Unit), lesson.to); across > 0.5+slack {
						t.Errorf("%s under %q: patch %d is %.2f off in the other attributes", lesson.name, light, i+1, across)
					}
					if i == 0 {
						continue
					}
					along, _ := parts(colour.Compare(row[i-1].Lab(), c, colour.Unit), lesson.to)
					if along < 0.8-slack || math.Abs(along-step) > 0.35 {
						t.Errorf("%s under %q: a step of %.2f instead of %.2f", lesson.name, light, along, step)
					}
				}
			}
		}
	}
}

// nearestIn is a colour of the region, moved back in from outside.
func nearestIn(r tabs.Region, c colour.Lab) colour.Lab {
	x := c.LCh()
	x.L = min(max(x.L, r.Darkest), r.Lightest)
	least, most := r.ChromaRange(x.L)
	x.C = min(max(x.C, least), most)
	reddest, yellowest := r.HueRange(x.L, x.C)
	x.H = min(max(x.H, reddest), yellowest)
	return x.Lab()
}

// Around tabs: the middle of each row is a tab, to the nearest bytes.
func TestLineUpAroundTabs(t *testing.T) {
	sheet := sheetOf(t, "natural")
	trials, _ := play(t, Setup{Kind: LineUp, Count: 30, Seed: 2, Sheet: sheet, Targets: TabTargets}, observer.Observer{}, 1)
	for _, tr := range trials {
		if _, e := sheet.Nearest(tr.Target.Lab()); e > 0.5 {
			t.Errorf("trial %d: the nearest tab is %.2f from the middle of the row", tr.Ordinal, e)
		}
	}
}

// The right order runs as the labels of the ends say.
func TestRightOrder(t *testing.T) {
	show := func(list ...colour.LCh) (patches []Patch) {
		for _, c := range list {
			shown, _ := c.Lab().SRGB()
			patches = append(patches, Patch{"patch", shown})
		}
		return patches
	}
	for part, patches := range map[string][]Patch{
		"value":  show(colour.LCh{L: 75, C: 20, H: 90}, colour.LCh{L: 70, C: 20, H: 90}, colour.LCh{L: 80, C: 20, H: 90}),
		"chroma": show(colour.LCh{L: 75, C: 18, H: 90}, colour.LCh{L: 75, C: 26, H: 90}, colour.LCh{L: 75, C: 10, H: 90}),
		"hue":    show(colour.LCh{L: 75, C: 20, H: 2}, colour.LCh{L: 75, C: 20, H: 20}, colour.LCh{L: 75, C: 20, H: 345}),
	} {
		tr := Trial{Kind: LineUp, Part: part, Target: patches[0].Colour, Patches: patches}
		if got := RightOrder(tr); !slices.Equal(got, []int{2, 0, 1}) {
			t.Errorf("%s: %v", part, got)
		}
	}
	if got := RightOrder(Trial{Kind: LineUp, Part: "gloss", Patches: show(colour.LCh{L: 75})}); got != nil {
		t.Errorf("an unknown attribute has an order: %v", got)
	}
}

func TestLineUpRefusesWhatItCannotDo(t *testing.T) {
	grey := library(t, colour.Lab{L: 70}, colour.Lab{L: 60})
	refused(t, map[string]Setup{
		"no trials":      {Kind: LineUp},
		"odd attribute":  {Kind: LineUp, Count: 3, Attribute: "gloss"},
		"three patches":  {Kind: LineUp, Count: 3, Options: map[string]string{OptionPatches: "3"}},
		"ten patches":    {Kind: LineUp, Count: 3, Options: map[string]string{OptionPatches: "10"}},
		"odd targets":    {Kind: LineUp, Count: 3, Targets: "teeth"},
		"unknown light":  {Kind: LineUp, Count: 3, Viewing: Viewing{Light: "candle"}},
		"tabs, none":     {Kind: LineUp, Count: 3, Targets: TabTargets},
		"hues of a grey": {Kind: LineUp, Count: 3, Attribute: "hue", Targets: TabTargets, Sheet: grey},
	})
	if _, err := NewRun(Setup{Kind: LineUp, Count: 3, Attribute: "value", Targets: TabTargets, Sheet: grey}); err != nil {
		t.Errorf("greys have values: %v", err)
	}
}

// A spread that no row has room for is as wide as a row can be, and found as soon.
func TestLineUpWiderThanTeeth(t *testing.T) {
	for _, attribute := range []string{"", "value", "chroma", "hue"} {
		for _, targets := range []Targets{NaturalTargets, TabTargets} {
			setup := Setup{Kind: LineUp, Seed: 3, Count: 4, Attribute: attribute, Spread: mostSpread, Targets: targets, Sheet: sheetOf(t, "natural")}
			wide, _ := play(t, setup, observer.Observer{}, 1)
			setup.Spread = widestRow[cmp.Or(attribute, AttributeValue)]
			widest, _ := play(t, setup, observer.Observer{}, 1)
			if !reflect.DeepEqual(wide, widest) {
				t.Errorf("%q around %s: another row where the spread is wider than any", attribute, targets)
			}
			for _, trial := range wide {
				for _, i := range RightOrder(trial) {
					if c := trial.Patches[i].Colour.Lab(); targets == NaturalTargets && attribute != "hue" && !tabs.ToothBox.Contains(c) {
						t.Errorf("%q: %v is no colour of a tooth", attribute, c)
					}
				}
			}
		}
	}
}
