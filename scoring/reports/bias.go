package reports

import (
	"strings"

	"shadedrill/colour"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
)

// axes are the three attributes with the words for leaning along them.
var axes = []struct {
	key, title  string
	of          func(judged) float64 // NaN where the error could run one way only
	part        func(colour.Difference) float64
	above, down string
}{
	{"bias_L", "value (ΔL')", value, func(d colour.Difference) float64 { return d.L }, "too light", "too dark"},
	{"bias_C", "chroma (ΔC')", chroma, func(d colour.Difference) float64 { return d.C }, "too chromatic", "too weak in chroma"},
	{"bias_H", "hue (ΔH')", hue, func(d colour.Difference) float64 { return d.H }, "too yellow", "too red"},
}

// biasSection says which way the errors lean: those of answers that stand for a
// colour, and those behind directions told.
func biasSection(kinds, told []*kindHistory) report.Section {
	t := &report.Table{None: noErrors, Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true},
	}}
	for _, a := range axes {
		t.Columns = append(t.Columns, report.Column{Key: a.key, Title: a.title, Estimates: true})
	}
	t.Columns = append(t.Columns, report.Column{Key: "lean", Title: "lean", Left: true})
	rows(kinds, func(name report.Cell, kinds []*kindHistory) {
		row := []report.Cell{name}
		var leans []string
		for _, a := range axes {
			e := mean(over(kinds, a.of))
			row = append(row, signed(e))
			if w := lean(e, a.above, a.down); w != "" {
				leans = append(leans, w)
			}
		}
		words := "none beyond chance"
		if len(leans) > 0 {
			words = strings.Join(leans, ", ")
		}
		t.Rows = append(t.Rows, append(row, report.Text(words)))
	})
	directionLeans(t, told, len(kinds))
	var plots []report.Plot
	for _, k := range kinds {
		plots = append(plots, biasPlot(k))
	}
	notes := []string{
		"Answer minus target in ΔE00 units: above 0 is too light, too chromatic, too yellow. A lean is named where its interval leaves 0 out.",
		"Only answers that could have gone either way count: where the library ends, errors run inwards only, whoever answers.",
	}
	if len(told) > 0 {
		notes = append(notes, "Where more, the same or less is asked: how much too light, chromatic or yellow things are seen, from the differences shown and what was said of them (ordered probit).")
	}
	return report.Section{Key: "bias", Title: "Which way they lean", Table: t, Plots: plots, Notes: notes}
}

// lean names the direction of a bias that is beyond chance, or "".
func lean(e scoring.Estimate, above, below string) string {
	switch {
	case !e.Defined() || !e.HasInterval() || e.Covers(0):
		return ""
	case e.Value > 0:
		return above
	}
	return below
}
