package exercises

import (
	"encoding/json"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// No colour is shown, both sets hold the same tabs, and the drawn order tells
// nothing: over many rounds one tab in n lies at its own place, and every tab comes
// to lie anywhere.
func TestBenchLayouts(t *testing.T) {
	const rounds = 4000
	s := Setup{Kind: Bench, Count: rounds, Seed: 8, Options: map[string]string{OptionPairs: "8"}}
	trials, _ := play(t, s, observer.Observer{}, 1)
	same, first := 0, make([]int, 8)
	for _, tr := range trials {
		if len(tr.Patches) > 0 || tr.Target != (colour.SRGB{}) {
			t.Fatalf("round %d shows a colour", tr.Ordinal)
		}
		l, err := LayoutOf(tr)
		if err != nil {
			t.Fatal(err)
		}
		a, b := slices.Sorted(slices.Values(l.A)), slices.Sorted(slices.Values(l.B))
		if !slices.Equal(a, b) || !slices.Equal(a, []int{0, 1, 2, 3, 4, 5, 6, 7}) {
			t.Fatalf("round %d: sets %v and %v", tr.Ordinal, l.A, l.B)
		}
		for k := range l.A {
			if l.A[k] == l.B[k] {
				same++
			}
		}
		first[l.B[0]]++
	}
	// The number of fixed points has mean 1 and variance 1.
	if mean := float64(same) / rounds; mean < 0.93 || mean > 1.07 {
		t.Errorf("%.3f tabs lie at the same place in both sets on average", mean)
	}
	for tab, n := range first {
		if n < 420 || n > 580 {
			t.Errorf("tab %d lies first in set B %d times in %d", tab, n, rounds)
		}
	}
}

func TestBenchLayoutText(t *testing.T) {
	l := Layout{A: []int{4, 0, 12}, B: []int{12, 4, 0}}
	if got := l.String(); got != "4 0 12 | 12 4 0" {
		t.Errorf("%q", got)
	}
	again, err := LayoutOf(Trial{Key: l.String()})
	if diff := cmp.Diff(l, again); err != nil || diff != "" {
		t.Errorf("%v\n%s", err, diff)
	}
	for _, bad := range []string{"", "|", "1 2", "1 2 | 1", "1 x | x 1", "-1 2 | 2 -1"} {
		if l, err := LayoutOf(Trial{Key: bad}); err == nil {
			t.Errorf("%q was read as %+v", bad, l)
		}
	}
	a, b := l.Names(nil)
	if !slices.Equal(a, []string{"tab 5", "tab 1", "tab 13"}) || b[0] != "tab 13" {
		t.Errorf("named %v and %v", a, b)
	}
}

// The user's own library gives the names and how many pairs there are; tabs of
// the same colour are laid out once. A built-in library is not held in the hand.
func TestBenchLibrary(t *testing.T) {
	tooth := func(l float64) colour.Lab { return colour.Lab{L: l, A: 2, B: 20} }
	own := library(t, tooth(80), tooth(75), tooth(75), tooth(70), tooth(65), tooth(60))
	for name, c := range map[string]struct {
		sheet *tabs.Sheet
		n     string
		want  int
	}{
		"own": {own, "", 5}, "four of them": {own, "4", 4}, "none": {nil, "", 12}, "none, six": {nil, "6", 6},
		"built-in": {sheetOf(t, "natural"), "", 12}, "many": {crowd(t, 500), "", 12}, "many, forty": {crowd(t, 500), "40", 40},
	} {
		s := Setup{Kind: Bench, Count: 1, Sheet: c.sheet, Options: map[string]string{}}
		if c.n != "" {
			s.Options[OptionPairs] = c.n
		}
		trials, answers := play(t, s, observer.Observer{}, 1)
		l, err := LayoutOf(trials[0])
		if err != nil || len(l.A) != c.want {
			t.Errorf("%s: %d tabs, %v", name, len(l.A), err)
			continue
		}
		for place, tab := range l.A { // an observer without errors errs in nothing
			if taken, ok := l.Taken(answers[0].Order, place); !ok || taken != tab {
				t.Errorf("%s: an observer without errors takes tab %d for tab %d", name, taken, tab)
			}
		}
		names, _ := l.Names(c.sheet)
		known := false
		if own := BenchLibrary(c.sheet); own != nil {
			_, known = own.IndexOf(names[0])
		}
		if known != (name != "none" && name != "none, six" && name != "built-in") {
			t.Errorf("%s: the first tab is called %q", name, names[0])
		}
	}
}

// What counts for tabs in the hand is what was measured, also of a sheet that
// went through the record, and for colours no display shows.
func TestBenchUsesMeasuredColours(t *testing.T) {
	measured := colour.Lab{L: 72.34, A: 90, B: -60.56}
	sheet := library(t, measured, colour.Lab{L: 70, A: 2, B: 20})
	text, err := json.Marshal(sheet)
	if err != nil {
		t.Fatal(err)
	}
	stored := &tabs.Sheet{}
	if err := json.Unmarshal(text, stored); err != nil {
		t.Fatal(err)
	}
	for _, s := range []*tabs.Sheet{sheet, stored} {
		found := false
		for i := range s.Len() {
			found = found || s.Measured(i) == measured
		}
		if !found {
			t.Errorf("no tab has the measured colour %v", measured)
		}
	}
	old := &tabs.Sheet{}
	if err := json.Unmarshal([]byte(`{"library":"x","groups":[{"name":"g","columns":[[{"name":"t","shown":"#c8b496","fits":true}]]}]}`), old); err != nil {
		t.Fatal(err)
	}
	if old.Measured(0) != old.Lab(0) {
		t.Errorf("a sheet without measured colours gives %v", old.Measured(0))
	}
}

func TestBenchRefusesWhatItCannotDo(t *testing.T) {
	tooth := colour.Lab{L: 75, A: 2, B: 20}
	pairs := func(n string) map[string]string { return map[string]string{OptionPairs: n} }
	refused(t, map[string]Setup{
		"no rounds":        {Kind: Bench},
		"no number":        {Kind: Bench, Count: 1, Options: pairs("many")},
		"too few":          {Kind: Bench, Count: 1, Options: pairs("3")},
		"too many":         {Kind: Bench, Count: 1, Options: pairs("61")},
		"odd light":        {Kind: Bench, Count: 1, Viewing: Viewing{Light: "candle"}},
		"one tab":          {Kind: Bench, Count: 1, Sheet: library(t, tooth)},
		"the same":         {Kind: Bench, Count: 1, Sheet: library(t, tooth, tooth, tooth, tooth)},
		"more than it has": {Kind: Bench, Count: 1, Options: pairs("20"), Sheet: crowd(t, 19)},
	})
}

func FuzzLayoutOf(f *testing.F) {
	f.Add("4 0 2 | 2 4 0")
	f.Add("|")
	f.Fuzz(func(t *testing.T, key string) {
		l, err := LayoutOf(Trial{Key: key})
		if err != nil {
			return
		}
		again, err := LayoutOf(Trial{Key: l.String()})
		if err != nil || !cmp.Equal(l, again) {
			t.Errorf("%q: %+v, then %+v (%v)", key, l, again, err)
		}
		bench{}.Simulate(Trial{Key: l.String()}, Setup{}, observer.Observer{}, rand.New(rand.NewPCG(1, 1)))
	})
}
