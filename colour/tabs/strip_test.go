package tabs_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// On the strip groups differ in lightness alone, as far as bytes allow, in daylight
// and under a lamp; and which group is right is decided by the bytes shown.
func TestStripVariesInLightnessAlone(t *testing.T) {
	warm := func(c colour.Lab) colour.Lab { return colour.Lab{L: c.L, A: c.A + 4, B: c.B + 9} }
	for _, name := range tabs.Builtin() {
		l, err := tabs.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		for light, under := range map[string]func(colour.Lab) colour.Lab{"daylight": nil, "lamp": warm} {
			s := tabs.NewSheet(l, under)
			first := s.Groups()[0].Shown.Lab()
			for i, g := range s.Groups() {
				c := g.Shown.Lab()
				if g.Lightness != c.L {
					t.Errorf("%s: group %s is shown at L* %.3f and judged at %.3f", name, g.Name, c.L, g.Lightness)
				}
				if most := map[string]float64{"daylight": 0.5, "lamp": 0.9}[light]; math.Abs(c.A-first.A) > most || math.Abs(c.B-first.B) > most {
					t.Errorf("%s, %s: the patch of %s is %+v beside %+v", name, light, g.Name, c, first)
				}
				var mean float64
				for _, k := range g.Tabs {
					mean += s.Lab(k).L / float64(len(g.Tabs))
				}
				if math.Abs(mean-c.L) > 0.4 {
					t.Errorf("%s: group %s has L* %.2f and is shown at %.2f", name, g.Name, mean, c.L)
				}
				if i > 0 && c.L >= s.Groups()[i-1].Lightness {
					t.Errorf("%s: group %s is not darker than the one before", name, g.Name)
				}
				if s.NearestGroup(c) != i {
					t.Errorf("%s: the patch of %s leads to group %d", name, g.Name, s.NearestGroup(c))
				}
				weaker := c.LCh() // a byte may lead a little beyond the border
				weaker.C -= 0.8
				if light == "daylight" && !tabs.Teeth.Contains(weaker.Lab()) {
					t.Errorf("%s: %v stands for %s and is no tooth's", name, c.LCh(), g.Name)
				}
			}
		}
	}
}

// A group too light for the common chroma keeps its lightness and its hue.
func TestStripAtTheEndOfTheGamut(t *testing.T) {
	var groups []tabs.Group
	for _, l := range []float64{99, 60} {
		var of []tabs.Tab
		for _, c := range []float64{1, 60} {
			x := colour.LCh{L: l, C: c, H: 88}
			of = append(of, tabs.Tab{Name: x.String(), Lab: x.Lab()})
		}
		groups = append(groups, tabs.Group{Name: of[0].Name, Tabs: of})
	}
	l, err := tabs.New("wide", "", groups)
	if err != nil {
		t.Fatal(err)
	}
	s := tabs.NewSheet(l, nil)
	light, dark := s.Groups()[0].Shown.Lab().LCh(), s.Groups()[1].Shown.Lab().LCh()
	if light.C >= dark.C-5 || math.Abs(light.H-dark.H) > 4 || light.L < 97 {
		t.Errorf("the light group is shown as %v, the dark one as %v", light, dark)
	}
}

// The strip is stored with the sheet; a sheet stored without one keeps its
// fingerprint, its patches and what was right.
func TestStripIsStored(t *testing.T) {
	s := sheet(t, "starter")
	text, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	var again tabs.Sheet
	if err := json.Unmarshal(text, &again); err != nil {
		t.Fatal(err)
	}
	if again.Fingerprint() != s.Fingerprint() || again.Groups()[2].Shown != s.Groups()[2].Shown {
		t.Error("a stored strip came back otherwise")
	}
	// One byte of a stored strip is one of the sheet.
	shown := s.Groups()[2].Shown
	other := shown
	other.G++
	var altered tabs.Sheet
	if err := json.Unmarshal([]byte(strings.Replace(string(text), `"shown":"`+shown.Hex()+`","columns"`, `"shown":"`+other.Hex()+`","columns"`, 1)), &altered); err != nil {
		t.Fatal(err)
	}
	if altered.Fingerprint() == s.Fingerprint() {
		t.Error("the strip can be altered unnoticed")
	}
	const old = `{"library":"three","groups":[{"name":"L80","columns":[[{"name":"a","shown":"#d2c8b4","fits":true}],[{"name":"b","shown":"#cdc3a5","fits":true},{"name":"c","shown":"#c8c391","fits":true}]]}]}`
	var before tabs.Sheet
	if err := json.Unmarshal([]byte(old), &before); err != nil {
		t.Fatal(err)
	}
	g := before.Groups()[0]
	if g.Shown != before.Shown(0) || math.Abs(g.Lightness-(before.Lab(0).L+before.Lab(1).L+before.Lab(2).L)/3) > 1e-12 {
		t.Errorf("an old sheet's group is shown as %v at %.3f", g.Shown, g.Lightness)
	}
	if got := before.Fingerprint(); got != "6d9dece2cfede46c" {
		t.Errorf("an old sheet's fingerprint became %s", got)
	}
	if again, err := json.Marshal(&before); err != nil || strings.Contains(string(again), `"shown":"#d2c8b4","columns"`) {
		t.Errorf("an old sheet is written with a strip: %s, %v", again, err)
	}
	for _, bad := range []string{
		`{"library":"x","groups":[{"name":"L80","columns":[[{"name":"a","shown":"#d2c8b4"}]]},{"name":"L70","columns":[]}]}`,
		`{"library":"x","groups":[{"name":"L80","columns":[[{"name":"a","shown":"#d2c8b4"}],[]]}]}`,
	} {
		if err := json.Unmarshal([]byte(bad), new(tabs.Sheet)); err == nil {
			t.Errorf("a sheet with an empty place was read: %s", bad)
		}
	}
}
