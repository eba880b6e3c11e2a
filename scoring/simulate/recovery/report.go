package recovery

import (
	"fmt"
	"math"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
)

// What the table aims at: the bias of the threshold under 5 %, and 95 % intervals
// that cover the truth in 93 to 97 % of runs.
const (
	mostBias      = 0.05
	leastCoverage = 0.93
	mostCoverage  = 0.97
	// leastRuns is how many tell a coverage of 93 % from one of 95 %: with 1,000 its
	// standard error is 0.7 %.
	leastRuns = 1000
)

// aim says in a word whether a row meets the aims; the estimates themselves count,
// not their intervals.
func (r Row) aim() report.Word {
	bias, cover := r.Plain.Bias, r.Plain.Covered
	if r.Condition.Near {
		bias, cover = scoring.Point(0, r.Runs), r.Plain.Held
	}
	switch {
	case !bias.Defined() || !cover.Defined() || r.Runs < leastRuns:
		return report.Word{Key: "unknown", Shown: "too few runs to tell"}
	case math.Abs(bias.Value) >= mostBias:
		return report.Word{Key: "biased", Shown: "missed: biased"}
	case cover.Value < leastCoverage:
		return report.Word{Key: "narrow", Shown: "missed: covers too seldom"}
	case cover.Value > mostCoverage && !r.Condition.Near:
		return report.Word{Key: "wide", Shown: "missed: covers too often"}
	}
	return report.Word{Key: "met", Shown: "met"}
}

// Line is the row in a line of text: what is told of it while others are computed.
func (r Row) Line() string {
	c, p := r.Condition, r.Plain
	line := fmt.Sprintf("%v, %s, %.1f ΔE00, false alarms %.2f, lapses %.2f: ", c.Subject.Task, c.Subject.Name, c.Subject.Plain, c.FalseAlarms, c.Lapse)
	if c.Near {
		line += fmt.Sprintf("answers hold in %.1f %%, told as a bound %.1f %%; ", 100*p.Held.Value, 100*p.Bounds)
	}
	if !p.Bias.Defined() || !p.Covered.Defined() {
		return line + "too few runs gave a threshold"
	}
	line += fmt.Sprintf("bias %+.1f %%, spread %.1f %%, covered %.1f %%, no number %.1f %%", 100*p.Bias.Value, 100*p.Spread, 100*p.Covered.Value, 100*p.Without)
	if r.Bootstrap.Covered.Defined() {
		line += fmt.Sprintf(", bootstrap covered %.1f %%", 100*r.Bootstrap.Covered.Value)
	}
	return line
}

// Report prints the rows and comparisons.
func Report(rows []Row, comparisons []Comparison, p Plan) report.Report {
	r := report.Report{
		Title: "Simulated observers whose thresholds are known, and what was measured of them",
		Lead: []string{
			fmt.Sprintf("%d runs a line, seed %d, at the levels that an 8-bit screen shows along value, chroma and hue in turn. Nobody's results.", p.Runs, p.Seed),
		},
		Sections: []report.Section{recoverySection(rows)},
	}
	if len(comparisons) > 0 {
		r.Sections = append(r.Sections, comparisonSection(comparisons))
	}
	return r
}

