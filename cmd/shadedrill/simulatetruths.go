package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/colour/tabs"
	"shadedrill/scoring/simulate/truths"
)

// Many observers with known truth, and what is told of them. No book is needed, for
// nobody answers but the machine.

// truthsPlan checks what was asked for with --name and makes the plan of it.
func (a *app) truthsPlan(cmd *cobra.Command, name string, runs, lines int) (truths.Plan, *told.Bar, error) {
	for _, flag := range []string{"learners", "sittings", "items", "kind", "targets", "attribute", "task", "from", "exam", "class", "panel", "improve", "draws"} {
		if cmd.Flags().Changed(flag) {
			return truths.Plan{}, nil, told.Misused("leave one of the two out", "--%s does not go with --%s", flag, name)
		}
	}
	if runs < 2 || runs > mostRuns {
		return truths.Plan{}, nil, told.Misused(fmt.Sprintf("%d for a first look, %d for a table to quote", usualRuns, fullRuns), "--runs is %d, outside 2..%d", runs, mostRuns)
	}
	p := truths.Plan{Runs: runs, Seed: 1, Stopped: cmd.Context().Err}
	if a.seeded {
		p.Seed = a.flags.seed
	}
	return p, a.progressBar(lines*runs, "simulating"), nil
}

// recoverBiases prints how near the truth biases come.
func (a *app) recoverBiases(cmd *cobra.Command, out *output, runs int, chooser string) error {
	by, err := chooserNamed(chooser)
	if err != nil {
		return err
	}
	libraries := []string{"natural", "starter"}
	if cmd.Flags().Changed("library") {
		libraries = []string{a.flags.library}
	}
	lines := truths.BiasLines(libraries, by)
	plan, bar, err := a.truthsPlan(cmd, "biases", runs, len(lines))
	if err != nil {
		return err
	}
	sheets := map[string]*tabs.Sheet{}
	for _, name := range libraries {
		library, err := loadLibrary(name)
		if err != nil {
			return err
		}
		sheets[name] = tabs.NewSheet(library, nil)
	}
	rows, err := measured(a, lines, plan, bar, func(line truths.Bias, plan truths.Plan) (truths.BiasRow, error) {
		return line.Measure(sheets[line.Library], plan)
	})
	if err != nil {
		return err
	}
	return out.write(truths.BiasReport(rows, by, plan), nil)
}

// measured measures line by line, and tells each on standard error when it is done, for
// the whole table takes long.
func measured[Line any, Row fmt.Stringer](a *app, lines []Line, plan truths.Plan, bar *told.Bar, measure func(Line, truths.Plan) (Row, error)) ([]Row, error) {
	var rows []Row
	for i, line := range lines {
		plan.Progress = func(n int) { bar.Set(i*plan.Runs + n) }
		row, err := measure(line, plan)
		if err != nil {
			return nil, err
		}
		bar.Clear()
		fmt.Fprintln(a.stderr, row)
		rows = append(rows, row)
	}
	bar.Finish()
	return rows, nil
}

func chooserNamed(name string) (truths.Chooser, error) {
	hint := "there are:"
	for _, c := range truths.Choosers {
		if c.Name == name {
			return c, nil
		}
		hint += " " + c.Name
	}
	return truths.Chooser{}, told.Misused(hint, "no observer answers %q", name)
}

// recoverTrends prints how often a trend is told of people whose ability is known.
func (a *app) recoverTrends(cmd *cobra.Command, out *output, runs int) error {
	lines := truths.TrendLines()
	plan, bar, err := a.truthsPlan(cmd, "trends", runs, len(lines))
	if err != nil {
		return err
	}
	name := "natural"
	if cmd.Flags().Changed("library") {
		name = a.flags.library
	}
	library, err := loadLibrary(name)
	if err != nil {
		return err
	}
	sheet := tabs.NewSheet(library, nil)
	rows, err := measured(a, lines, plan, bar, func(line truths.Trend, plan truths.Plan) (truths.TrendRow, error) { return line.Measure(sheet, plan) })
	if err != nil {
		return err
	}
	return out.write(truths.TrendReport(rows, name, plan), nil)
}

// recoverTests prints whether the results of the proficiency test follow the errors of
// people whose errors are known.
func (a *app) recoverTests(cmd *cobra.Command, out *output, runs int, chooser string) error {
	var of truths.Forms
	var named []string
	for _, w := range truths.TestWays {
		named = append(named, w.Name)
		if w.Name == chooser {
			of = truths.Forms{Learners: truths.TestLearners, Ways: w}
		}
	}
	if of.Learners == 0 {
		return told.Misused("there are: "+strings.Join(named, ", "), "nobody answers %q", chooser)
	}
	if cmd.Flags().Changed("library") {
		return told.Misused("leave it out", "the usual form has a library of its own, so --library does not go with --tests")
	}
	plan, bar, err := a.truthsPlan(cmd, "tests", runs, 1)
	if err != nil {
		return err
	}
	plan.Progress = bar.Set
	row, err := of.Measure(plan)
	if err != nil {
		return err
	}
	bar.Finish()
	return out.write(truths.FormReport(row, plan), nil)
}
