package truths

import (
	"fmt"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
)

// FormReport prints the table.
func FormReport(r FormRow, p Plan) report.Report {
	three := func(x float64) report.Cell { return report.Number{Value: x, Decimals: 3} }
	result := &report.Table{Columns: []report.Column{{Key: "learners", Title: "learners"}, {Key: "tau_share", Title: "share right"},
		{Key: "tau_median", Title: "median ΔE00"}, {Key: "superior_beyond", Title: "most often superior, of those beyond 1.8"}},
		Rows: [][]report.Cell{{report.Count(r.Learners), three(r.TauShare), three(r.TauMedian), three(r.SuperiorBeyond)}}}
	rep := report.Report{
		Title: "Simulated people whose error is known, and what the usual form of the test says of them", List: true,
		Lead: []string{fmt.Sprintf("%d people take each of %d forms, seed %d: %d items whose targets are tabs and %d of any tooth colour. %s Nobody's results.",
			r.Learners, r.Runs, p.Seed, scoring.UsualItems, scoring.UsualItems, r.Ways.Words)},
		Sections: []report.Section{{Key: "tests", Table: result, Notes: []string{
			"Share right and median: Kendall's τ-b with the true error, mean over the forms, above 0 where the result is the worse the larger the error; aim 0.6 or more. " +
				fmt.Sprintf("The level's is %.3f. ", r.TauLevel) +
				"The true error is the median ΔE00 at which somebody sees a tooth colour, before any tab is looked for.",
			fmt.Sprintf("The last column: of the %d people whose true error is beyond acceptability, the one most often called %s, by the share of forms; aim at most 0.05.", r.Beyond, scoring.MatchCuts[0].Level),
			bandWords(r),
		}}},
	}
	return rep
}

// bandWords tell how results fall, a band of half a ΔE00 after the other.
func bandWords(r FormRow) string {
	words := "By true error (people, mean share right, mean median, share of forms superior and poor): "
	for i, b := range r.Bands {
		if i > 0 {
			words += "; "
		}
		words += fmt.Sprintf("%.1f to %.1f (%d: %.2f, %.2f, %.2f, %.2f)", b.From, b.From+bandWidth, b.People, b.Right, b.Median, b.Superior, b.Poor)
	}
	return words + "."
}
