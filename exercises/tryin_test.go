package exercises

import (
	"math"
	"testing"

	"shadedrill/colour"
	"shadedrill/exercises/observer"
)

// The mix of cases is as said: verdicts by the bands at 1.8 and 3.6, catch cases
// of identical bytes, each direction of each attribute, and no part near 0.8, where
// neither answer is wrong.
func TestTryInCases(t *testing.T) {
	for name, s := range map[string]Setup{
		"natural": {Kind: TryIn, Count: 600, Seed: 3},
		"tabs":    {Kind: TryIn, Count: 600, Seed: 3, Targets: TabTargets, Sheet: sheetOf(t, "starter")},
		"lamp":    {Kind: TryIn, Count: 600, Seed: 3, Viewing: Viewing{Light: "a"}},
	} {
		trials, _ := play(t, s, observer.Observer{}, 1)
		var identical, hidden, seat, adjust, remake int
		var signs [3][3]int
		for _, tr := range trials {
			delivered, ok := DeliveredOf(tr)
			if !ok {
				t.Fatalf("%s, trial %d: nothing came back", name, tr.Ordinal)
			}
			d := colour.Compare(tr.Target.Lab(), delivered.Lab(), colour.Unit)
			if math.Abs(d.E-tr.Level) > 1e-9 {
				t.Fatalf("%s, trial %d: ΔE00 %.3f, said %.3f", name, tr.Ordinal, d.E, tr.Level)
			}
			switch {
			case d.E == 0:
				identical++
			case d.E <= 0.8:
				hidden++
			case d.E <= 1.8:
				seat++
			case d.E <= 3.6:
				adjust++
			default:
				remake++
			}
			for i, part := range []float64{d.L, d.C, d.H} {
				sign := 1
				switch {
				case part > 1:
					sign = 2
				case part < -1:
					sign = 0
				case math.Abs(part) > 0.6:
					t.Errorf("%s, trial %d: part %d is %.2f", name, tr.Ordinal, i, part)
				}
				signs[i][sign]++
			}
		}
		if identical != 100 || hidden != 50 || seat != 100 || adjust != 200 || remake != 150 {
			t.Errorf("%s: %d identical, %d hidden, %d acceptable, %d to adjust, %d to remake", name, identical, hidden, seat, adjust, remake)
		}
		for i, n := range signs {
			if n[0] < 80 || n[2] < 80 || n[1] < 240 {
				t.Errorf("%s: part %d is less, the same, more %v times", name, i, n)
			}
			// More and less are equally likely: three standard errors.
			if diff := math.Abs(float64(n[0] - n[2])); diff > 3*math.Sqrt(float64(n[0]+n[2])) && name == "natural" {
				t.Errorf("%s: part %d is less, the same, more %v times", name, i, n)
			}
		}
	}
}

// An observer without errors tells every direction and gives every verdict right; one that is biased
// towards chroma calls too much more chromatic, and nothing else.
func TestTryInEyes(t *testing.T) {
	s := Setup{Kind: TryIn, Count: 240, Seed: 5}
	trials, answers := play(t, s, observer.Observer{}, 1)
	sign := func(part float64) int {
		if math.Abs(part) <= 0.8 {
			return 0
		}
		return int(math.Copysign(1, part))
	}
	for i, tr := range trials {
		delivered, _ := DeliveredOf(tr)
		d := colour.Compare(tr.Target.Lab(), delivered.Lab(), colour.Unit)
		want := Seat
		if d.E > 3.6 {
			want = Remake
		} else if d.E > 1.8 {
			want = Adjust
		}
		if a := answers[i]; *a.Directions != (Directions{sign(d.L), sign(d.C), sign(d.H)}) || a.Choice != want {
			t.Errorf("trial %d, %+v: %+v %s", i, d, *a.Directions, a.Choice)
		}
	}
	_, biased := play(t, s, observer.Observer{BiasC: 1.5}, 1)
	var off Directions
	for i, a := range biased {
		off.Value += a.Directions.Value - answers[i].Directions.Value
		off.Chroma += a.Directions.Chroma - answers[i].Directions.Chroma
		off.Hue += a.Directions.Hue - answers[i].Directions.Hue
	}
	if off.Value != 0 || off.Chroma < 100 || off.Hue != 0 {
		t.Errorf("a bias of 1.5 towards chroma moves the answers by %+v", off)
	}
}

func TestTryInRefusesWhatItCannotDo(t *testing.T) {
	refused(t, map[string]Setup{
		"no trials":   {Kind: TryIn},
		"attribute":   {Kind: TryIn, Count: 5, Attribute: AttributeValue},
		"odd targets": {Kind: TryIn, Count: 5, Targets: "teeth"},
		"odd light":   {Kind: TryIn, Count: 5, Viewing: Viewing{Light: "candle"}},
		"no tabs":     {Kind: TryIn, Count: 5, Targets: TabTargets},
		"greys":       {Kind: TryIn, Count: 5, Targets: TabTargets, Sheet: library(t, colour.Lab{L: 50}, colour.Lab{L: 70})},
		"off display": {Kind: TryIn, Count: 5, Targets: TabTargets, Sheet: library(t, colour.Lab{L: 60, A: 120, B: -80})},
	})
	one := Setup{Kind: TryIn, Count: 24, Targets: TabTargets, Sheet: library(t, colour.Lab{L: 75, A: 2, B: 20})}
	if trials, _ := play(t, one, observer.Observer{}, 1); len(trials) != 24 {
		t.Errorf("one tab: %d trials", len(trials))
	}
}
