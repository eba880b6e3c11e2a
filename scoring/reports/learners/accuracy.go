package learners

import (
	"fmt"
	"slices"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// noErrors takes the place of a table of errors that has no rows.
const noErrors = "no answers yet whose colour tells an error"

// accuracySection says how large the errors are.
func accuracySection(kinds []*history.Kind) report.Section {
	pt, at := scoring.Perceptibility, scoring.Acceptability
	t := &report.Table{None: noErrors, Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true},
		{Key: "answers", Title: "answers"}, {Key: "sittings", Title: "sittings"},
		{Key: "median_dE00", Title: "median ΔE00", Estimates: true},
		{Key: "within_perceptibility", Title: "within perceptibility", Estimates: true},
		{Key: "within_acceptability", Title: "within acceptability", Estimates: true},
		{Key: "median_seconds", Title: "median seconds"},
	}}
	for _, k := range kinds {
		name, kinds := report.Word{Key: string(k.ID), Shown: k.Title}, []*history.Kind{k}
		errors := history.Flat(history.Over(kinds, history.Size))
		below := func(limit float64) report.Estimated {
			hits := 0
			for _, e := range errors {
				if e <= limit {
					hits++
				}
			}
			return report.Percent(trend.Share(hits, len(errors), history.Level))
		}
		sittings, answers := sittingsOf(kinds)
		t.Rows = append(t.Rows, []report.Cell{name, report.Count(answers), report.Count(sittings),
			report.Estimate(history.MedianSize(kinds)), below(pt.Value), below(at.Value),
			report.Number{Value: history.Median(history.Flat(history.Gather(kinds, func(s *history.Sitting) []float64 { return s.Seconds }))), Decimals: 1}})
	}
	return report.Section{Key: "accuracy", Title: "How large the errors are", Table: t, Notes: []string{
		"ΔE00 is the distance from the answer to the target: half the answers are nearer than the median. Exercises differ in how hard they are, so there is no median over all.",
		fmt.Sprintf("Perceptibility %.1f: %s. Acceptability %.1f: %s.", pt.Value, pt.Source, at.Value, at.Source),
	}}
}

// choiceSection says how well value groups and tabs were chosen.
func choiceSection(kinds []*history.Kind) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true}, {Key: "answers", Title: "answers"},
		{Key: "group_right", Title: "value group right", Estimates: true},
		{Key: "group_bias", Title: "steps too light (+) or dark (−)", Estimates: true},
		{Key: "mean_points", Title: "mean points of 10", Estimates: true},
		{Key: "median_excess", Title: "excess ΔE00 over the best tab", Estimates: true},
	}}
	var chosen []*history.Kind
	for _, k := range kinds {
		if slices.ContainsFunc(k.Sittings, func(s *history.Sitting) bool { return len(s.Groups)+len(s.Points) > 0 }) {
			chosen = append(chosen, k)
		}
	}
	rows(chosen, func(name report.Cell, kinds []*history.Kind) {
		steps := history.Gather(kinds, func(s *history.Sitting) []float64 {
			list := make([]float64, len(s.Groups))
			for i, g := range s.Groups {
				list[i] = float64(g)
			}
			return list
		})
		right, n := 0, 0
		for _, list := range steps {
			for _, g := range list {
				if n++; g == 0 {
					right++
				}
			}
		}
		points := history.Gather(kinds, func(s *history.Sitting) []float64 { return s.Points })
		excess := history.Gather(kinds, func(s *history.Sitting) []float64 { return s.Excess })
		_, answers := sittingsOf(kinds)
		groupRight, groupBias := report.Cell(report.Percent(trend.Share(right, n, history.Level))), report.Cell(report.Signed(history.Mean(steps)))
		if n == 0 { // no value groups are chosen there
			groupRight, groupBias = report.Empty{}, report.Empty{}
		}
		t.Rows = append(t.Rows, []report.Cell{name, report.Count(answers),
			groupRight, groupBias, report.Decimals(history.Within(history.Mean(points), 0, 10), 1), report.Estimate(trend.Median(history.Flat(excess), history.Level))})
	})
	return report.Section{Key: "choices", Title: "How well groups and tabs were chosen", Table: t, Notes: []string{
		"Points: 10 for the nearest tab, 9 for the next, … 0 (training score of J Esthet Restor Dent 2016;28:287–294: 174 students reached 7.1 before teaching and 8.4 after).",
		"Excess ΔE00 over the best tab: how much nearer the best possible answer was; the median.",
	}}
}

// checkSection lists what was right or wrong.
func checkSection(kinds []*history.Kind) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true}, {Key: "check", Title: "judgement", Left: true},
		{Key: "right", Title: "right", Estimates: true}, {Key: "answers", Title: "answers"},
	}}
	for _, k := range kinds {
		var sum history.Named[history.Tally]
		for _, s := range k.Sittings {
			for i, name := range s.Checks.Names {
				sum.At(name, "").Join(s.Checks.Values[i])
			}
		}
		for i, name := range sum.Names {
			c := sum.Values[i]
			t.Rows = append(t.Rows, []report.Cell{report.Word{Key: string(k.ID), Shown: k.Title}, report.Text(name),
				report.Percent(c.Share(k.ID)), report.Count(c.Answers())})
		}
	}
	var notes []string
	for _, k := range kinds {
		if words := scoring.RulesOf(k.ID).TogetherWords; words != "" {
			notes = append(notes, words)
		}
	}
	return report.Section{Key: "checks", Title: "Judgements that are right or wrong", Table: t, Notes: notes}
}

// numberSection lists the further measures of an exercise.
func numberSection(kinds []*history.Kind) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true}, {Key: "measure", Title: "measure", Left: true},
		{Key: "median", Title: "median", Estimates: true}, {Key: "unit", Title: "unit", Left: true}, {Key: "answers", Title: "answers"},
	}}
	for _, k := range kinds {
		var sum history.Named[[]float64]
		for _, s := range k.Sittings {
			for i, name := range s.Numbers.Names {
				list := sum.At(name, s.Numbers.Units[i])
				*list = append(*list, s.Numbers.Values[i]...)
			}
		}
		for i, name := range sum.Names {
			t.Rows = append(t.Rows, []report.Cell{report.Word{Key: string(k.ID), Shown: k.Title}, report.Text(name),
				report.Estimate(trend.Median(sum.Values[i], history.Level)), report.Text(sum.Units[i]), report.Count(len(sum.Values[i]))})
		}
	}
	return report.Section{Key: "measures", Title: "Further measures", Table: t}
}
