package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring/simulate/recovery"
)

// Runs of a recovery table: enough to see it work, and enough to believe it.
const (
	usualRuns = 50
	fullRuns  = 2000
	mostRuns  = 100000

	fewestDraws = 40 // with fewer there is no bootstrap interval
)

// recoverThresholds simulates observers with known thresholds and prints how near
// the measured ones come. No book is needed, for nobody answers but the machine. Each
// line is told on standard error when it is done, for the whole table takes long.
func (a *app) recoverThresholds(cmd *cobra.Command, out *output, runs, draws int) error {
	for _, flag := range []string{"learners", "sittings", "items", "kind", "targets", "attribute", "task", "from", "exam", "class", "panel", "improve"} {
		if cmd.Flags().Changed(flag) {
			return told.Misused("leave one of the two out", "--%s is about simulated learners, and --thresholds about the measuring itself", flag)
		}
	}
	if runs < 2 || runs > mostRuns {
		return told.Misused(fmt.Sprintf("%d for a first look, %d for a table to quote", usualRuns, fullRuns), "--runs is %d, outside 2..%d", runs, mostRuns)
	}
	if draws < 0 || draws > mostDraws || draws > 0 && draws < fewestDraws {
		return told.Misused("0 for none, 400 for steady intervals", "--draws is %d, neither 0 nor within %d..%d", draws, fewestDraws, mostDraws)
	}
	conditions, err := recovery.Full()
	if err != nil {
		return err
	}
	compared, err := recovery.Compared()
	if err != nil {
		return err
	}
	bar := a.progressBar((len(conditions)+len(compared))*runs, "simulating")
	before := 0
	plan := recovery.Plan{Runs: runs, Seed: 1, Screens: recovery.Screen(), Progress: func(n int) { bar.Set(before + n) }, Stopped: cmd.Context().Err}
	if a.seeded {
		plan.Seed = a.flags.seed
	}
	var rows []recovery.Row
	for _, c := range conditions {
		c.Draws = draws
		row, err := recovery.Recover(c, plan)
		if err != nil {
			return err
		}
		bar.Clear()
		fmt.Fprintln(a.stderr, row.Line())
		rows, before = append(rows, row), before+runs
	}
	var comparisons []recovery.Comparison
	for _, o := range compared {
		c, err := recovery.Compare(o, plan)
		if err != nil {
			return err
		}
		comparisons, before = append(comparisons, c), before+runs
	}
	bar.Finish()
	return out.write(recovery.Report(rows, comparisons, plan), nil)
}