func recoverySection(rows []Row) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "task", Title: "task", Left: true}, {Key: "observer", Title: "observer", Left: true},
		{Key: "threshold_dE00", Title: "true ΔE00"}, {Key: "false_alarms", Title: "false alarms"}, {Key: "lapses", Title: "lapses"},
		{Key: "pairs", Title: "pairs"}, {Key: "identical", Title: "identical"},
		{Key: "bias", Title: "bias", Estimates: true}, {Key: "spread", Title: "spread, %"}, {Key: "covered", Title: "covered", Estimates: true},
		{Key: "aim", Title: "aim", Left: true},
		{Key: "corrected_bias", Title: "corrected: bias", Estimates: true}, {Key: "corrected_covered", Title: "covered", Estimates: true},
		{Key: "d_prime_bias", Title: "d′ = 1: bias", Estimates: true}, {Key: "d_prime_covered", Title: "covered", Estimates: true},
		{Key: "without", Title: "no number, %"}, {Key: "bound", Title: "but a bound, %"}, {Key: "held", Title: "answers hold", Estimates: true},
	}}
	drawn := false
	for _, r := range rows {
		drawn = drawn || r.Condition.Draws > 0
	}
	if drawn {
		t.Columns = append(t.Columns, report.Column{Key: "bootstrap_covered", Title: "bootstrap: covered", Estimates: true})
	}
	met, told := 0, 0
	for _, r := range rows {
		o, c := r.Condition.Subject, r.Condition
		falseAlarms := report.Cell(report.Empty{})
		identical := report.Cell(report.Empty{})
		if r.Catches > 0 {
			falseAlarms = share(c.FalseAlarms)
			identical = report.Number{Value: r.Catches}
		}
		aim := r.aim()
		if aim.Key != "unknown" {
			told++
		}
		if aim.Key == "met" {
			met++
		}
		t.Rows = append(t.Rows, []report.Cell{
			report.Text(o.Task.String()), report.Text(o.Name), report.Number{Value: o.Plain, Decimals: 2}, falseAlarms, share(c.Lapse),
			report.Number{Value: r.Pairs}, identical,
			percent(r.Plain.Bias, true), report.Share(r.Plain.Spread, 1), percent(r.Plain.Covered, false), aim,
			known(r.Corrected, r.Corrected.Bias, true), known(r.Corrected, r.Corrected.Covered, false),
			known(r.DPrime, r.DPrime.Bias, true), known(r.DPrime, r.DPrime.Covered, false),
			report.Share(r.Plain.Without, 1), report.Share(r.Plain.Bounds, 1), percent(r.Plain.Held, false),
		})
		if drawn {
			last := len(t.Rows) - 1
			t.Rows[last] = append(t.Rows[last], known(r.Bootstrap, r.Bootstrap.Covered, false))
		}
	}
	return report.Section{Key: "recovery", Title: "How near the truth", Table: t, Notes: []string{
		"Bias: mean of measured over true, less one. Spread: standard deviation of measured over true. Covered: runs whose 95 % interval holds the truth.",
		fmt.Sprintf("Aim: bias under 5 %%, coverage from 93 to 97 %%; met in %d of %d lines that can be told.", met, told),
		"No number: runs whose answers supported none, for instance since the threshold came out below what the screen shows; bias and coverage are of the others.",
		"But a bound: runs told as \"below 0.4\" or so. Answers hold: intervals with the truth in them and bounds above it, of all that were told. For observers with d′ = 3x/(1 + x), whose thresholds lie at the smallest step of the screen, that is what the aim asks, at least 93 %.",
		"Pairs and identical pairs are those of one direction in a sitting of 240 trials.",
	}}
}

// share is a known proportion.
func share(p float64) report.Cell { return report.Number{Value: p, Decimals: 2} }

func percent(e scoring.Estimate, signed bool) report.Cell {
	return report.Estimated{Estimate: e, Percent: true, Signed: signed, Decimals: 1}
}

// known leaves the cell empty where the observer has no such threshold.
func known(r Recovered, e scoring.Estimate, signed bool) report.Cell {
	if math.IsNaN(r.Truth) {
		return report.Empty{}
	}
	return percent(e, signed)
}

func comparisonSection(list []Comparison) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "threshold_dE00", Title: "true ΔE00"}, {Key: "trials", Title: "trials"},
		{Key: "staircase_error", Title: "1-up/2-down: error", Estimates: true},
		{Key: "fitted_error", Title: "the same, fitted", Estimates: true},
		{Key: "quest_plus_error", Title: "QUEST+: error", Estimates: true},
		{Key: "needed", Title: "QUEST+ is as precise after"},
		{Key: "needed_fitted", Title: "as fitted after"},
	}}
	for _, c := range list {
		for i, s := range c.Staircase {
			needed := func(of []Precision) report.Cell {
				n, ok := c.needs(of, s.Trials)
				if !ok {
					return report.Empty{}
				}
				return report.Number{Value: n}
			}
			t.Rows = append(t.Rows, []report.Cell{
				report.Number{Value: c.Subject.Plain, Decimals: 1}, report.Count(s.Trials),
				percent(s.Error, false), percent(c.Fitted[i].Error, false), percent(c.QuestPlus[i].Error, false),
				needed(c.Staircase), needed(c.Fitted),
			})
		}
	}
	return report.Section{Key: "trials", Title: "How many trials it takes, in the forced choice", Table: t, Notes: []string{
		"Error: root mean square of ln(measured/true). 1-up/2-down (Levitt 1971) in the trainer's steps, measured by the mean of its reversals after the first four, against the level at which 70.7 % are right; fitted: the same trials through this program's fit. QUEST+ against the level at which 75 % are right.",
		"The same observer each time: Weibull, slope 3, lapses 2 %.",
	}}
}
