package recovery

import (
	"math"
	"strings"
	"testing"

	"shadedrill/scoring"
)

func after(trials int, rms float64) Precision {
	return Precision{Trials: trials, Error: scoring.Point(rms, 100)}
}

// An error that falls with the root of the trials: 0.2 after 20 and 0.1 after 80, so
// 0.1·√2 after 40.
func TestNeeds(t *testing.T) {
	c := Comparison{QuestPlus: []Precision{after(20, 0.2), after(80, 0.1)}}
	n, ok := c.needs([]Precision{after(80, 0.1*math.Sqrt2)}, 80)
	if !ok || math.Abs(n-40) > 1e-9 {
		t.Errorf("needs %v, %v; want 40", n, ok)
	}
	for _, rms := range []float64{0.05, 0.3} {
		if n, ok := c.needs([]Precision{after(80, rms)}, 80); ok {
			t.Errorf("an error of %v is reached after %v, outside of what was simulated", rms, n)
		}
	}
	if _, ok := c.needs(nil, 80); ok {
		t.Error("nothing to compare with")
	}
}

// More trials, smaller errors, with both methods; the report says what missed its aim.
func TestCompareAndReport(t *testing.T) {
	observers, err := Compared()
	if err != nil {
		t.Fatal(err)
	}
	plan := Plan{Runs: 12, Seed: 2, Screens: Screen()}
	c, err := Compare(observers[0], plan)
	if err != nil {
		t.Fatal(err)
	}
	for _, list := range [][]Precision{c.QuestPlus, c.Staircase, c.Fitted} {
		early, late := list[2], list[len(list)-1]
		if !early.Error.Defined() || !late.Error.Defined() || late.Error.Value > early.Error.Value || late.Error.Value > 0.2 {
			t.Errorf("%s: error %.3f after %d trials, %.3f after %d", early.Method, early.Error.Value, early.Trials, late.Error.Value, late.Trials)
		}
	}
	row := Row{Condition: Condition{Subject: observers[0]}, Runs: 2000}
	recovered := func(bias, covered float64) Row {
		row.Plain = Recovered{Truth: 1.2, Bias: scoring.Point(bias, 2000), Covered: scoring.Point(covered, 2000)}
		row.Corrected.Truth, row.DPrime.Truth = math.NaN(), math.NaN()
		return row
	}
	var rows []Row
	for _, want := range []struct {
		bias, covered float64
		aim           string
	}{{0.01, 0.95, "met"}, {-0.05, 0.95, "biased"}, {0, 0.92, "narrow"}, {0, 0.98, "wide"}} {
		r := recovered(want.bias, want.covered)
		if got := r.aim().Key; got != want.aim {
			t.Errorf("bias %v, covered %v: %q, want %q", want.bias, want.covered, got, want.aim)
		}
		rows = append(rows, r)
	}
	few := recovered(0, 0.95)
	few.Runs = 50
	if got := few.aim().Key; got != "unknown" {
		t.Errorf("50 runs tell %q", got)
	}
	r := Report(append(rows, few), []Comparison{c}, plan)
	if notes := strings.Join(r.Sections[0].Notes, " "); !strings.Contains(notes, "met in 1 of 4 lines") {
		t.Error(notes)
	}
	if len(r.Sections) != 2 || len(r.Sections[1].Table.Rows) != len(comparedAt) {
		t.Errorf("%d sections", len(r.Sections))
	}
}
