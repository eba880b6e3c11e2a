package reporttest_test

import (
	"math"
	"testing"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
)

// What is wrong with a report is found, and nothing in one that is right.
func TestFaultsAreFound(t *testing.T) {
	whole := func(change func(*report.Report, *report.Table)) report.Report {
		table := &report.Table{Columns: []report.Column{{Key: "who", Title: "who", Left: true}, {Key: "x", Title: "x"}}}
		table.Rows = [][]report.Cell{{report.Text("Ada"), report.Signed(scoring.Interval(0.2, -0.1, 0.5, 0.95, 31))}}
		r := report.Report{Title: "A report", Lead: []string{"21 answers in 1 sitting, by 0.1 to 1.0."},
			Sections: []report.Section{{Key: "s", Title: "S", Table: table, Notes: []string{"A note, by −0.04."}}}}
		change(&r, table)
		return r
	}
	if list := reporttest.Faults(whole(func(*report.Report, *report.Table) {})); len(list) > 0 {
		t.Errorf("in a report that is right: %q", list)
	}
	cell := func(c report.Cell) func(*report.Report, *report.Table) {
		return func(_ *report.Report, t *report.Table) { t.Rows[0][1] = c }
	}
	lead := func(text string) func(*report.Report, *report.Table) {
		return func(r *report.Report, _ *report.Table) { r.Lead[0] = text }
	}
	for name, change := range map[string]func(*report.Report, *report.Table){
		"outside its interval": cell(report.Estimate(scoring.Interval(0.6, -0.1, 0.5, 0.95, 31))),
		"a share above one":    cell(report.Percent(scoring.Interval(0.9, 0.8, 1.1, 0.95, 31))),
		"a bare share":         cell(report.Share(1.2, 0)),
		"no reason":            cell(report.Estimate(scoring.Estimate{Value: math.NaN()})),
		"no number":            lead("By NaN ΔE00."),
		"infinite":             lead("From -Inf to 2."),
		"a verb":               lead("By %!d(string=x)."),
		"below zero":           lead("By -0.0 on average."),
		"one of several":       lead("In all 1 answers."),
		"one of several more":  lead("1 shared items each."),
		"empty":                lead(" "),
		"missing":              lead("Missing: ."),
		"no word":              lead("Since , nobody."),
		"a picture": func(r *report.Report, _ *report.Table) {
			r.Sections[0].Plots = []report.Plot{{Key: "p", Series: []report.Series{{X: []float64{1}, Y: []float64{2}, Lo: []float64{3}, Hi: []float64{4}}}}}
		},
	} {
		if list := reporttest.Faults(whole(change)); len(list) == 0 {
			t.Errorf("%s: not found", name)
		}
	}
}
