package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/simulate"
	"shadedrill/trainer"
	"shadedrill/trainer/ask"
)

// Limits of a calibration session, house choices: more tires the eyes of the
// team, and then it is tiredness that is compared.
const (
	mostPanelItems   = 200
	mostPanelRepeats = 10
)

func (a *app) panelCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "panel",
		Short: "Calibration sessions: a team looks at the same shades, and sees who errs which way",
		Long: `Calibration sessions. A lead lays down a set of shades and how they are looked at;
everybody takes the same set, in an order of their own, and meets every shade more
than once. The report says in which way each person errs, how well they repeat
themselves, whether the team agrees, and over which shades it splits.`,
		Example: `  shadedrill panel new "Spring team" --items 20 --repeats 2 --learner Ida
  shadedrill panel take "Spring team" --learner Ada
  shadedrill panel report "Spring team" -o spring.html`,
	}
	c.AddCommand(a.panelNew(), a.panelTake(), a.panelReport(), a.panelList(), a.panelClose())
	return c
}

func (a *app) panelNew() *cobra.Command {
	var d drillFlags
	var kind string
	items, repeats := 20, 2
	c := &cobra.Command{
		Use:   "new NAME",
		Short: "Lay down a calibration session",
		Long: `Lay down a calibration session: the exercise, how many shades, how often each is
shown, and how it is looked at. Once laid down it is not changed by anybody: what
people take under one name can be compared. --learner names its lead.`,
		Example: `  shadedrill panel new "Spring team" --items 20 --repeats 2
  shadedrill panel new necks --kind thirds --items 8 --library starter
  shadedrill panel new lamps --kind lighting --items 24`,
		Args: exactly("a name for the session"),
	}
	f := c.Flags()
	f.IntVar(&items, "items", items, "`number` of items, the same for everybody; a tooth of three thirds is three")
	f.IntVar(&repeats, "repeats", repeats, "how `many` times each person meets each")
	f.StringVar(&kind, "kind", string(exercises.ValueFirst), "the `exercise`")
	d.questionFlags(c)
	d.lookFlags(c)
	c.RegisterFlagCompletionFunc("kind", completeKind)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		setup, trials, err := a.panelSetup(cmd, &d, kind, items, repeats)
		if err != nil {
			return err
		}
		ctx := cmd.Context()
		book, err := a.useBook(ctx)
		if err != nil {
			return err
		}
		p := record.Panel{Name: args[0], Setup: setup, At: a.now()}
		if name := a.learnerName(); name != "" {
			if p.By, err = a.lead(ctx, book, name); err != nil {
				return err
			}
		}
		if err := book.PutSheet(ctx, setup.Sheet); err != nil {
			return err
		}
		if p, err = book.AddPanel(ctx, p); err != nil {
			return err
		}
		a.say("%q is laid down: %s, each shown %s, %s for everybody; seed %d.",
			p.Name, scoring.Count(trials/repeats, "item", "items"), scoring.Times(repeats), scoring.Count(trials, "trial", "trials"), setup.Seed)
		if repeats == 1 {
			a.note("shown once, nobody can be compared with themselves; --repeats 2 is usual")
		}
		fmt.Fprintf(a.stdout, "Everybody takes it with: shadedrill panel take %q --learner NAME\n", p.Name)
		fmt.Fprintf(a.stdout, "The same session in a book elsewhere, for a later import: %s\n", laidDown(cmd, p))
		return nil
	}
	return c
}

// laidDown is the command line that lays down the same session in another book,
// whose answers can then be imported into this one.
func laidDown(c *cobra.Command, p record.Panel) string {
	line := fmt.Sprintf("shadedrill panel new %q", p.Name)
	for _, name := range []string{"kind", "items", "repeats", "library", "targets", "attribute", "task", "light", "limit", "rest", "gap", "surround"} {
		if c.Flags().Changed(name) {
			line += fmt.Sprintf(" --%s %s", name, c.Flag(name).Value)
		}
	}
	return fmt.Sprintf("%s --seed %d", line, p.Setup.Seed)
}

// panelSetup is what everybody will be asked, and how many trials that makes.
func (a *app) panelSetup(c *cobra.Command, d *drillFlags, kind string, items, repeats int) (exercises.Setup, int, error) {
	var none exercises.Setup
	k, err := kindNamed(kind)
	if err != nil {
		return none, 0, err
	}
	switch {
	case items < 1 || items > mostPanelItems:
		return none, 0, told.Misused("twenty, twice each, take about twenty minutes", "--items is %d, outside 1..%d", items, mostPanelItems)
	case repeats < 1 || repeats > mostPanelRepeats:
		return none, 0, told.Misused("at 2 and more people can be compared with themselves", "--repeats is %d, outside 1..%d", repeats, mostPanelRepeats)
	case k.Traits().ByHand:
		return none, 0, told.Misused("take an exercise on the screen, such as value-first",
			"the %s is done with everybody's own tabs in the hand: there is no picture that all would judge", strings.ToLower(k.Title()))
	}
	if !ask.Shown(k.ID()) {
		return none, 0, told.Misused("take another exercise: shadedrill practise --list", "%s cannot be taken in the trainer yet", k.Title())
	}
	if _, err := d.config(c, k); err != nil {
		return none, 0, err
	}
	library, err := loadLibrary(a.flags.library)
	if err != nil {
		return none, 0, err
	}
	var under func(colour.Lab) colour.Lab
	if d.light != "" {
		lamp, err := colour.LightByID(d.light)
		if err != nil {
			return none, 0, err
		}
		under = exercises.Under(lamp)
	}
	viewing := d.viewing()
	if k.Traits().Unhurried && !c.Flags().Changed("limit") {
		viewing.Limit = 0
	}
	s := exercises.Setup{Kind: k.ID(), Version: k.Version(), Seed: a.seed(), Count: items, Repeats: repeats,
		Targets: exercises.Targets(d.targets), Attribute: d.attribute, Task: d.task,
		Viewing: viewing, Silent: true, Sheet: tabs.NewSheet(library, under)}
	if s.Seed == 0 {
		return none, 0, told.Misused("any other number will do", "--seed is 0, which stands for none")
	}
	if s.Targets == "" {
		s.Targets = exercises.NaturalTargets
	}
	run, err := exercises.NewRun(s)
	if err != nil {
		return none, 0, told.Misread(err, c.CommandPath())
	}
	return s, run.Planned(), nil
}

