package reports

import (
	"fmt"
	"slices"
	"strings"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/trend"
)

// directed are the exercises that ask for directions, more, the same or less.
func directed(kinds []*kindHistory) []*kindHistory {
	var list []*kindHistory
	for _, k := range kinds {
		if slices.ContainsFunc(k.sittings, func(s *sittingHistory) bool { return len(s.directions) > 0 }) {
			list = append(list, k)
		}
	}
	return list
}

// along gathers an exercise's directions along one attribute.
func (k *kindHistory) along(attribute string) (list []scoring.Direction) {
	for _, s := range k.sittings {
		for _, d := range s.directions {
			if d.Attribute == attribute {
				list = append(list, d)
			}
		}
	}
	return list
}

// directionAttributes are the attributes in the order of axes.
var directionAttributes = exercises.AttributeNames()

// leanAlong is the lean behind the directions told along an attribute.
func (k *kindHistory) leanAlong(attribute string) scoring.Estimate {
	var shown []float64
	var said []int
	for _, d := range k.along(attribute) {
		shown, said = append(shown, d.Part), append(said, d.Said)
	}
	return trend.DirectionBias(shown, said, level)
}

// directionSection says how well directions were told: those that were there, and
// those that were not.
func directionSection(kinds []*kindHistory) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true}, {Key: "attribute", Title: "attribute", Left: true},
		{Key: "told", Title: "told where there", Estimates: true}, {Key: "reversed", Title: "told the wrong way round", Estimates: true},
		{Key: "false", Title: "told where not there", Estimates: true}, {Key: "answers", Title: "answers"},
	}}
	for _, k := range directed(kinds) {
		for _, attribute := range directionAttributes {
			var there, told, reversed, absent, imagined int
			for _, d := range k.along(attribute) {
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
			t.Rows = append(t.Rows, []report.Cell{report.Word{Key: string(k.id), Shown: k.title}, report.Text(attribute),
				percent(trend.Share(told, there, level)), percent(trend.Share(reversed, there, level)),
				percent(trend.Share(imagined, absent, level)), report.Count(there + absent)})
		}
	}
	return report.Section{Key: "directions", Title: "More, the same, or less", Table: t, Notes: []string{
		fmt.Sprintf("There: a part of the difference beyond perceptibility, %.1f (%s).", scoring.Perceptibility.Value, scoring.Perceptibility.Source),
	}}
}

// directionLeans adds the leans behind directions to the table of leans, before
// the row of all exercises, which is taken over answers of a colour.
func directionLeans(t *report.Table, kinds []*kindHistory, coloured int) {
	at := len(t.Rows)
	if coloured > 1 {
		at--
	}
	for _, k := range kinds {
		row := []report.Cell{report.Word{Key: string(k.id), Shown: k.title}}
		var leans []string
		told := false
		for i, a := range axes {
			e := k.leanAlong(directionAttributes[i])
			row = append(row, signed(e))
			told = told || e.HasInterval()
			if w := lean(e, a.above, a.down); w != "" {
				leans = append(leans, w)
			}
		}
		words := "none beyond chance"
		switch {
		case len(leans) > 0:
			words = strings.Join(leans, ", ")
		case !told:
			words = "cannot be told yet"
		}
		t.Rows = slices.Insert(t.Rows, at, append(row, report.Text(words)))
		at++
	}
}
