package reports

import (
	"fmt"
	"slices"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/trend"
)

// noErrors takes the place of a table of errors that has no rows.
const noErrors = "no answers yet whose colour tells an error"

// accuracySection says how large the errors are.
func accuracySection(kinds []*kindHistory) report.Section {
	pt, at := scoring.Perceptibility, scoring.Acceptability
	t := &report.Table{None: noErrors, Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true},
		{Key: "answers", Title: "answers"}, {Key: "sittings", Title: "sittings"},
		{Key: "median_dE00", Title: "median ΔE00", Estimates: true},
		{Key: "within_perceptibility", Title: "within perceptibility", Estimates: true},
		{Key: "within_acceptability", Title: "within acceptability", Estimates: true},
		{Key: "median_seconds", Title: "median seconds"},
	}}
	rows(kinds, func(name report.Cell, kinds []*kindHistory) {
		errors := flat(over(kinds, size))
		below := func(limit float64) report.Estimated {
			hits := 0
			for _, e := range errors {
				if e <= limit {
					hits++
				}
			}
			return percent(trend.Share(hits, len(errors), level))
		}
		sittings, answers := sittingsOf(kinds)
		t.Rows = append(t.Rows, []report.Cell{name, report.Count(answers), report.Count(sittings),
			estimate(trend.Median(errors, level)), below(pt.Value), below(at.Value),
			report.Number{Value: median(flat(gather(kinds, func(s *sittingHistory) []float64 { return s.seconds }))), Decimals: 1}})
	})
	return report.Section{Key: "accuracy", Title: "How large the errors are", Table: t, Notes: []string{
		"ΔE00 is the distance from the answer to the target: half the answers are nearer than the median.",
		fmt.Sprintf("Perceptibility %.1f: %s. Acceptability %.1f: %s.", pt.Value, pt.Source, at.Value, at.Source),
	}}
}

// choiceSection says how well value groups and tabs were chosen.
func choiceSection(kinds []*kindHistory) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true}, {Key: "answers", Title: "answers"},
		{Key: "group_right", Title: "value group right", Estimates: true},
		{Key: "group_bias", Title: "steps too light (+) or dark (−)", Estimates: true},
		{Key: "mean_points", Title: "mean points of 10", Estimates: true},
		{Key: "median_excess", Title: "ΔE00 given away", Estimates: true},
	}}
	var chosen []*kindHistory
	for _, k := range kinds {
		if slices.ContainsFunc(k.sittings, func(s *sittingHistory) bool { return len(s.groups)+len(s.points) > 0 }) {
			chosen = append(chosen, k)
		}
	}
	rows(chosen, func(name report.Cell, kinds []*kindHistory) {
		steps := gather(kinds, func(s *sittingHistory) []float64 {
			list := make([]float64, len(s.groups))
			for i, g := range s.groups {
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
		points := gather(kinds, func(s *sittingHistory) []float64 { return s.points })
		excess := gather(kinds, func(s *sittingHistory) []float64 { return s.excess })
		_, answers := sittingsOf(kinds)
		groupRight, groupBias := report.Cell(percent(trend.Share(right, n, level))), report.Cell(signed(mean(steps)))
		if n == 0 { // no value groups are chosen there
			groupRight, groupBias = report.Empty{}, report.Empty{}
		}
		t.Rows = append(t.Rows, []report.Cell{name, report.Count(answers),
			groupRight, groupBias, decimals(within(mean(points), 0, 10), 1), estimate(trend.Median(flat(excess), level))})
	})
	return report.Section{Key: "choices", Title: "How well groups and tabs were chosen", Table: t, Notes: []string{
		"Points: 10 for the nearest tab, 9 for the next, … 0 (training score of J Esthet Restor Dent 2016;28:287–294: 174 students reached 7.1 before teaching and 8.4 after).",
		"ΔE00 given away: how much nearer the best possible answer was.",
	}}
}

// checkSection lists what was right or wrong.
func checkSection(kinds []*kindHistory) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true}, {Key: "check", Title: "judgement", Left: true},
		{Key: "right", Title: "right", Estimates: true}, {Key: "answers", Title: "answers"},
	}}
	for _, k := range kinds {
		var sum named[tally]
		for _, s := range k.sittings {
			for i, name := range s.checks.names {
				sum.at(name, "").join(s.checks.values[i])
			}
		}
		for i, name := range sum.names {
			c := sum.values[i]
			t.Rows = append(t.Rows, []report.Cell{report.Word{Key: string(k.id), Shown: k.title}, report.Text(name),
				percent(c.share(k.id)), report.Count(c.answers())})
		}
	}
	var notes []string
	for _, k := range kinds {
		if words := scoring.RulesOf(k.id).TogetherWords; words != "" {
			notes = append(notes, words)
		}
	}
	return report.Section{Key: "checks", Title: "Judgements that are right or wrong", Table: t, Notes: notes}
}

// numberSection lists the further measures of an exercise.
func numberSection(kinds []*kindHistory) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true}, {Key: "measure", Title: "measure", Left: true},
		{Key: "median", Title: "median", Estimates: true}, {Key: "unit", Title: "unit", Left: true}, {Key: "answers", Title: "answers"},
	}}
	for _, k := range kinds {
		var sum named[[]float64]
		for _, s := range k.sittings {
			for i, name := range s.numbers.names {
				list := sum.at(name, s.numbers.units[i])
				*list = append(*list, s.numbers.values[i]...)
			}
		}
		for i, name := range sum.names {
			t.Rows = append(t.Rows, []report.Cell{report.Word{Key: string(k.id), Shown: k.title}, report.Text(name),
				estimate(trend.Median(sum.values[i], level)), report.Text(sum.units[i]), report.Count(len(sum.values[i]))})
		}
	}
	return report.Section{Key: "measures", Title: "Further measures", Table: t}
}

func estimate(e scoring.Estimate) report.Estimated { return decimals(e, 2) }

func decimals(e scoring.Estimate, n int) report.Estimated {
	return report.Estimated{Estimate: e, Decimals: n}
}

func signed(e scoring.Estimate) report.Estimated {
	return report.Estimated{Estimate: e, Decimals: 2, Signed: true}
}

func percent(e scoring.Estimate) report.Estimated {
	return report.Estimated{Estimate: e, Percent: true}
}

// mean is the mean with an interval that allows for sittings differing, where
// there are several.
func mean(sittings [][]float64) scoring.Estimate {
	if len(sittings) == 1 {
		return trend.Bias(sittings[0], level)
	}
	return trend.BiasOverSittings(sittings, level)
}

// within cuts an interval off where no value can lie.
func within(e scoring.Estimate, lowest, highest float64) scoring.Estimate {
	e.Lo, e.Hi = max(e.Lo, lowest), min(e.Hi, highest) // NaN stays NaN
	return e
}

// median is that of [trend.Median] without its interval; NaN where it is undefined.
func median(xs []float64) float64 { return trend.Middle(xs) }
