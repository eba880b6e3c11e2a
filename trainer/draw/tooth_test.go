package draw

import (
	"testing"

	"shadedrill/colour"
)

func TestAToothHasExactlyItsColoursAndRunsSmoothlyBetween(t *testing.T) {
	own := Tooth{
		Cervical: colour.SRGB{R: 196, G: 176, B: 140},
		Middle:   colour.SRGB{R: 214, G: 199, B: 170},
		Incisal:  colour.SRGB{R: 220, G: 212, B: 192},
	}
	for y, want := range map[float64]colour.SRGB{1. / 6: own.Cervical, 0.5: own.Middle, 5. / 6: own.Incisal, 0: own.Cervical, 1: own.Incisal} {
		if got := own.at(y); got != want {
			t.Errorf("at %.2f it is %v, not %v", y, got, want)
		}
	}
	// Between two of a hundred steps nobody sees an edge.
	for i := range 100 {
		a, b := own.at(float64(i)/100), own.at(float64(i+1)/100)
		if e := colour.DeltaE00(a.Lab(), b.Lab()); e > 0.8 {
			t.Errorf("at %d %% the colour jumps by %.2f ΔE00", i, e)
		}
	}
}

func TestTheOutlineOfATooth(t *testing.T) {
	widest, at := 0.0, 0.0
	for i := range 101 {
		y := float64(i) / 100
		w := halfWidth(y)
		if !(w > 0.2 && w <= 1) {
			t.Fatalf("at %.2f the half-width is %v", y, w)
		}
		if w > widest {
			widest, at = w, y
		}
	}
	if at < 0.6 || at > 0.95 || halfWidth(0.02) > 0.7 {
		t.Errorf("widest at %.2f, at the neck %.2f", at, halfWidth(0.02))
	}
}
