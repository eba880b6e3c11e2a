package main

import (
	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/classes"
)

func (a *app) classEffect() *cobra.Command {
	var chosen selection
	var silence idleFlag
	var against string
	c := &cobra.Command{
		Use:   "effect CLASS",
		Short: "Did the training work: how each learner changed, and what those who left do to it",
		Long: `Did the training work: the change within each learner from their first to their
latest sittings, its size, who improved beyond their own uncertainty, what those who
left do to it, the first and the latest proficiency test, what was kept after a pause,
and how many learners it takes to find a difference. --against sets another class
beside it, such as one that was taught otherwise.`,
		Example: `  shadedrill class effect "Monday group"
  shadedrill class effect "Monday group" --against "Tuesday group"`,
		Args:              exactly("a class"),
		ValidArgsFunction: a.completeClass,
	}
	out := a.reportFlags(c)
	out.sectionFlag(c, "change", "against", "learners", "tests", "retention", "needed")
	chosen.flags(c)
	silence.flags(c)
	c.Flags().StringVar(&against, "against", "", "set this `class` beside it")
	c.RegisterFlagCompletionFunc("against", func(cmd *cobra.Command, _ []string, text string) ([]string, cobra.ShellCompDirective) {
		return a.completeClass(cmd, nil, text)
	})
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if _, err := out.check(); err != nil {
			return err
		}
		filter, err := chosen.filter()
		if err != nil {
			return err
		}
		if err := silence.check(cmd); err != nil {
			return err
		}
		if against != "" && record.NameKey(against) == record.NameKey(args[0]) {
			return told.Misused("name another class", "a class cannot be set against itself")
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
		var other *classes.Scope
		if against != "" {
			class, err := a.class(ctx, book, against)
			if err != nil {
				return err
			}
			scope, err := classes.ScopeOf(ctx, book, class)
			if err != nil {
				return err
			}
			scope.Idle, other = silence.span(), &scope
		}
		return out.write(classes.Effect(ctx, book, asked, other, filter))
	}
	return c
}
