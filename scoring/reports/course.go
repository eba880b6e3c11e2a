package reports

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/scoring"
	"shadedrill/scoring/exam"
	"shadedrill/scoring/report"
	"shadedrill/scoring/trend"
)

// newestWeight is the weight of the newest sitting in "now" (λ of the
// exponentially weighted mean; 0.2–0.3 is usual for control charts,
// NIST/SEMATECH e-Handbook 6.3.2.4).
const newestWeight = 0.3

// trendSection says whether the errors shrink, from one number a sitting: its
// median ΔE00.
func trendSection(kinds []*kindHistory) report.Section {
	t := &report.Table{None: noErrors, Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true}, {Key: "sittings", Title: "sittings"},
		{Key: "now_dE00", Title: "ΔE00 now", Estimates: true},
		{Key: "slope", Title: "change a sitting", Estimates: true},
		{Key: "p", Title: "p"},
		{Key: "course", Title: "course", Left: true},
		{Key: "per_doubling", Title: "left after twice the practice", Estimates: true},
	}}
	s := report.Section{Key: "trend", Title: "Whether they shrink", Table: t, Notes: []string{
		"From the median ΔE00 of each sitting, but for proficiency tests, whose targets are chosen otherwise. Now: the newest sittings weigh most. Change: the median of all slopes between sittings (Theil–Sen); below 0 is better.",
		"Course: the Mann–Kendall test for a steady rise or fall at 5 %. Left after twice the practice: 80 % means a fifth less error each time the number of sittings doubles.",
	}}
	for _, k := range kinds {
		k := k.practice()
		medians := sittingMedians(k)
		line := trend.TheilSen(nil, medians, level)
		test := trend.MannKendall(medians)
		p := report.Cell(report.Number{Value: test.P, Decimals: 3})
		if course(test).Key == "unknown" {
			p = report.Empty{}
		}
		t.Rows = append(t.Rows, []report.Cell{
			report.Word{Key: string(k.id), Shown: k.title}, report.Count(len(medians)),
			estimate(trend.CurrentLevel(medians, newestWeight, level)),
			report.Estimated{Estimate: line.Slope, Decimals: 3, Signed: true},
			p, course(test), percent(trend.LearningRate(nil, medians, level).PerDoubling),
		})
		s.Plots = append(s.Plots, trendPlot(k))
	}
	return s
}

// leastForCourse is how many sittings the test needs: four in perfect order
// still come about by chance in 2 of 24 cases, five in 2 of 120.
const leastForCourse = 5

func course(test trend.Monotone) report.Word {
	switch {
	case !test.TauB.Defined() || test.TauB.N < leastForCourse:
		return report.Word{Key: "unknown", Shown: "cannot be told yet"}
	case test.P > 0.05:
		return report.Word{Key: "none", Shown: "no trend beyond chance"}
	case test.S < 0:
		return report.Word{Key: "falling", Shown: "errors shrink"}
	}
	return report.Word{Key: "rising", Shown: "errors grow"}
}

// practice leaves out the sittings of proficiency tests: their targets are tabs,
// and hitting one exactly would look like a sudden gain.
func (k *kindHistory) practice() *kindHistory {
	p := *k
	p.sittings = nil
	for _, s := range k.sittings {
		if !s.tested() {
			p.sittings = append(p.sittings, s)
		}
	}
	return &p
}

func (s *sittingHistory) tested() bool {
	_, _, test := exam.ParseWithin(s.sitting.Within)
	return test
}

// sittingMedians gives one number a sitting.
func sittingMedians(k *kindHistory) []float64 {
	var medians []float64
	for _, list := range over([]*kindHistory{k}, size) {
		medians = append(medians, median(list))
	}
	return medians
}

// trendPlot shows the error over time.
func trendPlot(k *kindHistory) report.Plot {
	plot := report.Plot{
		Key: "trend-" + string(k.id), Title: k.title + ": error over time", XTitle: "sitting", YTitle: "median ΔE00",
		Bands: []report.Band{
			{From: 0, To: scoring.Perceptibility.Value, Name: "within perceptibility"},
			{From: scoring.Perceptibility.Value, To: scoring.Acceptability.Value, Name: "within acceptability"},
		},
	}
	plot.Series = []report.Series{overTime(k, "median ΔE00", size, func(lists [][]float64) scoring.Estimate { return trend.Median(flat(lists), level) })}
	return plot
}

// biasPlot shows the lean along the three attributes over time.
func biasPlot(k *kindHistory) report.Plot {
	plot := report.Plot{Key: "bias-" + string(k.id), Title: k.title + ": lean over time", XTitle: "sitting", YTitle: "answer − target, ΔE00"}
	for _, a := range axes {
		plot.Series = append(plot.Series, overTime(k, a.title, a.of, mean))
	}
	return plot
}

// mostPoints is how many places a plot over time has: with more sittings than
// that, neighbouring ones share a place.
const mostPoints = 60

// overTime is a statistic over time, sitting by sitting or block by block.
func overTime(k *kindHistory, name string, of func(judged) float64, statistic func([][]float64) scoring.Estimate) report.Series {
	s := report.Series{Name: name, Style: report.LineWithBand}
	block := (len(k.sittings) + mostPoints - 1) / mostPoints
	for from := 0; from < len(k.sittings); from += block {
		to := min(from+block, len(k.sittings))
		lists := over([]*kindHistory{{sittings: k.sittings[from:to]}}, of)
		if len(lists) == 0 {
			continue
		}
		e := statistic(lists)
		s.X = append(s.X, float64(from+1+to)/2)
		s.Y, s.Lo, s.Hi = append(s.Y, e.Value), append(s.Lo, e.Lo), append(s.Hi, e.Hi)
	}
	return s
}

// lampOf names the lamp of a sitting; none is daylight.
func lampOf(s scoring.Sitting) string {
	if s.Setup.Viewing.Light == "" {
		return colour.D65().ID
	}
	return s.Setup.Viewing.Light
}

// lampName is what a lamp is called; one that this program does not know keeps
// its identifier.
func lampName(id string) string {
	light, err := colour.LightByID(id)
	if err != nil {
		return id
	}
	return light.Name
}

// lightSection compares lamps, where another than daylight was practised under.
func lightSection(kinds []*kindHistory) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "light", Title: "light", Left: true}, {Key: "answers", Title: "answers"},
		{Key: "median_dE00", Title: "median ΔE00", Estimates: true},
	}}
	for _, a := range axes {
		t.Columns = append(t.Columns, report.Column{Key: a.key, Title: a.title, Estimates: true})
	}
	var lights named[[]*kindHistory]
	for _, k := range kinds {
		for _, s := range k.sittings {
			list := lights.at(lampOf(s.sitting), "")
			*list = append(*list, &kindHistory{sittings: []*sittingHistory{s}})
		}
	}
	daylight := colour.D65().ID
	if len(lights.names) > 1 || len(lights.names) == 1 && lights.names[0] != daylight {
		for i, id := range lights.names {
			name := report.Word{Key: id, Shown: lampName(id)}
			errors := flat(over(lights.values[i], size))
			row := []report.Cell{name, report.Count(len(errors)), estimate(trend.Median(errors, level))}
			for _, a := range axes {
				row = append(row, signed(mean(over(lights.values[i], a.of))))
			}
			t.Rows = append(t.Rows, row)
		}
	}
	return report.Section{Key: "lights", Title: "Under which light", Table: t, Notes: []string{
		fmt.Sprintf("The same signs as in the table of leans; %.0f %% intervals.", 100*level),
	}}
}
