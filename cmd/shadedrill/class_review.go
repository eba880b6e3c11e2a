package main

import (
	"fmt"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring/reports/classes"
)

func (a *app) classReviewCommand() *cobra.Command {
	var chosen selection
	var sort string
	var backwards bool
	var silence idleFlag
	var display displayFlag
	c := &cobra.Command{
		Use:   "review CLASS",
		Short: "Where a class stands: a row a learner, who needs help, which shades confuse everyone",
		Long: `Where a class stands: a row a learner with errors, trend, bias and proficiency
test, flags with their reasons, the class as a whole, how the shared items do, and
which value groups and tabs are taken for which.`,
		Example: `  shadedrill class review "Monday group"
  shadedrill class review "Monday group" --sort error --from 2024-05-01
  shadedrill class review "Monday group" -o monday.html
  shadedrill class review "Monday group" --section learners --format csv`,
		Args:              exactly("a class"),
		ValidArgsFunction: a.completeClass,
	}
	out := a.reportFlags(c)
	out.sectionFlag(c, "help", "fine", "unclear", "learners", "details", "class", "change", "spread", "items", "item", "groups", "pairs")
	chosen.flags(c)
	var orders []string
	for _, o := range classes.Orders() {
		orders = append(orders, string(o))
	}
	c.Flags().StringVar(&sort, "sort", "flag", "the `order` of the rows: "+strings.Join(orders, ", "))
	c.Flags().BoolVar(&backwards, "reverse", false, "the other way round; what is not known stays last")
	silence.flags(c)
	display.flags(c)
	c.RegisterFlagCompletionFunc("sort", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		var words []string
		for _, o := range classes.Orders() {
			words = append(words, string(o)+"\t"+o.Words())
		}
		return words, cobra.ShellCompDirectiveNoFileComp
	})
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if _, err := out.check(); err != nil {
			return err
		}
		filter, err := chosen.filter()
		if err != nil {
			return err
		}
		by, ok := classes.ParseOrder(sort)
		if !ok {
			return told.Misused("there are "+strings.Join(orders, ", "), "no order is called %q", sort)
		}
		if err := silence.check(cmd); err != nil {
			return err
		}
		manyAnswers()
		ctx := cmd.Context()
		book, class, err := a.readClass(ctx, args[0])
		if err != nil {
			return err
		}
		asked, err := classes.ScopeOf(ctx, book, class)
		if err != nil {
			return err
		}
		asked.Idle = silence.span()
		if asked.Checked, err = display.checked(); err != nil {
			return err
		}
		return out.write(classes.Report(ctx, book, asked, filter, by, backwards))
	}
	return c
}

// manyAnswers is said before a class is read: answers come and go by the million in a
// large one, and what stays is little: the rubbish may pile up before it is carried
// away.
func manyAnswers() {
	debug.SetGCPercent(400)
	debug.SetMemoryLimit(200 << 20)
}

// idleFlag is how long a silence counts as having stopped.
type idleFlag struct{ days int }

func (f *idleFlag) flags(c *cobra.Command) {
	c.Flags().IntVar(&f.days, "idle", int(classes.UsualIdle/(24*time.Hour)), "after how many `days` without an answer, while the class goes on, somebody counts as having stopped")
}

func (f *idleFlag) check(c *cobra.Command) error {
	if f.days < 1 {
		return told.Misread(fmt.Errorf("--idle takes a number of days from 1, not %d", f.days), c.CommandPath())
	}
	return nil
}

func (f *idleFlag) span() time.Duration { return time.Duration(f.days) * 24 * time.Hour }
