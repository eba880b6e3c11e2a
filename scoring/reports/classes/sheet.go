package classes

import (
	"fmt"
	"math"
	"strings"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
)

// The first page: a class on a sheet. Who needs help and why, who is fine, what the
// class errs in together and what to teach next.

// sheetTop is the error in ΔE00 at the upper edge of every learner's line, twice
// acceptability, so that all lines share a scale and small errors are seen.
func sheetTop() float64 { return 2 * scoring.Acceptability.Value }

// mostSparks is how many sittings a line of a word's size can show: the latest.
const mostSparks = 24

// spark is a learner's error sitting by sitting in the exercise with the most of them.
func (c *Review) spark(i int) report.Cell {
	var most *learnerKind
	for k := range c.learners[i].kinds {
		if one := &c.learners[i].kinds[k]; most == nil || len(one.medians) > len(most.medians) {
			most = one
		}
	}
	if most == nil || len(most.medians) == 0 {
		return report.Empty{}
	}
	return report.Spark{Values: most.medians[max(0, len(most.medians)-mostSparks):], Top: sheetTop()}
}

// place finds a learner among those who were read.
func (c *Review) place(id scoring.LearnerID) int {
	for i, p := range c.Scope.People {
		if p.ID == id {
			return i
		}
	}
	return -1
}

// verdict says in a few sentences how the class stands and what to teach.
func (c *Review) verdict() []string {
	line := c.needing()
	switch c.flagged() {
	case 0:
	case 1:
		line += " Who does stands first, with the reason."
	default:
		line += " They stand first, with the reason."
	}
	return []string{line, c.together()}
}

func (c *Review) flagged() (n int) {
	for _, r := range c.Rows {
		if len(r.Flags) > 0 {
			n++
		}
	}
	return n
}

// needing says how many need a look.
func (c *Review) needing() string {
	silent, few := 0, 0
	for _, r := range c.Rows {
		switch {
		case r.Answers == 0:
			silent++
		case r.tooFew():
			few++
		}
	}
	flagged := c.flagged()
	line := fmt.Sprintf("%d of %d %s a look.", flagged, len(c.Rows), scoring.Plural(flagged, "needs", "need"))
	if flagged == 0 {
		line = fmt.Sprintf("None of %d needs a look.", len(c.Rows))
	}
	if silent > 0 {
		asked := ""
		if c.narrowed {
			asked = " in what was asked for"
		}
		line += fmt.Sprintf(" %d of them %s no answers%s.", silent, scoring.Plural(silent, "has", "have"), asked)
	}
	switch {
	case few == len(c.Rows):
		line = "Who needs a look cannot be told yet: there are too few answers."
	case few > 0:
		line += fmt.Sprintf(" Of %d there are too few answers to tell.", few)
	}
	return line
}

// practiseCommands are how what the sheet advises is practised.
const practiseCommands = "One attribute alone: shadedrill practise line-up --attribute value (or chroma, hue) --learner NAME. Tab targets: shadedrill practise value-first --targets tabs --learner NAME."

func attributeOf(axis int) string { return [3]string{"value", "chroma", "hue"}[axis] }

func (c *Review) countFlag(key string) int {
	n := 0
	for _, r := range c.Rows {
		for _, f := range r.Flags {
			if f.Key == key {
				n++
			}
		}
	}
	return n
}

// sheetLines is how many lines of learners fit on a sheet where those who need a look
// stand one below the other, and the others five in a line [measured in print, the paper
// laid on its long side].
const sheetLines = 27

// helpSection lists those who need a look: why, and what to do.
func (c *Review) helpSection() report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "learner", Title: "learner", Left: true}, {Key: "median_dE00", Title: "median ΔE00"}, {Key: "line", Title: "over time", Left: true},
		{Key: "why", Title: "why", Left: true}, {Key: "next", Title: "what to do", Left: true},
	}}
	for _, r := range c.Rows {
		if len(r.Flags) == 0 {
			continue
		}
		t.Rows = append(t.Rows, []report.Cell{report.Text(r.Learner.Name), medianCell(r), c.spark(c.place(r.Learner.ID)), report.Text(strings.ReplaceAll(r.FlagWords(), ", beyond acceptability", "")), report.Text(r.next())})
	}
	t.Stacked, t.Halves = true, len(t.Rows)+(len(c.Rows)-len(t.Rows)+4)/5 > sheetLines
	return report.Section{Key: "help", Title: "Who needs a look, and why", Table: t, Notes: []string{
		lineWords(),
	}}
}

// lineWords say what stands beside a name.
func lineWords() string {
	return fmt.Sprintf("Median ΔE00: of practice in the exercise with the most sittings; more than acceptability, %.1f, is too much. Over time: the same of each sitting, the latest %d, from 0 to %.1f.", scoring.Acceptability.Value, mostSparks, sheetTop())
}

// tooFew says that nothing flags somebody, and so few answers that nothing could.
func (r Row) tooFew() bool { return len(r.Flags) == 0 && r.Error.Defined() && !r.Error.HasInterval() }

// fineSection lists those who need no look, short.
func (c *Review) fineSection() report.Section {
	s := c.shortSection("fine", "Who needs no look now", func(r Row) bool { return len(r.Flags) == 0 && !r.tooFew() })
	s.Notes = []string{"No rule below flags them."}
	if c.flagged() == 0 { // else it stands above
		s.Notes = append(s.Notes, lineWords())
	}
	return s
}

// unclearSection lists those of whom too little is known, short.
func (c *Review) unclearSection() report.Section {
	s := c.shortSection("unclear", "Of whom it cannot be told yet", Row.tooFew)
	s.Notes = []string{"Too few answers for an interval: one more drill tells."}
	return s
}

func (c *Review) shortSection(key, title string, of func(Row) bool) report.Section {
	t := &report.Table{Compact: true, Columns: []report.Column{
		{Key: "learner", Title: "learner", Left: true}, {Key: "line", Title: "over time", Left: true}, {Key: "median_dE00", Title: "median ΔE00"},
	}}
	for _, r := range c.Rows {
		if of(r) {
			t.Rows = append(t.Rows, []report.Cell{report.Text(r.Learner.Name), c.spark(c.place(r.Learner.ID)), medianCell(r)})
		}
	}
	return report.Section{Key: key, Title: title, Table: t}
}

// medianCell leaves out the interval, for which the sheet has no room.
func medianCell(r Row) report.Cell {
	if !r.Error.Defined() {
		return report.Empty{}
	}
	return report.DeltaE(r.Error.Value)
}

// next says what to do for somebody who is flagged: the first of the reasons decides.
func (r Row) next() string {
	if len(r.Flags) == 0 {
		return ""
	}
	switch r.Flags[0].Key {
	case "no-answers":
		return "ask whether they have begun"
	case "display":
		return "sit with them at the display check"
	case "stopped":
		return "ask what keeps them away"
	case "rising":
		return "sit beside them for one drill"
	case "bias":
		worst, size := 0, 0.0
		for i, e := range r.Biases {
			if e.Defined() && math.Abs(e.Value) > size && history.BiasWord(e, "+", "-") != "" {
				worst, size = i, math.Abs(e.Value)
			}
		}
		return "practise " + attributeOf(worst) + " alone"
	}
	return "practise with tab targets"
}
