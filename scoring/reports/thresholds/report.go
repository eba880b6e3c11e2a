// Package thresholds reports to whoever measured a threshold: how small a difference
// is seen, how large a one accepted, how sure that is, how the answers came about,
// and how it went over time.
package thresholds

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/exercises/psychometric"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/threshold"
)

// Report reports on one person's thresholds: in full for the newest sitting
// of each task, in short for every sitting. The filter may narrow the sittings by
// time.
func Report(ctx context.Context, book history.Book, who scoring.Learner, f record.Filter, d history.ThresholdDetail) (report.Report, error) {
	f.Learner, f.Kind = who.ID, string(exercises.Threshold)
	h, err := history.Read(ctx, book, f)
	if err != nil {
		return report.Report{}, err
	}
	r := report.Report{Title: "Thresholds of " + who.Name, Cautions: scoring.Cautions}
	if who.Simulated {
		r.Title += " (simulated)"
	}
	r.Lead = []string{h.Summary()}
	if len(h.Kinds) == 0 {
		r.Lead = append(r.Lead, "None has been measured yet: that takes a quarter of an hour, the short one of the menu five minutes.")
		r.Commands = []string{"To measure one: shadedrill threshold."}
		return r, nil
	}
	sittings := h.Kinds[0].Sittings
	r.Lead = append(r.Lead, "Thresholds taken on a standard screen are relative: they can be compared on this screen, in this room, with pairs set the same way. They are no clinical values.")
	var full []thresholdSitting
	for _, task := range thresholdTasks {
		if i := newest(sittings, task); i >= 0 {
			s := sittings[i]
			full = append(full, thresholdSitting{s, history.MeasureThresholds(s.Setup, s.Raw, d)})
		}
	}
	r.Sections = []report.Section{sizeSection(full), errorSection(full)}
	for _, s := range full {
		r.Sections = append(r.Sections, curveSection(s))
	}
	r.Sections = append(r.Sections, OverTime(h.Kinds[0]))
	return r, nil
}

var thresholdTasks = []string{exercises.TaskWhich, exercises.TaskDifferent, exercises.TaskAccept}

// thresholdSitting is a sitting and what was measured in it.
type thresholdSitting struct {
	*history.Sitting
	measured []history.MeasuredThreshold
}

func newest(sittings []*history.Sitting, task string) int {
	for i := len(sittings) - 1; i >= 0; i-- {
		if sittings[i].Sitting.Setup.Task == task {
			return i
		}
	}
	return -1
}

// taskWord is a task as people read it.
func taskWord(task string) report.Word {
	shown := map[string]string{exercises.TaskWhich: "which pair differs", exercises.TaskDifferent: "different or the same", exercises.TaskAccept: "leave or change"}[task]
	if shown == "" {
		shown = task
	}
	return report.Word{Key: task, Shown: shown}
}

// gapWord says how the two patches of a pair lay.
func gapWord(gap int) report.Word {
	if gap == 0 {
		return report.Word{Key: "0", Shown: "edge to edge"}
	}
	return report.Word{Key: fmt.Sprint(gap), Shown: fmt.Sprintf("gap of %d %s", gap, scoring.Plural(gap, "cell", "cells"))}
}

