package exercises

import (
	"slices"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// The stock is sparse, the same every time, of tabs of the library, laid out by
// value and then by chroma, and named by CIE notation.
func TestStockIsThinnedOut(t *testing.T) {
	for _, name := range []string{"natural", "starter"} {
		sheet := sheetOf(t, name)
		stock, _ := stockOf(sheet)
		again, _ := stockOf(sheet)
		if !slices.Equal(stock, again) {
			t.Errorf("%s: another stock the second time", name)
		}
		if len(stock) < 10 || len(stock) > 25 || len(stock)*2 > sheet.Len() {
			t.Errorf("%s: %d teeth from %d tabs", name, len(stock), sheet.Len())
		}
		for i, s := range stock {
			k := -1
			for j := range sheet.Len() {
				if sheet.Shown(j) == s.Colour {
					k = j
				}
			}
			if k < 0 || sheet.Measured(k).LCh().String() != s.Name {
				t.Errorf("%s: %s is no tab of the library", name, s.Name)
			}
			if i == 0 {
				continue
			}
			before := stock[i-1]
			switch {
			case s.Level == before.Level && s.Colour.Lab().Chroma() <= before.Colour.Lab().Chroma():
				t.Errorf("%s: %s is not more chromatic than %s", name, s.Name, before.Name)
			case s.Level == before.Level+1 && s.Colour.Lab().L >= before.Colour.Lab().L:
				t.Errorf("%s: %s is not darker than %s", name, s.Name, before.Name)
			case s.Level < before.Level || s.Level > before.Level+1:
				t.Errorf("%s: level %d after %d", name, s.Level, before.Level)
			}
			for _, other := range stock[:i] {
				// No half and quarter steps: all teeth are plainly apart.
				if e := colour.DeltaE00(s.Colour.Lab(), other.Colour.Lab()); e < 1.8 {
					t.Errorf("%s: %s and %s are %.1f apart", name, s.Name, other.Name, e)
				}
			}
		}
	}
}

// A trial can be drawn again from itself: crown, stock, names and levels.
func TestCombinationTrials(t *testing.T) {
	sheet := sheetOf(t, "natural")
	want, _ := stockOf(sheet)
	for _, targets := range []Targets{NaturalTargets, TabTargets} {
		trials, _ := play(t, Setup{Kind: Combination, Count: 300, Seed: 1, Sheet: sheet, Targets: targets}, observer.Observer{}, 1)
		var verdicts [3]int
		for _, tr := range trials {
			stock := Stock(tr)
			if !slices.Equal(stock, want) {
				t.Fatalf("the trial holds another stock: %v", stock)
			}
			i, e := NearestStock(stock, tr.Target.Lab())
			if i < 0 || e != tr.Level {
				t.Errorf("the nearest tooth lies %.2f off, the trial says %.2f", e, tr.Level)
			}
			verdicts[verdictFor(e)]++
			if targets == NaturalTargets && !tabs.Teeth.Contains(tr.Target.Lab()) && colour.DeltaE00(tr.Target.Lab(), nearestIn(tabs.Teeth, tr.Target.Lab())) > 0.5 {
				t.Errorf("%v is no tooth", tr.Target.Lab().LCh())
			}
		}
		// Each verdict in a third: 5 standard errors of 300.
		for v, n := range verdicts {
			if n < 60 || n > 140 {
				t.Errorf("%s: verdict %d is right in %d of 300", targets, v, n)
			}
		}
	}
}

// The best stock tooth is what the observer takes without errors; a bias shifts it.
func TestCombinationSimulate(t *testing.T) {
	s := Setup{Kind: Combination, Count: 200, Seed: 2, Sheet: sheetOf(t, "natural")}
	shifted := 0
	for _, who := range []observer.Observer{{}, {BiasL: 2}} {
		trials, answers := play(t, s, who, 1)
		for i, tr := range trials {
			stock := Stock(tr)
			best, _ := NearestStock(stock, tr.Target.Lab())
			if answers[i].Tab == stock[best].Name {
				continue
			}
			if who == (observer.Observer{}) {
				t.Fatalf("an observer without errors took %s instead of %s", answers[i].Tab, stock[best].Name)
			}
			shifted++
			if answers[i].Colour.Lab().L < stock[best].Colour.Lab().L-1 {
				t.Errorf("whoever is biased towards light took a darker tooth: %s instead of %s", answers[i].Tab, stock[best].Name)
			}
		}
	}
	if shifted < 50 {
		t.Errorf("a bias of 2 in value changed %d of 200 choices", shifted)
	}
}

func TestCombinationRefusesWhatItCannotDo(t *testing.T) {
	natural := sheetOf(t, "natural")
	near := library(t, colour.Lab{L: 70, A: 2, B: 20}, colour.Lab{L: 70.3, A: 2, B: 20.3}) // one name, two colours
	refused(t, map[string]Setup{
		"no sheet":        {Kind: Combination, Count: 3},
		"no trials":       {Kind: Combination, Sheet: natural},
		"odd targets":     {Kind: Combination, Count: 3, Sheet: natural, Targets: "teeth"},
		"a single colour": {Kind: Combination, Count: 3, Sheet: library(t, colour.Lab{L: 70, A: 1, B: 15})},
		"one of two":      {Kind: Combination, Count: 3, Sheet: near},
		"unknown light":   {Kind: Combination, Count: 3, Sheet: natural, Viewing: Viewing{Light: "candle"}},
	})
}

// The strip of the first step varies in lightness alone: no value is told apart by its
// hue or chroma.
func TestStockStripIsEven(t *testing.T) {
	for _, name := range []string{"natural", "starter"} {
		stock, _ := stockOf(sheetOf(t, name))
		strip := StockStrip(stock)
		if len(strip) != stock[len(stock)-1].Level+1 {
			t.Fatalf("%s: %d patches for %d levels", name, len(strip), stock[len(stock)-1].Level+1)
		}
		for i, c := range strip[1:] {
			if d := colour.Compare(strip[0].Lab(), c.Lab(), colour.Unit); max(d.C, -d.C, d.H, -d.H) > 0.8 {
				t.Errorf("%s: patch %d differs from the first by %.1f in chroma and %.1f in hue", name, i+2, d.C, d.H)
			}
			if !(c.Lab().L < strip[i].Lab().L) {
				t.Errorf("%s: patch %d is not darker than the one before", name, i+2)
			}
		}
	}
}
