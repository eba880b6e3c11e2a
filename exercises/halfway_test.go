package exercises

import (
	"math"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// Ends are colours of teeth that differ along the attribute named, as far apart
// as said; the target lies between them; all of it is asked equally often.
func TestHalfwayTrials(t *testing.T) {
	trials, _ := play(t, Setup{Kind: Halfway, Count: 600, Seed: 2}, observer.Observer{}, 1)
	asked := map[string]int{}
	var places [Places]int
	for _, tr := range trials {
		left, right, ok := EndsOf(tr)
		if !ok {
			t.Fatalf("trial %d has no ends: %+v", tr.Ordinal, tr)
		}
		for _, end := range []colour.SRGB{left, right} {
			// Rounded to bytes, a colour may come to lie a little outside.
			x := end.Lab().LCh()
			if least, most := tabs.Teeth.ChromaRange(x.L); x.L < 57.7 || x.L > 93.3 || x.C < least-0.6 || x.C > most+0.6 {
				t.Errorf("trial %d: %v is no colour of a tooth", tr.Ordinal, x)
			}
		}
		asked[tr.Part]++
		d := colour.Compare(left.Lab(), right.Lab(), colour.Unit)
		if math.Abs(d.E-tr.Level) > 1e-9 || d.E < leastSpan-0.5 || d.E > mostSpan+0.5 {
			t.Errorf("trial %d: the ends are %.2f apart, said are %.2f", tr.Ordinal, d.E, tr.Level)
		}
		for _, a := range attributes {
			off := d.Direction().Angle(a.more)
			if off > 90 {
				off = 180 - off
			}
			if (a.name == tr.Part) != (off < 45) || a.name == tr.Part && off > 7 {
				t.Errorf("trial %d, %s: %.1f° off %s", tr.Ordinal, tr.Part, off, a.name)
			}
		}
		share := ShareOfWay(left, right, tr.Target)
		if share < -0.06 || share > 1.06 {
			t.Errorf("trial %d: the target lies at %.2f", tr.Ordinal, share)
		}
		best := NearestPlace(left, right, tr.Target.Lab())
		places[best]++
		if off := math.Abs(share - float64(best)/(Places-1)); off > 0.125+0.07 {
			t.Errorf("trial %d: %.2f of the way is said to be nearest to place %d", tr.Ordinal, share, best)
		}
		for p := range Places - 1 {
			if e := colour.DeltaE00(InBetween(left, right, p).Lab(), InBetween(left, right, p+1).Lab()); e < leastQuarter || e > mostQuarter {
				t.Errorf("trial %d: a quarter of the way is %.2f ΔE00", tr.Ordinal, e)
			}
		}
	}
	for _, a := range attributes {
		if asked[a.name] != 200 {
			t.Errorf("%s is asked %d times of 600", a.name, asked[a.name])
		}
	}
	// The ends are nearest for an eighth of the way each, the others for a quarter;
	// three standard errors of 600 draws are 4 to 5 %.
	for p, n := range places {
		want := 0.25
		if p == 0 || p == Places-1 {
			want = 0.125
		}
		if got := float64(n) / 600; math.Abs(got-want) > 0.05 {
			t.Errorf("place %d is right in %.0f %% of trials", p, 100*got)
		}
	}
}

// An observer without errors names the nearest place; a bias moves the answer towards it.
func TestHalfwayEyes(t *testing.T) {
	s := Setup{Kind: Halfway, Count: 300, Seed: 5, Attribute: AttributeChroma}
	trials, answers := play(t, s, observer.Observer{}, 1)
	for i, tr := range trials {
		left, right, _ := EndsOf(tr)
		want := TakePlace(left, right, NearestPlace(left, right, tr.Target.Lab()))
		if tr.Part != AttributeChroma || *answers[i].Number != *want.Number || *answers[i].Colour != *want.Colour {
			t.Fatalf("trial %d, %s: %v instead of %v", i, tr.Part, *answers[i].Number, *want.Number)
		}
	}
	_, biased := play(t, s, observer.Observer{BiasC: 2}, 1)
	more, less := 0, 0
	for i, a := range biased {
		switch c, was := a.Colour.Lab().Chroma(), answers[i].Colour.Lab().Chroma(); {
		case c > was+0.5:
			more++
		case c < was-0.5:
			less++
		}
	}
	if more < 200 || less > 0 {
		t.Errorf("a bias of 2 towards chroma answers more chromatic in %d of 300 and less in %d", more, less)
	}
}

// Pairs of tabs are tabs, and differ mainly in the attribute.
func TestHalfwayTabs(t *testing.T) {
	sheet := sheetOf(t, "natural")
	shown := map[colour.SRGB]bool{}
	for i := range sheet.Len() {
		shown[sheet.Shown(i)] = true
	}
	trials, _ := play(t, Setup{Kind: Halfway, Count: 90, Seed: 5, Targets: TabTargets, Sheet: sheet}, observer.Observer{}, 1)
	for _, tr := range trials {
		left, right, _ := EndsOf(tr)
		if !shown[left] || !shown[right] {
			t.Errorf("trial %d shows what is no tab", tr.Ordinal)
		}
		if tr.Level < leastTabSpan || tr.Level > mostTabSpan {
			t.Errorf("trial %d: %.2f apart", tr.Ordinal, tr.Level)
		}
	}
}

func TestHalfwayRefusesWhatItCannotDo(t *testing.T) {
	tooth := colour.Lab{L: 75, A: 2, B: 20}
	darker := colour.Lab{L: 68, A: 2, B: 20}
	refused(t, map[string]Setup{
		"no trials":       {Kind: Halfway},
		"odd attribute":   {Kind: Halfway, Count: 5, Attribute: "whiteness"},
		"odd targets":     {Kind: Halfway, Count: 5, Targets: "teeth"},
		"odd light":       {Kind: Halfway, Count: 5, Viewing: Viewing{Light: "candle"}},
		"no tabs":         {Kind: Halfway, Count: 5, Targets: TabTargets},
		"two the same":    {Kind: Halfway, Count: 5, Targets: TabTargets, Sheet: library(t, tooth, tooth)},
		"too far":         {Kind: Halfway, Count: 5, Targets: TabTargets, Sheet: library(t, tooth, colour.Lab{L: 30, A: 2, B: 20})},
		"value alone":     {Kind: Halfway, Count: 5, Targets: TabTargets, Attribute: AttributeHue, Sheet: library(t, tooth, darker)},
		"off the display": {Kind: Halfway, Count: 5, Targets: TabTargets, Sheet: library(t, colour.Lab{L: 60, A: 120, B: -80}, colour.Lab{L: 67, A: 120, B: -80})},
	})
	for name, s := range map[string]Setup{
		"value alone": {Kind: Halfway, Count: 5, Targets: TabTargets, Sheet: library(t, tooth, darker)},
		"no library":  {Kind: Halfway, Count: 5},
	} {
		if trials, _ := play(t, s, observer.Observer{}, 1); len(trials) != 5 {
			t.Errorf("%s: %d trials", name, len(trials))
		}
	}
}
