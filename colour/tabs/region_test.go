package tabs_test

import (
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// The region holds the published means and none of the colours that no mouth has.
func TestRegionHoldsTeeth(t *testing.T) {
	for _, mean := range []colour.Lab{
		{L: 84.01, A: 0.17, B: 24.07}, {L: 82.33, A: 0.31, B: 25.99}, // 101 children, maxillary incisors (JKAPD 2022;49:414–427)
		{L: 83.2, A: -0.7, B: 21.7}, {L: 79.4, A: -0.5, B: 23.9}, // 255 adults at 20–29 and at 40–49 (OAMJMS 2017.155)
	} {
		if !tabs.Teeth.Contains(mean) || !tabs.NaturalTeeth.Contains(mean) {
			t.Errorf("%v is a published mean and lies outside", mean.LCh())
		}
	}
	for name, c := range map[string]colour.LCh{
		"olive": {L: 62, C: 14, H: 102}, "dark khaki": {L: 60, C: 25, H: 98}, "orange": {L: 84, C: 26, H: 76}, "light orange": {L: 88, C: 21, H: 77},
	} {
		if tabs.Teeth.Contains(c.Lab()) {
			t.Errorf("%s, %v, is in the region", name, c)
		}
		if !tabs.ToothBox.Contains(c.Lab()) {
			t.Errorf("%s, %v, is beyond what may be measured", name, c)
		}
	}
}

// As in the studies, lighter goes with yellower, stronger with redder, and a* rises
// with b*; samples and grids keep to the bounds.
func TestRegionIsJoint(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	var l, c, h []float64
	for range 20000 {
		x := tabs.Teeth.Sample(rng)
		if !tabs.Teeth.Contains(x) || !tabs.ToothBox.Contains(x) {
			t.Fatalf("%v was drawn and lies outside", x.LCh())
		}
		lch := x.LCh()
		l, c, h = append(l, lch.L), append(c, lch.C), append(h, lch.H)
	}
	if r := stat.Correlation(l, h, nil); r < 0.15 {
		t.Errorf("lightness and hue angle: r = %.2f", r)
	}
	if r := stat.Correlation(c, h, nil); r > -0.15 {
		t.Errorf("chroma and hue angle: r = %.2f", r)
	}
	for _, x := range tabs.Teeth.Grid(0.8) {
		if !tabs.Teeth.Contains(x) {
			t.Fatalf("%v is of the grid and lies outside", x.LCh())
		}
	}
}
