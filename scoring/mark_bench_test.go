package scoring

import (
	"math"
	"strings"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

// Fixed points of a random permutation of 16, computed from the rencontres
// numbers; and for small n by counting: of the 24 orders of 4, 9 have no fixed
// point, 8 one, 6 two, none three, 1 four.
func TestByChance(t *testing.T) {
	for k, want := range []float64{0.367879, 0.367879, 0.183940, 0.061313} {
		if got := ByChance(16, k) - ByChance(16, k+1); math.Abs(got-want) > 5e-7 {
			t.Errorf("exactly %d of 16: %.6f instead of %.6f", k, got, want)
		}
	}
	if got := ByChance(16, 4); math.Abs(got-0.018988) > 5e-7 {
		t.Errorf("4 or more of 16: %.6f", got)
	}
	for k, orders := range []float64{24, 15, 7, 1, 1, 0} {
		if got := ByChance(4, k); math.Abs(got-orders/24) > 1e-12 {
			t.Errorf("%d or more of 4: %.6f instead of %.6f", k, got, orders/24)
		}
	}
	for _, n := range []int{4, 16, 60} {
		var mean float64
		for k := 1; k <= n; k++ {
			mean += ByChance(n, k)
		}
		if math.Abs(mean-1) > 1e-9 {
			t.Errorf("chance finds %.6f of %d pairs on average", mean, n)
		}
	}
	if text := BenchChance(16); !strings.Contains(text, "1 pair of 16") || !strings.Contains(text, "1.9 %") {
		t.Error(text)
	}
}

func ownTabs(t testing.TB) *tabs.Sheet {
	t.Helper()
	l, err := tabs.New("our tabs", "", []tabs.Group{{Name: "all", Tabs: []tabs.Tab{
		{Name: "p", Lab: colour.Lab{L: 80, A: 1, B: 15}}, {Name: "q", Lab: colour.Lab{L: 78.3, A: 1, B: 15}},
		{Name: "r", Lab: colour.Lab{L: 70, A: 3, B: 22}}, {Name: "s", Lab: colour.Lab{L: 60, A: 5, B: 30}},
	}}})
	if err != nil {
		t.Fatal(err)
	}
	return tabs.NewSheet(l, nil)
}

func TestMarkBench(t *testing.T) {
	own := ownTabs(t)
	at := func(name string) int {
		i, ok := own.IndexOf(name)
		if !ok {
			t.Fatal("no tab", name)
		}
		return i
	}
	p, q, r, s := at("p"), at("q"), at("r"), at("s")
	trial := exercises.Trial{Kind: exercises.Bench, Key: exercises.Layout{A: []int{p, q, r, s}, B: []int{s, p, q, r}}.String()}
	apart := colour.DeltaE00(colour.Lab{L: 80, A: 1, B: 15}, colour.Lab{L: 78.3, A: 1, B: 15})
	for _, c := range []struct {
		name  string
		sheet *tabs.Sheet
		order []int
		right int
		why   string
		wrong float64 // mean ΔE00 of wrong pairs, 0 for none known
	}{
		{"all right", own, []int{1, 2, 3, 0}, 4, "p found", 0},
		{"two exchanged", own, []int{2, 1, 3, 0}, 2, "q taken for p, 1.", apart},
		{"without a library", nil, []int{2, 1, 3, 0}, 2, "tab 2 taken for tab 1", 0},
		{"one left out", own, []int{-1, 2, 3, 0}, 3, "p left without a pair", 0},
		{"broken off", own, []int{1, 2}, 2, "p found", 0},
		{"no such place", own, []int{9, 2, 3, 0}, 3, "p left without a pair", 0},
	} {
		m := markOf(trial, exercises.Answer{Order: c.order}, c.sheet)
		right := 0
		for _, check := range m.Checks {
			if check.Right {
				right++
			}
		}
		if len(m.Checks) != 4 || right != c.right || m.Measures[0].Value != float64(c.right) {
			t.Errorf("%s: %d right, %+v", c.name, right, m)
		}
		if !strings.HasPrefix(m.Checks[0].Why, c.why) {
			t.Errorf("%s: %q instead of %q", c.name, m.Checks[0].Why, c.why)
		}
		if got := m.Measures[1].Value; math.Abs(got-100*ByChance(4, c.right)) > 1e-9 {
			t.Errorf("%s: chance %.3f %%", c.name, got)
		}
		var wrong float64
		if len(m.Measures) > 2 {
			wrong = m.Measures[2].Value
		}
		if math.Abs(wrong-c.wrong) > 1e-9 {
			t.Errorf("%s: wrong pairs differ by %.3f instead of %.3f", c.name, wrong, c.wrong)
		}
		if m.HasColour {
			t.Errorf("%s: a colour was marked", c.name)
		}
	}
}