// sizeSection is the table of the thresholds themselves.
func sizeSection(full []thresholdSitting) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "direction", Title: "direction", Left: true},
		{Key: "task", Title: "task", Left: true}, {Key: "gap", Title: "pairs", Left: true},
		{Key: "threshold_dE00", Title: "threshold ΔE00", Estimates: true},
		{Key: "bootstrap_dE00", Title: "by bootstrap", Estimates: true},
		{Key: "corrected_dE00", Title: "corrected", Estimates: true},
		{Key: "d_prime_1_dE00", Title: "d′ = 1 at", Estimates: true},
		{Key: "published_dE00", Title: "published 50:50 %"},
		{Key: "smallest_dE00", Title: "smallest step"},
	}}
	s := report.Section{Key: "thresholds", Title: "How small a difference is seen, how large a one accepted", Table: t}
	choice, yesNo, catches := false, false, false
	for _, f := range full {
		setup := f.Setup
		s.Notes = append(s.Notes, f.words())
		for _, m := range f.measured {
			choice = choice || setup.Task == exercises.TaskWhich
			yesNo = yesNo || setup.Task != exercises.TaskWhich
			catches = catches || m.Catches > 0
			t.Rows = append(t.Rows, []report.Cell{
				report.Text(m.Direction), taskWord(setup.Task), gapWord(setup.Viewing.Gap), report.Estimate(m.Threshold), report.Estimate(m.Bootstrap), report.Estimate(m.Corrected), report.Estimate(m.Sensitivity),
				report.Number{Value: history.Published(setup.Task).Value, Decimals: 1},
				report.Number{Value: m.Smallest, Decimals: 2},
			})
		}
	}
	if yesNo {
		s.Notes = append(s.Notes, "Threshold, different or the same, leave or change: the ΔE00 at which half of the answers are \"different\" or \"change it\".")
	}
	if choice {
		s.Notes = append(s.Notes, "Threshold, which pair differs: the ΔE00 at which three of four answers are right, half-way between guessing and knowing. It is another measure than the published one, which comes from yes or no.")
	}
	s.Notes = append(s.Notes, "Its interval is by profile likelihood; beside it stands the same by parametric bootstrap, which is meant as a check (simulated, it holds the truth in 93 to 96 % of sittings).")
	if catches {
		s.Notes = append(s.Notes, "Corrected: where half of the differences are noticed once false alarms and slips are taken away.")
	}
	s.Notes = append(s.Notes, "d′ = 1: where differences are told apart as well as 76 % right in which pair differs; it does not depend on how readily \"different\" is said.")
	pt, at := scoring.Perceptibility, scoring.Acceptability
	s.Notes = append(s.Notes,
		scoring.MonitorStudy,
		fmt.Sprintf("Not of screens: perceptibility %.1f (%s); acceptability %.1f (%s).", pt.Value, pt.Source, at.Value, at.Source),
		"Smallest step: an 8-bit screen has no smaller difference in this direction (for \"overall\": in the worst of the three), so no threshold below it is reported.")
	return s
}

// words says when and how the sitting was taken.
func (f thresholdSitting) words() string {
	setup := f.Setup
	method := setup.Options[exercises.OptionMethod]
	if method == "" {
		method = exercises.MethodQuestPlus
	}
	words := fmt.Sprintf("%s: %s on %s, %s, levels chosen by %s", taskWord(setup.Task).Shown, scoring.Count(f.Count(), "answer", "answers"), scoring.Day(f.First), gapWord(setup.Viewing.Gap).Shown, method)
	if history.LampOf(f.Sitting.Sitting) != colour.D65().ID {
		words += ", under " + history.LampName(history.LampOf(f.Sitting.Sitting))
	}
	if f.Left {
		words += ", left before the last trial"
	}
	return words + "."
}

