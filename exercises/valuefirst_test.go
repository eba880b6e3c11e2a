package exercises

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

func sheetOf(t testing.TB, name string) *tabs.Sheet {
	t.Helper()
	l, err := tabs.Load(name)
	if err != nil {
		t.Fatal(err)
	}
	return tabs.NewSheet(l, nil)
}

// library makes a sheet of tabs from coordinates.
func library(t testing.TB, colours ...colour.Lab) *tabs.Sheet {
	t.Helper()
	var list []tabs.Tab
	for i, c := range colours {
		list = append(list, tabs.Tab{Name: "tab " + string(rune('A'+i/26)) + string(rune('a'+i%26)), Lab: c})
	}
	l, err := tabs.New("own", "", tabs.GroupByValue(list))
	if err != nil {
		t.Fatal(err)
	}
	return tabs.NewSheet(l, nil)
}

func TestValueFirstSameSeedSameTrials(t *testing.T) {
	for _, targets := range []Targets{NaturalTargets, TabTargets} {
		s := Setup{Kind: ValueFirst, Count: 50, Seed: 3, Targets: targets, Sheet: sheetOf(t, "natural")}
		one, _ := play(t, s, observer.Observer{}, 1)
		again, _ := play(t, s, observer.Observer{Noise: 2}, 2)
		if diff := cmp.Diff(one, again); diff != "" {
			t.Errorf("%s: the same seed gave other trials:\n%s", targets, diff)
		}
		s.Seed = 4
		other, _ := play(t, s, observer.Observer{}, 1)
		if other[0].Target == one[0].Target && other[1].Target == one[1].Target {
			t.Errorf("%s: another seed gave the same trials", targets)
		}
		for i, tr := range one {
			if i > 0 && tr.Target == one[i-1].Target {
				t.Errorf("%s: trial %d repeats its predecessor", targets, i)
			}
		}
	}
}

func TestValueFirstTargetsComeFromWhereTheyAreSaidTo(t *testing.T) {
	sheet := sheetOf(t, "natural")
	shown := map[colour.SRGB]bool{}
	for i := range sheet.Len() {
		shown[sheet.Shown(i)] = true
	}
	s := Setup{Kind: ValueFirst, Count: 300, Seed: 5, Targets: TabTargets, Sheet: sheet}
	trials, _ := play(t, s, observer.Observer{}, 1)
	for _, tr := range trials {
		if !shown[tr.Target] {
			t.Fatalf("trial %d shows %s, which is no tab", tr.Ordinal, tr.Target.Hex())
		}
	}
	s.Targets = NaturalTargets
	trials, _ = play(t, s, observer.Observer{}, 1)
	between := 0
	for _, tr := range trials {
		if !shown[tr.Target] {
			between++
		}
	}
	if between < 280 {
		t.Errorf("%d of 300 natural targets are tabs", 300-between)
	}
}

// Whoever sees truly takes the group nearest in lightness and, within it, the
// answer nearest in chroma and hue.
func TestValueFirstTrueEye(t *testing.T) {
	sheet := sheetOf(t, "natural")
	s := Setup{Kind: ValueFirst, Count: 200, Seed: 6, Sheet: sheet}
	trials, answers := play(t, s, observer.Observer{}, 1)
	var given float64
	for i, tr := range trials {
		if want := sheet.Groups()[sheet.NearestGroup(tr.Target.Lab())].Name; answers[i].Group != want {
			t.Errorf("trial %d: group %s instead of %s", i, answers[i].Group, want)
		}
		given += colour.DeltaE00(tr.Target.Lab(), answers[i].Colour.Lab()) - sheet.Best(tr.Target.Lab()).E
	}
	// A group is taken by its lightness, not by the tabs in it, so a little is
	// given away even then.
	if mean := given / float64(len(trials)); mean > 0.2 {
		t.Errorf("the answers of an observer without errors have an excess of %.2f ΔE00 a trial", mean)
	}
}

func TestTakeTab(t *testing.T) {
	sheet := sheetOf(t, "natural")
	a := TakeTab(sheet, 20, -1)
	if *a.Colour != sheet.Shown(20) || a.Tab != sheet.Name(20) || a.Neighbour != "" || a.Group != sheet.Groups()[sheet.GroupOf(20)].Name {
		t.Errorf("single tab: %+v", a)
	}
	j := sheet.Neighbours(20)[0]
	if a = TakeTab(sheet, 20, j); *a.Colour != sheet.Between(20, j) || a.Neighbour != sheet.Name(j) {
		t.Errorf("between two tabs: %+v", a)
	}
}

func TestValueFirstRefusesWhatItCannotDo(t *testing.T) {
	natural := sheetOf(t, "natural")
	grey := colour.Lab{L: 70, A: 1, B: 15}
	for name, s := range map[string]Setup{
		"no sheet":     {Count: 5},
		"no trials":    {Sheet: natural},
		"too many":     {Sheet: natural, Count: MostTrials + 1},
		"one tab":      {Count: 5, Sheet: library(t, grey)},
		"same colours": {Count: 5, Sheet: library(t, grey, grey)},
		"odd targets":  {Count: 5, Sheet: natural, Targets: "teeth"},
		"odd light":    {Count: 5, Sheet: natural, Viewing: Viewing{Light: "candle"}},
	} {
		s.Kind = ValueFirst
		_, err := NewRun(s)
		hint, ok := err.(interface{ Hint() string })
		if err == nil || !ok || hint.Hint() == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
}
