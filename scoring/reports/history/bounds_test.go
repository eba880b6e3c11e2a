package history_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
	"shadedrill/scoring/reports/history"
)

// twoGroups is a library of two value groups that lie near each other: whoever sees
// lighter than that takes the lighter one throughout, and nothing tells by how much.
func twoGroups(t *testing.T) *tabs.Sheet {
	t.Helper()
	var rows strings.Builder
	rows.WriteString("name,L,a,b,group\n")
	for _, l := range []float64{74, 72} {
		for _, c := range []float64{12, 18, 24} {
			for _, h := range []float64{82, 88, 94} {
				lab := colour.LCh{L: l, C: c, H: h}.Lab()
				fmt.Fprintf(&rows, "L%.0f C%.0f h%.0f,%f,%f,%f,L%.0f\n", l, c, h, lab.L, lab.A, lab.B, l)
			}
		}
	}
	library, err := tabs.ReadCSV(strings.NewReader(rows.String()), "two")
	if err != nil {
		t.Fatal(err)
	}
	return tabs.NewSheet(library, nil)
}

// Where the library ends too soon to tell, a bias is a bound, in words, and the bound
// holds; where it does not, it is a number.
func TestABoundIsTold(t *testing.T) {
	for _, c := range []struct {
		who   observer.Observer
		words string
		open  int
	}{
		{observer.Observer{BiasL: 4.5, Noise: 0.5}, "at least +", 1},
		{observer.Observer{BiasL: -4.5, Noise: 0.5}, "at most −", -1},
		{observer.Observer{BiasL: 0.5, Noise: 0.5}, "+", 0},
	} {
		sheet := twoGroups(t)
		rng := rand.New(rand.NewPCG(5, 6))
		var sittings [][]history.Judged
		for range 4 {
			var list []history.Judged
			for range 20 {
				// Targets about the two groups, so that the group does tell of small biases.
				target, _ := colour.LCh{L: 71 + 4*rng.Float64(), C: 12 + 12*rng.Float64(), H: 82 + 12*rng.Float64()}.Lab().SRGB()
				seen := c.who.Perceive(target.Lab(), rng)
				choice := sheet.NearestChoice(sheet.NearestGroup(seen), seen)
				a := scoring.Attempt{Trial: exercises.Trial{Kind: exercises.ValueFirst, Target: target}, Answer: exercises.TakeTab(sheet, choice.I, choice.J)}
				list = append(list, history.Judge(a, scoring.Mark{}, sheet))
			}
			sittings = append(sittings, list)
		}
		e := history.BiasOf(sittings).Estimates[0]
		if e.Open() != c.open || !e.Covers(c.who.BiasL) {
			t.Errorf("a bias of %+.1f is told as %+v", c.who.BiasL, e)
		}
		table := &report.Table{Columns: []report.Column{{Key: "dL", Title: "value", Estimates: true}}, Rows: [][]report.Cell{{report.Signed(e)}}}
		if text := reporttest.Text(t, report.Report{Sections: []report.Section{{Table: table}}}); !strings.Contains(text, c.words) {
			t.Errorf("a bias of %+.1f is told as %s", c.who.BiasL, text)
		}
		if word := history.BiasWord(e, "too light", "too dark"); c.open != 0 && word == "" {
			t.Errorf("a bias of %+.1f has no name", c.who.BiasL)
		}
	}
}
