package scoring

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

func sheetOf(t testing.TB, name string) *tabs.Sheet {
	t.Helper()
	l, err := tabs.Load(name)
	if err != nil {
		t.Fatal(err)
	}
	return tabs.NewSheet(l, nil)
}

func markOf(t exercises.Trial, a exercises.Answer, sheet *tabs.Sheet) Mark {
	return MarkOf(Attempt{Trial: t, Answer: a}, sheet)
}

// The nearest tab is worth 10 points, the next 9, the eleventh none.
func TestRankPoints(t *testing.T) {
	sheet := sheetOf(t, "natural")
	rng := rand.New(rand.NewPCG(1, 1))
	for range 200 {
		target, _ := tabs.Teeth.Sample(rng).SRGB()
		trial := exercises.Trial{Kind: exercises.ValueFirst, Target: target}
		var all []float64
		for i := range sheet.Len() {
			all = append(all, colour.DeltaE00(target.Lab(), sheet.Lab(i)))
		}
		rising := slices.Sorted(slices.Values(all))
		for i, e := range all {
			nearer, _ := slices.BinarySearch(rising, e)
			want := max(0, 10-nearer)
			if got := markOf(trial, exercises.TakeTab(sheet, i, -1), sheet).Points(); got != want {
				t.Fatalf("%s for target %v: %d points instead of %d", sheet.Name(i), target.Lab().LCh(), got, want)
			}
		}
	}
}

// The best answer gives nothing away and lies in a right group; the rest of a
// mark follows from the bytes.
func TestMarkOfTheBestAnswer(t *testing.T) {
	sheet := sheetOf(t, "natural")
	rng := rand.New(rand.NewPCG(2, 1))
	for range 500 {
		target, _ := tabs.Teeth.Sample(rng).SRGB()
		best := sheet.Best(target.Lab())
		m := markOf(exercises.Trial{Kind: exercises.ValueFirst, Target: target}, exercises.TakeTab(sheet, best.I, best.J), sheet)
		if m.Excess > 1e-9 || !m.HasGroup || m.GroupSteps != 0 || !m.HasSheet || m.Best != best {
			t.Fatalf("target %v: %+v", target.Lab().LCh(), m)
		}
		want, got := colour.Compare(target.Lab(), best.Colour.Lab(), colour.Unit), m.Difference
		apart := max(math.Abs(got.E-want.E), math.Abs(got.L-want.L), math.Abs(got.C-want.C), math.Abs(got.H-want.H))
		if !(apart < 1e-9*(1+want.E)) || m.Band != BandOf(want.E) { // what [colour.Differ] promises
			t.Fatalf("difference %+v instead of %+v", m.Difference, want)
		}
	}
}

// Attempts marked together have the marks that they have one after the other, those of a
// scene and those without a colour or a tab of the sheet too.
func TestMarkingAllIsMarkingEach(t *testing.T) {
	sheet := sheetOf(t, "natural")
	rng := rand.New(rand.NewPCG(3, 1))
	thirds := []string{exercises.Cervical, exercises.Middle, exercises.Incisal}
	for _, kind := range []exercises.KindID{exercises.ValueFirst, exercises.Thirds, exercises.Halfway} {
		var list []Attempt
		for n := range 99 {
			target, _ := tabs.Teeth.Sample(rng).SRGB()
			a := Attempt{Trial: exercises.Trial{Kind: kind, Target: target, Ordinal: n, Scene: n / 3, Part: thirds[n%3]},
				Answer: exercises.TakeTab(sheet, rng.IntN(sheet.Len()), -1)}
			if kind == exercises.Thirds {
				for _, part := range thirds {
					shown, _ := tabs.Teeth.Sample(rng).SRGB()
					a.Trial.Patches = append(a.Trial.Patches, exercises.Patch{Role: part, Colour: shown})
				}
			}
			switch n % 10 {
			case 7:
				a.Answer.Tab = "gone"
			case 8:
				a.Answer.Colour = nil
			}
			list = append(list, a)
		}
		for _, in := range []*tabs.Sheet{sheet, nil} {
			var one, all Marking
			n, checked := 0, 0
			for a, m := range all.All(list, in) {
				want := one.Mark(list[n], in)
				if a != &list[n] || !reflect.DeepEqual(*m, want) || m.Points() != want.Points() {
					t.Fatalf("%s, attempt %d: %+v instead of %+v", kind, n, *m, want)
				}
				n, checked = n+1, checked+len(m.Checks)
			}
			if n != len(list) || kind == exercises.Thirds && checked == 0 {
				t.Errorf("%s: %d of %d marked, %d checks", kind, n, len(list), checked)
			}
		}
	}
}

