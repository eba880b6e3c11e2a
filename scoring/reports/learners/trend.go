package learners

import (
	"fmt"
	"slices"

	"shadedrill/colour"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// newestWeight is the weight of the newest sitting in "now" (λ of the
// exponentially weighted mean; 0.2–0.3 is usual for control charts,
// NIST/SEMATECH e-Handbook 6.3.2.4).
const newestWeight = 0.3

// trendSection says whether the errors shrink, from one number a sitting, see
// [history.Sitting.Typical].
func trendSection(kinds []*history.Kind) report.Section {
	t := &report.Table{None: noErrors, Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true}, {Key: "sittings", Title: "sittings"},
		{Key: "now_dE00", Title: "ΔE00 now", Estimates: true},
		{Key: "slope", Title: "change a sitting", Estimates: true},
		{Key: "p", Title: "p"},
		{Key: "trend", Title: "trend", Left: true},
		{Key: "per_doubling", Title: "error remaining per doubling of practice", Estimates: true},
	}}
	s := report.Section{Key: "trend", Title: "Whether they shrink", Table: t, Notes: []string{
		history.TypicalNote + " Now: the newest sittings weigh most. Change: the median of all slopes between sittings (Theil–Sen); below 0 is better.",
		"Trend: the Mann–Kendall test for a steady rise or fall at 5 %. Error remaining per doubling of practice: 80 % means a fifth less error each time the number of sittings doubles.",
	}}
	for _, k := range kinds {
		k := k.Practice()
		means, unknown := history.Typicals(k)
		line := trend.TheilSen(nil, means, history.Level)
		test := trend.MannKendall(means)
		p := report.Cell(report.Number{Value: test.P, Decimals: 3})
		if history.TrendWord(test).Key == "unknown" {
			p = report.Empty{}
		}
		t.Rows = append(t.Rows, []report.Cell{
			report.Word{Key: string(k.ID), Shown: k.Title}, report.Count(len(means) + unknown),
			report.Estimate(trend.CurrentLevel(means, newestWeight, history.Level)),
			report.Estimated{Estimate: line.Slope, Decimals: 3, Signed: true},
			p, history.TrendWord(test), report.Percent(trend.LearningRate(nil, means, history.Level).PerDoubling),
		})
		s.Plots = append(s.Plots, trendPlot(k))
		if words := k.LevelNote(); words != "" {
			s.Notes = append(s.Notes, words)
		}
		if unknown > 0 {
			s.Notes = append(s.Notes, fmt.Sprintf("%s: %d %s left out, %s.", k.Title, unknown, scoring.Plural(unknown, "sitting is", "sittings are"), history.UnknownChance))
		}
	}
	return s
}

// trendPlot shows the error over time.
func trendPlot(k *history.Kind) report.Plot {
	plot := report.Plot{
		Key: "trend-" + string(k.ID), Title: k.Title + ": error over time", XTitle: "sitting", YTitle: "mean ΔE00",
		Bands: []report.Band{
			{From: 0, To: scoring.Perceptibility.Value, Name: "within perceptibility", Shade: report.ShadePerceptible},
			{From: scoring.Perceptibility.Value, To: scoring.Acceptability.Value, Name: "within acceptability", Shade: report.ShadeAcceptable},
		},
	}
	var shares [][]float64
	for _, s := range k.Sittings {
		shares = append(shares, s.Shares())
	}
	plot.Series = []report.Series{overTime("mean ΔE00", shares, history.Mean)}
	return plot
}

// biasPlot shows the bias along the three attributes over time.
func biasPlot(k *history.Kind) report.Plot {
	plot := report.Plot{Key: "bias-" + string(k.ID), Title: k.Title + ": bias over time", XTitle: "sitting", YTitle: "answer − target, ΔE00"}
	for i, parts := range history.BiasBySitting(k) {
		plot.Series = append(plot.Series, overTime(history.Axes[i].Title, parts, history.Mean))
	}
	return plot
}

// overTime is a statistic over time, sitting by sitting or block by block.
func overTime(name string, sittings [][]float64, statistic func([][]float64) scoring.Estimate) report.Series {
	s := report.Series{Name: name, Style: report.LineWithBand}
	block := (len(sittings) + history.MostPoints - 1) / history.MostPoints
	for from := 0; from < len(sittings); from += block {
		to := min(from+block, len(sittings))
		if len(slices.Concat(sittings[from:to]...)) == 0 {
			continue
		}
		e := statistic(sittings[from:to]).Drawn()
		s.X = append(s.X, float64(from+1+to)/2)
		s.Y, s.Lo, s.Hi = append(s.Y, e.Value), append(s.Lo, e.Lo), append(s.Hi, e.Hi)
	}
	return s
}

// lightSection compares lamps, where another than daylight was practised under.
func lightSection(kinds []*history.Kind) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "light", Title: "light", Left: true}, {Key: "answers", Title: "answers"},
		{Key: "median_dE00", Title: "median ΔE00", Estimates: true},
	}}
	for _, a := range history.Axes {
		t.Columns = append(t.Columns, report.Column{Key: a.Key, Title: a.Title, Estimates: true})
	}
	var lights history.Named[[]*history.Kind]
	for _, k := range kinds {
		for _, s := range k.Sittings {
			list := lights.At(history.LampOf(s.Sitting), "")
			*list = append(*list, &history.Kind{Sittings: []*history.Sitting{s}})
		}
	}
	daylight := colour.D65().ID
	if len(lights.Names) > 1 || len(lights.Names) == 1 && lights.Names[0] != daylight {
		for i, id := range lights.Names {
			name := report.Word{Key: id, Shown: history.LampName(id)}
			row := []report.Cell{name, report.Count(len(history.Flat(history.Over(lights.Values[i], history.Size)))), report.Estimate(history.MedianSize(lights.Values[i]))}
			for _, e := range history.BiasOfKinds(lights.Values[i]).Estimates {
				row = append(row, report.Signed(e))
			}
			t.Rows = append(t.Rows, row)
		}
	}
	return report.Section{Key: "lights", Title: "Under which light", Table: t, Notes: []string{
		fmt.Sprintf("The same signs as in the table of bias; %.0f %% intervals.", 100*history.Level),
	}}
}
