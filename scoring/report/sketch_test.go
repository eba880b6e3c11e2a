package report_test

import (
	"math"
	"strings"
	"testing"

	"github.com/olekukonko/tablewriter/pkg/twwidth"

	"shadedrill/scoring/report"
)

// curveOf finds the psychometric curve of the gallery.
func curveOf(t *testing.T) report.Plot {
	t.Helper()
	for _, s := range gallery().Sections {
		for _, p := range s.Plots {
			if p.Key == "curve" {
				return p
			}
		}
	}
	t.Fatal("the gallery has no curve")
	return report.Plot{}
}

func TestSketchGolden(t *testing.T) {
	p := curveOf(t)
	p.InText = true
	r := report.Report{Title: "A threshold", Sections: []report.Section{{Key: "curve", Title: "The curve", Plots: []report.Plot{p}, Notes: []string{"Larger is worse."}}}}
	golden(t, "sketch.txt", write(t, r, report.FormatText, 80))
}

func TestSketchKeepsItsWidthAndNeverBreaks(t *testing.T) {
	plots := []report.Plot{{}, {Series: []report.Series{{Y: []float64{math.NaN()}, X: []float64{1}}, {Style: report.Points, X: []float64{1, 2}, Y: []float64{math.Inf(1), 3}}}, Rules: []report.Rule{{At: math.NaN()}, {At: 1e9, Upright: true, Name: "far"}}}}
	for _, s := range gallery().Sections {
		plots = append(plots, s.Plots...)
	}
	for _, p := range plots {
		for _, width := range []int{0, 29, 30, 45, 76, 200} {
			for _, line := range report.Sketch(p, width, 12) {
				if w := twwidth.Width(line); w > width {
					t.Errorf("%s at %d: a line takes %d cells: %q", p.Key, width, w, line)
				}
				if strings.Contains(line, "NaN") {
					t.Errorf("%s: %q", p.Key, line)
				}
			}
		}
	}
}

// A rising line is drawn from the lower left to the upper right.
func TestSketchDrawsWhereTheDataLie(t *testing.T) {
	p := report.Plot{Series: []report.Series{{Style: report.Points, X: []float64{0, 10}, Y: []float64{0, 5}}}}
	var rows []string
	for _, line := range report.Sketch(p, 60, 10) {
		if strings.ContainsAny(line, "│┤") {
			rows = append(rows, line)
		}
	}
	if len(rows) != 10 {
		t.Fatalf("%d rows, want 10:\n%s", len(rows), strings.Join(rows, "\n"))
	}
	first, last := strings.IndexRune(rows[9], '●'), strings.IndexRune(rows[0], '●')
	if first < 0 || last < 0 || first >= last {
		t.Errorf("the points are not at lower left and upper right:\n%s", strings.Join(rows, "\n"))
	}
}