// errorSection says how the answers came about.
func errorSection(full []thresholdSitting) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "direction", Title: "direction", Left: true}, {Key: "task", Title: "task", Left: true},
		{Key: "pairs", Title: "differing pairs"}, {Key: "identical", Title: "identical pairs"},
		{Key: "false_alarms", Title: "false alarms", Estimates: true},
		{Key: "d_prime", Title: "d′", Estimates: true}, {Key: "criterion", Title: "criterion", Estimates: true},
		{Key: "slope", Title: "slope", Estimates: true}, {Key: "lapses", Title: "lapses", Estimates: true},
		{Key: "goodness", Title: "fit, p", Estimates: true},
	}}
	s := report.Section{Key: "answers", Title: "How the answers came about", Table: t, Notes: []string{
		"False alarms: identical pairs called different. Observers at a calibrated monitor do so in 27 % of them, from 4 to 55 % (Lindsey & Wee 2007, J Dent 35:593–599).",
		"d′ is how well pairs that differ were told from identical ones, by the yes/no model of signal detection: each pair gives one impression, called \"different\" beyond a criterion. Criterion above 0: reluctant to say \"different\", below 0: ready to.",
		"Slope: the exponent of the fitted Weibull curve, large where seeing sets in all at once. Lapses: slips at plain differences, at most 6 %.",
		"Fit, p: how often a true curve fits as badly as this; below 0.05 doubt the curve.",
	}}
	for _, f := range full {
		for _, m := range f.measured {
			if m.Direction == history.Overall && f.Setup.Task == exercises.TaskDifferent && m.SameDifferent.Defined() {
				s.Notes = append(s.Notes, fmt.Sprintf("%s, %s: whoever compares two impressions of each pair instead, and calls them \"different\" when they lie far enough apart (the differencing model of same–different tasks), has a d′ of %.2f from the same answers, not %.2f.",
					taskWord(f.Setup.Task).Shown, m.Direction, m.SameDifferent.Value, m.DPrime.Value))
			}
			t.Rows = append(t.Rows, []report.Cell{report.Text(m.Direction), taskWord(f.Setup.Task), report.Count(m.Pairs), report.Count(m.Catches),
				report.Percent(m.FalseAlarms), report.Estimate(m.DPrime), report.Signed(m.Criterion), report.Decimals(m.Slope, 1), report.Percent(m.Lapse),
				report.Decimals(m.Goodness, 3)})
		}
		for _, m := range f.measured {
			for _, w := range m.Warnings {
				s.Notes = append(s.Notes, fmt.Sprintf("%s, %s: %s.", taskWord(f.Setup.Task).Shown, m.Direction, strings.TrimSuffix(w, ".")))
			}
		}
	}
	return s
}

// curveSection draws the curves of a sitting with their data: overall in text
// too, the directions where there is room.
func curveSection(f thresholdSitting) report.Section {
	setup := f.Setup
	s := report.Section{Key: "curve-" + setup.Task, Title: "The curve: " + taskWord(setup.Task).Shown,
		Notes: []string{"A threshold is read where the curve crosses the level line. It is " + history.Relative + "."}}
	for i, m := range f.measured {
		p := Plot(setup.Task, m)
		p.InText = i == 0
		s.Plots = append(s.Plots, p)
	}
	return s
}

// mostBins is how many points of data a curve is drawn with.
const mostBins = 12

// Plot is the psychometric curve with its data.
func Plot(task string, m history.MeasuredThreshold) report.Plot {
	p := report.Plot{
		Key: "curve-" + task + "-" + m.Direction, Title: taskWord(task).Shown + ": " + m.Direction, XTitle: "difference shown, ΔE00",
		YTitle: map[string]string{exercises.TaskWhich: "share right", exercises.TaskAccept: "share changed"}[task],
	}
	if p.YTitle == "" {
		p.YTitle = "share called different"
	}
	data := report.Series{Name: "answers, neighbouring levels together", Style: report.Points}
	for _, b := range bins(m) {
		share := threshold.Proportion(b.Yes, b.N, history.Level)
		data.X, data.Y = append(data.X, b.Level), append(data.Y, share.Value)
		data.Lo, data.Hi = append(data.Lo, share.Lo), append(data.Hi, share.Hi)
		data.Weight = append(data.Weight, float64(b.N))
	}
	curve := report.Series{Name: "fitted curve", Style: report.Line}
	for _, at := range m.Curve {
		curve.X, curve.Y = append(curve.X, at.Level), append(curve.Y, at.P)
	}
	if len(curve.X) > 0 {
		p.Series = append(p.Series, curve)
	}
	if len(data.X) == 0 {
		return p
	}
	p.Series = append(p.Series, data)
	p.Rules = append(p.Rules, report.Rule{At: history.Proportion(m.Task), Name: fmt.Sprintf("%.0f %%", 100*history.Proportion(m.Task))})
	if m.Threshold.Defined() {
		p.Rules = append(p.Rules, report.Rule{At: m.Threshold.Value, Upright: true, Name: fmt.Sprintf("threshold %.2f, relative", m.Threshold.Value)})
	}
	if cut := history.Published(task); len(data.X) > 0 {
		p.Rules = append(p.Rules, report.Rule{At: cut.Value, Upright: true, Name: fmt.Sprintf("published %.1f", cut.Value)})
	}
	return p
}

