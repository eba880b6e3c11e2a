package simulate

import (
	"fmt"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
)

// Report prints what is true of the people, to be held against what the tables
// say of them.
func Report(p Plan, people []Person) report.Report {
	t := &report.Table{Columns: []report.Column{
		{Key: "learner", Title: "learner", Left: true},
		{Key: "bias_L", Title: "bias in value"}, {Key: "bias_C", Title: "bias in chroma"}, {Key: "bias_H", Title: "bias in hue"},
		{Key: "noise", Title: "noise"},
	}}
	notes := []string{
		"Biases and noise (standard deviation along each of the three) are in the units of dL, dC, dH: parts of ΔE00, answer minus target.",
	}
	if p.Improve || p.Class != nil {
		t.Columns = append(t.Columns, report.Column{Key: "per_doubling", Title: "noise left after twice the practice, %"})
		notes = append(notes, "Noise is that of the first sitting.")
	}
	thresholds := exercises.TraitsOf(p.Setup.Kind).MeasuresThreshold || p.Class != nil
	if thresholds {
		t.Columns = append(t.Columns, report.Column{Key: "seen_at", Title: "threshold ΔE00"}, report.Column{Key: "false_alarm", Title: "false alarms"})
		notes = append(notes, "The threshold is the ΔE00 of which half is called different (three quarters right in the forced choice); false alarms are the share of identical pairs called different.")
	}
	if p.Class != nil {
		t.Columns = append(t.Columns, report.Column{Key: "character", Title: "character", Left: true}, report.Column{Key: "sittings", Title: "sittings"})
		notes = append(notes, p.Class.words(p)...)
	}
	for _, who := range people {
		signed := func(v float64) report.Number { return report.Number{Value: v, Decimals: 2, Signed: true} }
		row := []report.Cell{report.Text(who.Learner.Name), signed(who.Observer.BiasL), signed(who.Observer.BiasC), signed(who.Observer.BiasH),
			report.Number{Value: who.Observer.Noise, Decimals: 2}}
		if p.Improve || p.Class != nil {
			row = append(row, report.Share(who.PerDoubling, 0))
		}
		if thresholds {
			row = append(row, report.Number{Value: who.Observer.SeenAt, Decimals: 2}, report.Number{Value: who.Observer.FalseAlarm, Decimals: 2})
		}
		if p.Class != nil {
			row = append(row, report.Text(who.Character), report.Count(who.sittings(p)))
		}
		t.Rows = append(t.Rows, row)
	}
	lead := fmt.Sprintf("%d × %d sittings × %d answers, seed %d. Nobody's results.", p.Learners, p.Sittings, p.Items, p.Seed)
	if p.Set != nil {
		lead = fmt.Sprintf("%s took %s, %d answers each, seed %d. Nobody's results.", scoring.Count(p.Learners, "person", "people"), p.Set.Name(), p.Answers()/p.Learners, p.Seed)
	}
	return report.Report{
		Title:    "Simulated learners and what is true of them",
		Lead:     []string{lead},
		List:     true,
		Sections: []report.Section{{Key: "learners", Table: t, Notes: notes}},
	}
}
