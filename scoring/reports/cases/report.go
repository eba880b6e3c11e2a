package cases

import (
	"fmt"
	"slices"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
)

// Report writes verdicts down, in the order given: a list for machines, and for
// people with a summary above.
func Report(verdicts []Verdict) report.Report {
	table := &report.Table{Columns: []report.Column{
		{Key: "id", Title: "id", Left: true},
		{Key: "dE00", Title: "ΔE00"},
		{Key: "dL", Title: "ΔL'"},
		{Key: "dC", Title: "ΔC'"},
		{Key: "dH", Title: "ΔH'"},
		{Key: "band", Title: "band", Left: true},
		{Key: "dWID", Title: "ΔWI_D"},
		{Key: "advice", Title: "what to change", Left: true},
	}}
	var counts [scoring.MismatchC + 1]int
	errors := make([]float64, 0, len(verdicts))
	for _, v := range verdicts {
		counts[v.Band]++
		errors = append(errors, v.Difference.E)
		table.Rows = append(table.Rows, []report.Cell{
			report.Text(v.ID),
			report.Number{Value: v.Difference.E, Decimals: 2},
			report.Number{Value: v.Difference.L, Decimals: 2, Signed: true},
			report.Number{Value: v.Difference.C, Decimals: 2, Signed: true},
			report.Number{Value: v.Difference.H, Decimals: 2, Signed: true},
			report.Word{Key: v.Band.String(), Shown: v.Band.Words()},
			report.Number{Value: v.Whiter, Decimals: 1, Signed: true},
			report.Text(v.Advice),
		})
	}
	slices.Sort(errors)
	lead := fmt.Sprintf("%d %s", len(verdicts), scoring.Plural(len(verdicts), "pair", "pairs"))
	if n := len(errors); n > 0 {
		lead += fmt.Sprintf(", median ΔE00 %.2f: %d within perceptibility, %d within acceptability, %d beyond.",
			(errors[(n-1)/2]+errors[n/2])/2, counts[scoring.Excellent], counts[scoring.Acceptable],
			n-counts[scoring.Excellent]-counts[scoring.Acceptable])
	}
	return report.Report{
		Title: "Prescribed and delivered",
		Lead:  []string{lead},
		List:  true,
		Sections: []report.Section{{Key: "cases", Table: table, Notes: []string{
			"ΔL', ΔC', ΔH' are the weighted parts of ΔE00, delivered minus prescribed: above 0 is lighter, more chromatic, yellower.",
			"What to change is in the same units, the largest part first; what is left out would not be seen.",
			fmt.Sprintf("Perceptibility %.1f: %s. Acceptability %.1f: %s.", scoring.Perceptibility.Value, scoring.Perceptibility.Source,
				scoring.Acceptability.Value, scoring.Acceptability.Source),
			"Bands: " + scoring.BandSource + ".",
			fmt.Sprintf("ΔWI_D above 0 is whiter; %.2f is seen, %.2f accepted (%s).", scoring.WhitenessPerceptibility.Value,
				scoring.WhitenessAcceptability.Value, scoring.WhitenessAcceptability.Source),
		}}},
		Cautions: scoring.Cautions,
	}
}