// lead finds who lays down a session, or enters them.
func (a *app) lead(ctx context.Context, book record.Book, name string) (scoring.LearnerID, error) {
	who, err := book.LearnerByName(ctx, name)
	if errors.Is(err, record.ErrNotFound) {
		who, err = book.AddLearner(ctx, scoring.Learner{Name: name, Role: scoring.RoleLead, At: a.now()})
	}
	return who.ID, err
}

func (a *app) panelTake() *cobra.Command {
	c := &cobra.Command{
		Use:   "take NAME",
		Short: "Take a calibration session, or go on with one that was broken off",
		Long: `Take a calibration session, or go on with one that was broken off. What is asked
and how it is looked at was laid down by its lead; there is no feedback before the
end, and it is taken once.`,
		Example:           `  shadedrill panel take "Spring team" --learner Ada`,
		Args:              exactly("the name of the session"),
		ValidArgsFunction: a.completePanel,
	}
	c.RunE = func(cmd *cobra.Command, args []string) error {
		ctx := cmd.Context()
		if err := trainer.Refuse(a.getenv); err != nil {
			return err
		}
		book, err := a.readBook(ctx)
		if err != nil {
			return err
		}
		p, err := a.panel(ctx, book, args[0])
		if err != nil {
			return err
		}
		if err := a.takeSet(ctx, book, p.Set()); err != nil {
			return err
		}
		a.note("what the session shows: shadedrill panel report %q", p.Name)
		return nil
	}
	return c
}

// panel finds a session by its name.
func (a *app) panel(ctx context.Context, book record.Book, name string) (record.Panel, error) {
	p, err := book.PanelByName(ctx, name)
	if !errors.Is(err, record.ErrNotFound) {
		return p, err
	}
	all, err := book.Panels(ctx)
	if err != nil {
		return p, err
	}
	hint := `lay one down: shadedrill panel new NAME`
	if len(all) > 0 {
		hint = "there are"
		for i, p := range all {
			if i == 8 {
				hint += fmt.Sprintf(", and %d more", len(all)-i)
				break
			}
			hint += fmt.Sprintf("%s %q", map[bool]string{true: ",", false: ""}[i > 0], p.Name)
		}
	}
	return p, told.Fail(hint, "the book %s has no calibration session %q", a.bookName(), name)
}

func (a *app) completePanel(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	book, err := a.readBook(cmd.Context())
	if err != nil || len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	all, err := book.Panels(cmd.Context())
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	var names []string
	for _, p := range all {
		names = append(names, p.Name)
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}

// panelPlan lets the people of a plan take a calibration session that is in the
// book already, on the day on which it was laid down.
func (a *app) panelPlan(c *cobra.Command, name string, plan *simulate.Plan) error {
	for _, flag := range []string{"sittings", "items", "kind", "targets", "attribute", "task", "exam", "class", "improve", "from", "library"} {
		if c.Flags().Changed(flag) {
			return told.Misused("what a session asks was laid down: shadedrill panel new NAME --items 20 …", "--%s has no place beside --panel", flag)
		}
	}
	if !a.mayHaveBook() {
		return told.Fail(fmt.Sprintf("lay the session down first: shadedrill panel new %q --items 20 --book %s", name, a.bookName()),
			"there is no book at %s yet, and so no calibration session in it", a.bookName())
	}
	ctx := c.Context()
	book, err := a.readBook(ctx)
	if err != nil {
		return err
	}
	p, err := a.panel(ctx, book, name)
	if err != nil {
		return err
	}
	if p.Setup.SheetID != "" {
		if p.Setup.Sheet, err = book.Sheet(ctx, p.Setup.SheetID); err != nil {
			return err
		}
	}
	set := p.Set()
	if err := record.Refusal(set, record.NewProgress(set), "nobody"); err != nil {
		return err
	}
	plan.Set, plan.Setup, plan.Sittings, plan.Items = &set, p.Setup, 1, p.Setup.Count
	plan.Seed, plan.From = a.seed(), p.At.Truncate(24*time.Hour)
	if err := plan.Check(); err != nil {
		return told.Misread(err, c.CommandPath())
	}
	return nil
}
