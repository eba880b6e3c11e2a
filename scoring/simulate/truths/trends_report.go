package truths

import (
	"fmt"

	"shadedrill/scoring/report"
)

// TrendReport prints the lines.
func TrendReport(rows []TrendRow, library string, p Plan) report.Report {
	t := &report.Table{Columns: []report.Column{
		{Key: "scenario", Title: "scenario", Left: true}, {Key: "adaptive", Title: "adaptive", Left: true}, {Key: "runs", Title: "runs"},
		{Key: "worse", Title: "told: errors grow"}, {Key: "better", Title: "told: errors shrink"},
		{Key: "median_first", Title: "first median"}, {Key: "median_last", Title: "last median"},
	}}
	for _, r := range rows {
		t.Rows = append(t.Rows, []report.Cell{report.Text(r.Scenario), report.Yes(r.Adaptive), report.Count(r.Runs),
			report.Number{Value: r.Worse, Decimals: 3}, report.Number{Value: r.Better, Decimals: 3},
			report.Number{Value: r.MedianFirst, Decimals: 2}, report.Number{Value: r.MedianLast, Decimals: 2}})
	}
	return report.Report{
		Title: "Simulated observers whose ability is known, and what is told of its trend", List: true,
		Lead: []string{fmt.Sprintf("%d runs a line, seed %d: %d sittings of %d trials, value first, library %s. Nobody's results.", p.Runs, p.Seed, trendSittings, trendAnswers, library)},
		Sections: []report.Section{{Key: "trends", Table: t, Notes: []string{
			"Told: the shares of people for whom the Mann–Kendall test finds a rise or a fall at 5 %. Medians in ΔE00, of the first and the last sitting, as an even sample would have them. At once: they look at every tab of all groups at once, by a measure of their own.",
		}}},
	}
}
