package exercises

import (
	"testing"

	"shadedrill/colour"
	"shadedrill/exercises/observer"
)

// Every trial of a scene holds the whole picture and asks for one part of it, the
// neck first.
func TestThirdsScenes(t *testing.T) {
	sheet := sheetOf(t, "natural")
	for name, want := range map[string][]string{
		neighboursNone: {"cervical", "middle", "incisal"},
		NeighboursBoth: {"cervical", "middle", "incisal", "left cervical", "left middle", "left incisal", "right cervical", "right middle", "right incisal"},
	} {
		s := Setup{Kind: Thirds, Count: 20, Seed: 2, Sheet: sheet, Options: map[string]string{OptionNeighbours: name}}
		trials, _ := play(t, s, observer.Observer{}, 1)
		if len(trials)%len(want) != 0 || len(trials) < 20 {
			t.Errorf("%s: %d trials", name, len(trials))
		}
		for i, tr := range trials {
			if tr.Part != want[i%len(want)] || tr.Scene != i/len(want) {
				t.Fatalf("%s: trial %d asks %q of scene %d", name, i, tr.Part, tr.Scene)
			}
			if shown, ok := tr.Patch(tr.Part); !ok || shown != tr.Target {
				t.Fatalf("%s: trial %d shows other bytes than it asks for", name, i)
			}
			if _, _, _, ok := ToothOf(tr, ""); !ok {
				t.Fatalf("%s: trial %d has no tooth", name, i)
			}
			if _, _, _, ok := ToothOf(tr, LeftTooth); ok != (name == NeighboursBoth) {
				t.Fatalf("%s: trial %d: a neighbour %v", name, i, ok)
			}
		}
	}
}

// The gradients are of the published kind: the neck usually darker and more
// chromatic, sometimes not; the differences mostly beyond acceptability, the one
// at the neck larger.
func TestThirdsGradients(t *testing.T) {
	s := Setup{Kind: Thirds, Count: 3 * 600, Seed: 4, Sheet: sheetOf(t, "natural")}
	trials, _ := play(t, s, observer.Observer{}, 1)
	var darker, stronger, beyond, n int
	var neck, edge float64
	for i := 0; i < len(trials); i += 3 {
		c, m, e, _ := ToothOf(trials[i], "")
		d := colour.Compare(m.Lab(), c.Lab(), colour.Unit)
		n++
		if d.L < 0 {
			darker++
		}
		if d.C > 0 {
			stronger++
		}
		if d.E > 1.8 {
			beyond++
		}
		neck += d.E
		edge += colour.DeltaE00(m.Lab(), e.Lab())
	}
	t.Logf("of %d necks %d darker, %d more chromatic, %d beyond acceptability; mean ΔE00 %.2f at the neck, %.2f at the edge", n, darker, stronger, beyond, neck/float64(n), edge/float64(n))
	for what, k := range map[string]int{"darker": darker, "more chromatic": stronger} {
		if k < n*65/100 || k > n*90/100 {
			t.Errorf("%d of %d necks are %s", k, n, what)
		}
	}
	if beyond < n*3/4 || neck <= edge {
		t.Errorf("%d of %d necks beyond acceptability, mean %.2f at the neck and %.2f at the edge", beyond, n, neck/float64(n), edge/float64(n))
	}
}

func TestThirdsRefusesWhatItCannotDo(t *testing.T) {
	natural := sheetOf(t, "natural")
	refused(t, map[string]Setup{
		"no sheet":        {Kind: Thirds, Count: 3},
		"no trials":       {Kind: Thirds, Sheet: natural},
		"odd neighbours":  {Kind: Thirds, Count: 3, Sheet: natural, Options: map[string]string{OptionNeighbours: "left"}},
		"a single colour": {Kind: Thirds, Count: 3, Sheet: library(t, colour.Lab{L: 70, A: 1, B: 15})},
		"unknown light":   {Kind: Thirds, Count: 3, Sheet: natural, Viewing: Viewing{Light: "candle"}},
	})
}
