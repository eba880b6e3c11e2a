package learners

import (
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
)

// biasSection says which way the errors run: those of answers that stand for a
// colour, and those behind directions told.
func biasSection(kinds, told []*history.Kind) report.Section {
	t := &report.Table{None: noErrors, Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true},
	}}
	for _, a := range history.Axes {
		t.Columns = append(t.Columns, report.Column{Key: a.Key, Title: a.Title, Estimates: true})
	}
	t.Columns = append(t.Columns, report.Column{Key: "bias", Title: "bias", Left: true})
	rows(kinds, func(name report.Cell, kinds []*history.Kind) {
		row := []report.Cell{name}
		biases := history.BiasOfKinds(kinds).Estimates
		for _, e := range biases {
			row = append(row, report.Signed(e))
		}
		t.Rows = append(t.Rows, append(row, report.Text(history.BiasWords(biases, nil))))
	})
	directionBiases(t, told, len(kinds))
	var plots []report.Plot
	for _, k := range kinds {
		plots = append(plots, biasPlot(k))
	}
	notes := []string{
		history.BiasNote + " " + history.BiasOfNow,
	}
	if len(told) > 0 {
		notes = append(notes, "Where more, the same or less is asked: how much too light, chromatic or yellow things are seen, from the differences shown and what was said of them (ordered probit).")
	}
	return report.Section{Key: "bias", Title: "Bias: which way the errors run", Table: t, Plots: plots, Notes: notes}
}
