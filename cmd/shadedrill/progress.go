package main

import (
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/learners"
)

func (a *app) progressCommand() *cobra.Command {
	var chosen selection
	var class string
	var display displayFlag
	c := &cobra.Command{
		Use:   "progress",
		Short: "A learner's tables: how far, in which direction, whether it gets better",
		Long: `A learner's tables: how large the errors are, in which direction they run, whether they
shrink, and where they are largest. Every number has its interval; what cannot be
said yet is said in words.`,
		Example: `  shadedrill progress
  shadedrill progress --learner Ada --kind value-first --from 2024-05-01
  shadedrill progress --format csv --section trend
  shadedrill progress -o ada.html
  shadedrill progress --class "Monday group" -o pages`,
	}
	out := a.reportFlags(c)
	out.sectionFlag(c, "glance", "accuracy", "choices", "checks", "measures", "bias", "trend", "regions", "lights", "thresholds")
	chosen.flags(c)
	display.flags(c)
	c.Flags().StringVar(&class, "class", "", "a page for each of this `class`, into the folder that -o names")
	c.RegisterFlagCompletionFunc("class", func(cmd *cobra.Command, _ []string, text string) ([]string, cobra.ShellCompDirective) {
		return a.completeClass(cmd, nil, text)
	})
	c.RunE = func(cmd *cobra.Command, _ []string) error {
		filter, err := chosen.filter()
		if err != nil {
			return err
		}
		checked, err := display.checked()
		if err != nil {
			return err
		}
		if class != "" {
			return a.classProgress(cmd.Context(), class, filter, checked, out)
		}
		if _, err := out.check(); err != nil {
			return err
		}
		book, err := a.readBook(cmd.Context())
		if err != nil {
			return err
		}
		who, err := a.person(cmd.Context(), book)
		if err != nil {
			return err
		}
		return out.write(learners.Progress(cmd.Context(), book, who, filter, a.now(), checked))
	}
	return c
}

// displayFlag narrows answers to those on displays that passed their check.
type displayFlag struct{ word string }

func (d *displayFlag) flags(c *cobra.Command) {
	c.Flags().StringVar(&d.word, "display", "all", "which displays count: `all|checked`; checked leaves out those that failed their check or have none")
	completeWords(c, "display", []string{"all", "checked"})
}

func (d *displayFlag) checked() (bool, error) {
	if d.word != "all" && d.word != "checked" {
		return false, told.Misused("all, or checked", "--display is %q", d.word)
	}
	return d.word == "checked", nil
}

// selection narrows answers by exercise and by day.
type selection struct{ kind, from, to string }

func (s *selection) flags(c *cobra.Command) {
	c.Flags().StringVar(&s.kind, "kind", "", "only this `exercise`")
	c.RegisterFlagCompletionFunc("kind", completeKind)
	s.daysFlags(c)
}

func (s *selection) daysFlags(c *cobra.Command) {
	c.Flags().StringVar(&s.from, "from", "", "only answers from this `day` on, as 2024-05-31")
	c.Flags().StringVar(&s.to, "to", "", "only answers up to this `day`, which counts")
}

func (s *selection) filter() (record.Filter, error) {
	var f record.Filter
	if s.kind != "" {
		kind, err := kindNamed(s.kind)
		if err != nil {
			return f, err
		}
		f.Kind = string(kind.ID())
	}
	var err error
	if f.From, err = day("--from", s.from); err != nil {
		return f, err
	}
	if f.To, err = day("--to", s.to); err != nil {
		return f, err
	}
	if !f.To.IsZero() {
		f.To = scoring.NextDay(f.To)
	}
	if !f.From.IsZero() && !f.To.IsZero() && !f.From.Before(f.To) {
		return f, told.Misused("give the earlier day with --from", "--from %s comes after --to %s", s.from, s.to)
	}
	return f, nil
}

// day reads a day in the user's time zone.
func day(flag, text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	t, err := time.ParseInLocation(time.DateOnly, text, time.Local)
	if err != nil {
		return t, told.Misused("write year, month and day: 2024-05-31", "%s is %q, which is not a day", flag, text)
	}
	return scoring.StartOfDay(t.Add(12 * time.Hour)), nil // where clocks go forward at midnight it reads as the day before
}

// kindNamed finds an exercise by the name it has on the command line.
func kindNamed(name string) (exercises.Kind, error) {
	kind, err := exercises.ByID(exercises.KindID(name))
	if err != nil {
		hint := "there are " + kindNames()
		if near := told.Nearest(name, kindIDs()); len(near) > 0 {
			hint = "did you mean " + strings.Join(near, " or ") + "?"
		}
		return nil, told.Misused(hint, "no exercise is called %q", name)
	}
	return kind, nil
}

func kindNames() string { return strings.Join(kindIDs(), ", ") }

func kindIDs() []string {
	var names []string
	for _, k := range exercises.Kinds() {
		names = append(names, string(k.ID()))
	}
	return names
}

func completeKind(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	var names []string
	for _, k := range exercises.Kinds() {
		names = append(names, string(k.ID())+"\t"+k.Trains())
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}
