package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/panels"
)

func (a *app) panelReport() *cobra.Command {
	c := &cobra.Command{
		Use:   "report NAME",
		Short: "What a calibration session shows: each person, the team, the shades",
		Example: `  shadedrill panel report "Spring team"
  shadedrill panel report "Autumn team" --before "Spring team"
  shadedrill panel report "Spring team" -o spring.html
  shadedrill panel report "Spring team" --section agreement --format csv`,
		Args:              exactly("the name of the session"),
		ValidArgsFunction: a.completePanel,
	}
	var pair []string
	var class, before string
	var display displayFlag
	display.flags(c)
	c.Flags().StringVar(&before, "before", "", "set this earlier `session` beside it: did the team move together")
	c.RegisterFlagCompletionFunc("before", func(cmd *cobra.Command, _ []string, text string) ([]string, cobra.ShellCompDirective) {
		return a.completePanel(cmd, nil, text)
	})
	c.Flags().StringVar(&class, "class", "", "only the people of this `class`, and who of it is missing")
	c.Flags().StringArrayVar(&pair, "pair", nil, "compare this `person` directly with another; give it twice (a team of two always is)")
	c.RegisterFlagCompletionFunc("pair", a.completeLearner)
	c.RegisterFlagCompletionFunc("class", func(cmd *cobra.Command, _ []string, text string) ([]string, cobra.ShellCompDirective) {
		return a.completeClass(cmd, nil, text)
	})
	out := a.reportFlags(c)
	out.sectionFlag(c, "next", "shades", "people", "bias", "checks", "judgements", "repeatability", "agreement", "gauge", "pair", "pair_choices", "rounds", "items", "conditions")
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if _, err := out.check(); err != nil {
			return err
		}
		ctx := cmd.Context()
		book, err := a.readBook(ctx)
		if err != nil {
			return err
		}
		p, err := a.panel(ctx, book, args[0])
		if err != nil {
			return err
		}
		between, err := a.panelPair(ctx, book, p, pair)
		if err != nil {
			return err
		}
		view := panels.View{Between: between}
		if view.Checked, err = display.checked(); err != nil {
			return err
		}
		if before != "" {
			if record.NameKey(before) == record.NameKey(args[0]) {
				return told.Misused("name another session", "a session cannot be set beside itself")
			}
			earlier, err := a.panel(ctx, book, before)
			if err != nil {
				return err
			}
			view.Before = &earlier
		}
		if class != "" {
			c, err := a.class(ctx, book, class)
			if err != nil {
				return err
			}
			if view.Of, err = book.Roster(ctx, c.ID); err != nil {
				return err
			}
			view.Group = c.Name
		}
		return out.write(panels.Report(ctx, book, p, view))
	}
	return c
}

// panelPair finds the two people to be compared directly.
func (a *app) panelPair(ctx context.Context, book record.Book, p record.Panel, names []string) ([]scoring.LearnerID, error) {
	if len(names) != 0 && (len(names) != 2 || record.NameKey(names[0]) == record.NameKey(names[1])) {
		return nil, told.Misused("--pair Ada --pair Ben", "--pair names two people")
	}
	var ids []scoring.LearnerID
	for _, name := range names {
		who, err := book.LearnerByName(ctx, name)
		if err == nil {
			progress, err := record.ProgressOf(ctx, book, p.Set(), who.ID)
			if err != nil {
				return nil, err
			}
			if progress.Given() > 0 {
				ids = append(ids, who.ID)
				continue
			}
		} else if !errors.Is(err, record.ErrNotFound) {
			return nil, err
		}
		return nil, told.Fail(fmt.Sprintf("who has stands in: shadedrill panel report %q --section people", p.Name), "%q has no answer in the session %q", name, p.Name)
	}
	return ids, nil
}

func (a *app) panelList() *cobra.Command {
	c := &cobra.Command{
		Use:     "list",
		Short:   "List the calibration sessions and how many have taken them",
		Example: "  shadedrill panel list",
	}
	out := a.reportFlags(c)
	c.RunE = func(cmd *cobra.Command, _ []string) error {
		if _, err := out.check(); err != nil {
			return err
		}
		book, err := a.readBook(cmd.Context())
		if err != nil {
			return err
		}
		return out.write(panels.List(cmd.Context(), book))
	}
	return c
}

func (a *app) panelClose() *cobra.Command {
	return &cobra.Command{
		Use:   "close NAME",
		Short: "Let nobody begin a calibration session any more",
		Long: `Let nobody begin a calibration session any more. Whoever has begun it may go on
to the end.`,
		Example:           `  shadedrill panel close "Spring team"`,
		Args:              exactly("the name of the session"),
		ValidArgsFunction: a.completePanel,
		RunE: func(cmd *cobra.Command, args []string) error {
			ctx := cmd.Context()
			book, err := a.readBook(ctx)
			if err != nil {
				return err
			}
			p, err := a.panel(ctx, book, args[0])
			if err != nil {
				return err
			}
			if err := book.ClosePanel(ctx, p.Name, a.now()); err != nil {
				return err
			}
			a.say("%q is closed: whoever has begun it may go on, nobody else begins it.", p.Name)
			return nil
		},
	}
}
