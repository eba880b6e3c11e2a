package learners

import (
	"fmt"
	"slices"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// directionSection says how well directions were told: those that were there, and
// those that were not.
func directionSection(kinds []*history.Kind) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true}, {Key: "attribute", Title: "attribute", Left: true},
		{Key: "told", Title: "told where there", Estimates: true}, {Key: "reversed", Title: "told the wrong way round", Estimates: true},
		{Key: "false", Title: "told where not there", Estimates: true}, {Key: "answers", Title: "answers"},
	}}
	for _, k := range history.Directed(kinds) {
		for _, attribute := range history.DirectionAttributes {
			var there, told, reversed, absent, imagined int
			for _, d := range k.Along(attribute) {
				switch shown := d.Shown(); {
				case shown == 0:
					absent++
					if d.Said != 0 {
						imagined++
					}
				default:
					there++
					if d.Said == shown {
						told++
					} else if d.Said == -shown {
						reversed++
					}
				}
			}
			if there+absent == 0 {
				continue
			}
			t.Rows = append(t.Rows, []report.Cell{report.Word{Key: string(k.ID), Shown: k.Title}, report.Text(attribute),
				report.Percent(trend.Share(told, there, history.Level)), report.Percent(trend.Share(reversed, there, history.Level)),
				report.Percent(trend.Share(imagined, absent, history.Level)), report.Count(there + absent)})
		}
	}
	return report.Section{Key: "directions", Title: "More, the same, or less", Table: t, Notes: []string{
		fmt.Sprintf("There: a part of the difference beyond perceptibility, %.1f (%s).", scoring.Perceptibility.Value, scoring.Perceptibility.Source),
	}}
}

// directionBiases adds the bias behind directions to the table of bias, before
// the row of all exercises, which is taken over answers of a colour.
func directionBiases(t *report.Table, kinds []*history.Kind, coloured int) {
	at := len(t.Rows)
	if coloured > 1 {
		at--
	}
	for _, k := range kinds {
		row := []report.Cell{report.Word{Key: string(k.ID), Shown: k.Title}}
		var biases [3]scoring.Estimate
		for i, attribute := range history.DirectionAttributes {
			biases[i] = k.BiasAlong(attribute)
			row = append(row, report.Signed(biases[i]))
		}
		t.Rows = slices.Insert(t.Rows, at, append(row, report.Text(history.BiasWords(biases, nil))))
		at++
	}
}