// Steps are counted in groups, positive for too light.
func TestGroupSteps(t *testing.T) {
	sheet := sheetOf(t, "natural")
	for right := range sheet.Groups() {
		target := sheet.Groups()[right].Tabs[3] // exactly a tab: its group alone is right
		trial := exercises.Trial{Kind: exercises.ValueFirst, Target: sheet.Shown(target)}
		for chosen := range sheet.Groups() {
			a := exercises.TakeTab(sheet, sheet.Groups()[chosen].Tabs[0], -1)
			if got := markOf(trial, a, sheet).GroupSteps; got != right-chosen {
				t.Errorf("group %s for %s: %+d steps instead of %+d", sheet.Groups()[chosen].Name, sheet.Groups()[right].Name, got, right-chosen)
			}
		}
	}
}

func TestMarkWithoutItsSheet(t *testing.T) {
	shown := colour.SRGB{R: 210, G: 200, B: 180}
	trial := exercises.Trial{Kind: exercises.ValueFirst, Target: shown}
	m := markOf(trial, exercises.Answer{Colour: &shown, Tab: "gone"}, nil)
	if !m.HasColour || m.HasSheet || m.HasGroup || m.Difference.E != 0 {
		t.Errorf("%+v", m)
	}
	if m := markOf(trial, exercises.Answer{Choice: "nothing"}, sheetOf(t, "starter")); m.HasColour || m.HasSheet {
		t.Errorf("an answer without colour was marked: %+v", m)
	}
}

func TestPartsInWords(t *testing.T) {
	tooth := colour.Lab{L: 75, A: 2, B: 20}
	blue := colour.Lab{L: 50, A: 0, B: -40}
	for _, c := range []struct {
		d        colour.Difference
		from, to colour.Lab
		want     string
	}{
		{colour.Difference{E: 2.2, L: 2.1, C: 0.2, H: 0.6}, tooth, tooth, "2.1 lighter, a little yellower"},
		{colour.Difference{E: 2, L: -0.5, C: 1.4, H: -1.2}, tooth, tooth, "a little darker, 1.4 more chromatic, 1.2 redder"},
		{colour.Difference{E: 3, C: -3}, tooth, tooth, "3.0 less chromatic"},
		{colour.Difference{E: 3, H: 3}, blue, blue, "3.0 larger in hue angle"},
		{colour.Difference{}, tooth, tooth, "exactly the same"},
		{colour.Difference{E: 0.4, L: 0.4}, tooth, tooth, "no difference to speak of"},
	} {
		if got := PartsInWords(c.d, c.from, c.to); got != c.want {
			t.Errorf("%+v: %q instead of %q", c.d, got, c.want)
		}
	}
}

func BenchmarkMarkValueFirst(b *testing.B) {
	sheet := sheetOf(b, "natural")
	rng := rand.New(rand.NewPCG(2, 1))
	var list []Attempt
	for range 512 {
		target, _ := tabs.Teeth.Sample(rng).SRGB()
		list = append(list, Attempt{
			Trial:  exercises.Trial{Kind: exercises.ValueFirst, Target: target},
			Answer: exercises.TakeTab(sheet, rng.IntN(sheet.Len()), -1),
		})
	}
	sheet.Best(colour.Lab{})
	b.ResetTimer()
	var sum float64
	for i := range b.N {
		sum += MarkOf(list[i%len(list)], sheet).Excess
	}
	if math.IsNaN(sum) {
		b.Fatal("not a number")
	}
}