// bins puts neighbouring levels together, so that a point stands for several
// answers; identical pairs stay by themselves. A bin's level is the mean of its answers'.
func bins(m history.MeasuredThreshold) []psychometric.Count {
	each := max(4, (m.Pairs+mostBins-1)/mostBins)
	var list []psychometric.Count
	var open psychometric.Count
	put := func() {
		if open.N > 0 {
			list = append(list, open)
		}
		open = psychometric.Count{}
	}
	for _, c := range m.Counts {
		open.Level = (open.Level*float64(open.N) + c.Level*float64(c.N)) / float64(open.N+c.N)
		open.N, open.Yes = open.N+c.N, open.Yes+c.Yes
		if c.Level == 0 || open.N >= each {
			put()
		}
	}
	put()
	return list
}

// mostCourse is how many sittings the course over time shows, the newest: each is
// a fit of its own.
const mostCourse = 40

// OverTime lists every sitting's thresholds, oldest first.
func OverTime(k *history.Kind) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "day", Title: "day", Left: true}, {Key: "task", Title: "task", Left: true}, {Key: "gap", Title: "pairs", Left: true},
		{Key: "answers", Title: "answers"}, {Key: history.Overall, Title: history.Overall, Estimates: true},
	}}
	for _, d := range history.Directions {
		t.Columns = append(t.Columns, report.Column{Key: d, Title: d, Estimates: true})
	}
	s := report.Section{Key: "course", Title: "Thresholds over time", Table: t, Notes: []string{
		"In ΔE00, each " + history.Relative + ". Only sittings of one task, with pairs set the same way, can be compared.",
	}}
	sittings := k.Sittings
	if n := len(sittings); n > mostCourse {
		sittings = sittings[n-mostCourse:]
		s.Notes = append(s.Notes, fmt.Sprintf("The newest %d of %d sittings.", mostCourse, n))
	}
	measured := make([][]history.MeasuredThreshold, len(sittings))
	var wait sync.WaitGroup
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, f := range sittings {
		wait.Go(func() {
			slots <- struct{}{}
			measured[i] = history.MeasureThresholds(f.Setup, f.Raw, history.ThresholdDetail{PlainOnly: true})
			<-slots
		})
	}
	wait.Wait()
	for i, f := range sittings {
		setup := f.Setup
		row := []report.Cell{report.Text(scoring.Date(f.First)), taskWord(setup.Task), gapWord(setup.Viewing.Gap), report.Count(f.Count())}
		for _, direction := range append([]string{history.Overall}, history.Directions...) {
			cell := report.Cell(report.Empty{})
			if at := slices.IndexFunc(measured[i], func(m history.MeasuredThreshold) bool { return m.Direction == direction }); at >= 0 {
				cell = report.Estimate(measured[i][at].Threshold)
			}
			row = append(row, cell)
		}
		t.Rows = append(t.Rows, row)
	}
	for _, task := range thresholdTasks {
		if p := coursePlot(task, sittings, measured); len(p.Series) > 0 {
			s.Plots = append(s.Plots, p)
		}
	}
	return s
}

// coursePlot draws a task's overall thresholds; one sitting is no course.
func coursePlot(task string, sittings []*history.Sitting, measured [][]history.MeasuredThreshold) report.Plot {
	p := report.Plot{Key: "course-" + task, Title: "Threshold over time: " + taskWord(task).Shown, XTitle: "sitting of this task", YTitle: "threshold ΔE00, relative"}
	line := report.Series{Name: "threshold", Style: report.LineWithBand}
	n := 0
	for i, f := range sittings {
		if f.Setup.Task != task || len(measured[i]) == 0 {
			continue
		}
		n++
		if e := measured[i][0].Threshold; e.Defined() && e.HasInterval() && !math.IsInf(e.Hi, 0) {
			line.X, line.Y = append(line.X, float64(n)), append(line.Y, e.Value)
			line.Lo, line.Hi = append(line.Lo, e.Lo), append(line.Hi, e.Hi)
		}
	}
	if len(line.X) > 1 {
		p.Series = []report.Series{line}
		cut := history.Published(task)
		p.Rules = []report.Rule{{At: cut.Value, Name: fmt.Sprintf("published %.1f", cut.Value)}}
	}
	return p
}
