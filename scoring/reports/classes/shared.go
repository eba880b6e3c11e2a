package classes

import (
	"fmt"
	"math"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// A bias of the class: what the sentence on top, the advice and the table say of it.

// biasOfClass is the median over learners of their biases along an axis. Half of the
// class has it, or more: a mean would call that of a few with large biases one of all.
// And it holds where somebody's bias is known as a bound alone. The three axes are asked
// together (Bonferroni).
func (c *Review) biasOfClass(axis int) scoring.Estimate {
	return c.medianOf(func(r Row) scoring.Estimate { return r.Biases[axis] }, 1-(1-history.Level)/float64(len(history.Axes)))
}

func (c *Review) medianOf(of func(Row) scoring.Estimate, level float64) scoring.Estimate {
	var list []scoring.Estimate
	for _, r := range c.Rows {
		list = append(list, of(r))
	}
	return trend.MedianOf(list, level)
}

// sharing counts those whose own bias along an axis is beyond chance, by its direction.
func (c *Review) sharing(axis int) (above, below int) {
	for _, r := range c.Rows {
		switch history.BiasWord(r.Biases[axis], "above", "below") {
		case "above":
			above++
		case "below":
			below++
		}
	}
	return above, below
}

// sharedBias is the axis along which the bias of the class is largest, if it is beyond
// chance and beyond half of perceptibility; −1 for none. Missed is how large one could
// be for all that.
func (c *Review) sharedBias() (axis int, by scoring.Estimate, missed float64) {
	axis = -1
	for i := range history.Axes {
		e := c.biasOfClass(i)
		if missed = max(missed, math.Abs(e.Lo), math.Abs(e.Hi)); !e.HasInterval() {
			missed = math.Inf(1)
		}
		if c.errsTogether(i, e) && math.Abs(e.Value) > max(math.Abs(by.Value), scoring.Perceptibility.Value/2) {
			axis, by = i, e
		}
	}
	return axis, by, missed
}

// fewAlike is how many learners can be a class that errs together though they are too few for
// an interval of their median: if every one of them has that bias, beyond chance. House
// rule.
const fewAlike = 3

func (c *Review) errsTogether(axis int, e scoring.Estimate) bool {
	if e.HasInterval() {
		return history.BiasWord(e, "+", "-") != ""
	}
	above, below := c.sharing(axis)
	return e.N >= fewAlike && (above == e.N || below == e.N)
}

// together says in which way the class errs together, and what to do about it.
func (c *Review) together() string {
	axis, by, missed := c.sharedBias()
	if axis < 0 {
		return c.notTogether(missed)
	}
	a := history.Axes[axis]
	share, below := c.sharing(axis)
	word, end := a.Above, by.Lo
	if by.Value < 0 {
		word, end, share = a.Below, by.Hi, below
	}
	size := fmt.Sprintf("half of it by %.1f ΔE00 or more", math.Abs(by.Value))
	if by.HasInterval() && by.Open() == 0 {
		size += fmt.Sprintf(" (%.1f to %.1f%s)", math.Abs(end), math.Abs(by.Lo+by.Hi-end), by.RoughWord())
	}
	return fmt.Sprintf("The class as a whole answers %s, %s; %d of %d share it. Look at the room, the display and the teaching before the learners. Next week: %s alone.",
		word, size, share, len(c.Rows), attributeOf(axis))
}

func (c *Review) notTogether(missed float64) string {
	line := "The class as a whole has no bias worth correcting: nothing in the room, the display or the teaching pushes everybody one way."
	switch {
	case math.IsInf(missed, 1):
		line = "Whether the class as a whole errs one way cannot be told yet: too few of its biases are known, or too many as bounds alone."
	case missed > scoring.Acceptability.Value:
		line = fmt.Sprintf("No bias of the class as a whole shows, yet one of up to %.1f ΔE00 could have been missed in so few learners who differ so much.", missed)
	}
	if 2*c.countFlag("scatter") > len(c.Rows) {
		return line + " Most are too far off, each in their own way. Next week: value first, one attribute at a time."
	}
	return line + " Next week: each practises what their own plan asks (Today's practice in the menu)."
}

// togetherSection asks whether the class has one bias: then the cause lies in
// what all have in common.
func (c *Review) togetherSection() report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "measure", Title: "of the class", Left: true}, {Key: "value", Title: "median over learners", Estimates: true},
		{Key: "sd", Title: "between learners"}, {Key: "learners", Title: "learners"},
		{Key: "above", Title: "bias above 0"}, {Key: "below", Title: "bias below 0"},
	}}
	size := func(r Row) scoring.Estimate { return r.Error }
	t.Rows = append(t.Rows, c.spreadOf("median_dE00", "median ΔE00", size, c.medianOf(size, history.Level), false))
	for i, a := range history.Axes {
		above, below := c.sharing(i)
		t.Rows = append(t.Rows, append(c.spreadOf(a.Key, a.Title, func(r Row) scoring.Estimate { return r.Biases[i] }, c.biasOfClass(i), true),
			report.Count(above), report.Count(below)))
	}
	return report.Section{Key: "class", Title: "The class as a whole", Table: t, Plots: c.timePlots(), Notes: []string{
		"Each learner counts once: half of them lie above the median over learners. Biases have the wider interval, since three are asked together: one of them leaves 0 out by chance in 5 % of classes without any. Between learners: the standard deviation, not known where some are bounds (\"at least\"). A bias that most have in common may come from the room, the display or the teaching. The pictures show how far learners are from where each began; the line breaks where the people behind it change.",
	}}
}

// spreadOf is a row of the table: the median over learners, and how they differ.
func (c *Review) spreadOf(key, name string, of func(Row) scoring.Estimate, median scoring.Estimate, signed bool) []report.Cell {
	var values []float64
	bounds := false
	for _, r := range c.Rows {
		if e := of(r); e.Defined() {
			values, bounds = append(values, e.Value), bounds || e.Open() != 0
		}
	}
	between := report.Cell(report.Number{Value: deviation(values), Decimals: 2})
	if bounds {
		between = report.Word{Shown: "not known"}
	}
	return []report.Cell{report.Word{Key: key, Shown: name}, report.Estimated{Estimate: median, Decimals: 2, Signed: signed},
		between, report.Count(len(values))}
}

// deviation is the standard deviation, n−1 below; NaN of fewer than two.
func deviation(xs []float64) float64 {
	if len(xs) < 2 {
		return math.NaN()
	}
	m, sum := history.Average(xs), 0.0
	for _, x := range xs {
		sum += (x - m) * (x - m)
	}
	return math.Sqrt(sum / float64(len(xs)-1))
}
