package truths

import (
	"fmt"

	"shadedrill/scoring/report"
)

// BiasLines are the lines of the table: every library, axis, bias and noise. The chooser
// decides how they answer.
func BiasLines(libraries []string, by Chooser) (list []Bias) {
	for _, library := range libraries {
		for axis := range axes {
			for _, bias := range []float64{-3, -2.5, -1, 0, 1, 2.5, 3} {
				for _, noise := range []float64{0.6, 1, 1.5} {
					list = append(list, Bias{Library: library, Chooser: by, Axis: axis, Bias: bias, Noise: noise})
				}
			}
		}
	}
	return list
}

// BiasReport prints the lines.
func BiasReport(rows []BiasRow, by Chooser, p Plan) report.Report {
	t := &report.Table{Columns: []report.Column{
		{Key: "library", Title: "library", Left: true}, {Key: "axis", Title: "axis", Left: true},
		{Key: "bias", Title: "true bias"}, {Key: "noise", Title: "noise"}, {Key: "runs", Title: "runs"},
		{Key: "mean", Title: "mean told"}, {Key: "covered", Title: "covered"}, {Key: "leak", Title: "most on another axis"}, {Key: "at_least", Title: "told as a bound"},
	}}
	for _, r := range rows {
		t.Rows = append(t.Rows, []report.Cell{report.Text(r.Library), report.Text(axes[r.Axis]),
			report.Number{Value: r.Bias.Bias, Decimals: 1, Signed: true}, report.Number{Value: r.Noise, Decimals: 1}, report.Count(r.Runs),
			report.Number{Value: r.Mean, Decimals: 3, Signed: true}, report.Number{Value: r.Covered, Decimals: 3},
			report.Number{Value: r.Leak, Decimals: 3, Signed: true}, report.Number{Value: r.AtLeast, Decimals: 3}})
	}
	return report.Report{
		Title: "Simulated observers whose bias is known, and what is told of it", List: true,
		Lead: []string{fmt.Sprintf("%d runs a line, seed %d: %d sittings of %d answers, value first, any tooth colour. %s Nobody's results.", p.Runs, p.Seed, biasSittings, biasAnswers, by.Words)},
		Sections: []report.Section{{Key: "biases", Table: t, Notes: []string{
			"ΔE00. Covered: share of runs whose 95 % interval, or bound, holds the truth; aim 0.93 to 0.97. Mean told: aim within 5 %. Most on another axis: the largest mean told where there is none; aim within 0.1.",
		}}},
	}
}
