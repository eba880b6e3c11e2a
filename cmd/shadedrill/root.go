package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/colour/fault"
	"shadedrill/scoring/record"
)

// app is one run: the world, the global flags, and what was opened.
type app struct {
	env
	flags struct {
		book, learner, library string
		seed                   uint64
		noColour               bool
		quiet                  bool
	}
	seeded bool // --seed was given
	chosen bool // --library was given
	book   record.Store
	// entered says that the command line was understood and its command began;
	// errors before that are the user's spelling.
	entered bool
}

func (a *app) close() {
	if a.book != nil {
		a.book.Close()
		a.book = nil
	}
}

const (
	groupPractise = "practise"
	groupResults  = "results"
	groupTools    = "tools"
)

// furtherCommands are those that a build tag adds.
var furtherCommands []func(*app) *cobra.Command

// newRoot builds the command tree.
func newRoot(a *app) *cobra.Command {
	root := &cobra.Command{
		Use:   "shadedrill",
		Short: "Train and measure the eye that takes a shade",
		Long: `shadedrill trains the eye that takes a shade, value first, then chroma and hue,
and measures it: how large the errors are in ΔE00, in which direction, whether
they shrink. Without a command it opens the trainer.

For education only. It is no medical device and diagnoses nothing; a display is
not a tooth under daylight.`,
		Example: `  shadedrill                                   open the trainer
  shadedrill practise value-first --count 10   go straight to a drill
  shadedrill progress --learner Ada            read the tables
  shadedrill simulate --learners 5 --seed 1 --book demo.db
                                               a simulated book to look at`,
		SilenceErrors: true,
		SilenceUsage:  true,
		Version:       version(),
		Args:          noneOf,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.openTrainer(cmd.Context())
		},
	}
	root.AddGroup(&cobra.Group{ID: groupPractise, Title: "Practise:"},
		&cobra.Group{ID: groupResults, Title: "Results:"},
		&cobra.Group{ID: groupTools, Title: "Libraries and tools:"})
	flags := root.PersistentFlags()
	flags.StringVar(&a.flags.book, "book", "", "the `file` that keeps every answer, or the address of a database, postgres://… (default: $SHADEDRILL_BOOK, then the user's data folder)")
	flags.StringVar(&a.flags.learner, "learner", "", "the `name` of who practises, or whose answers are meant (default: $SHADEDRILL_LEARNER)")
	flags.StringVar(&a.flags.library, "library", "natural", "the tab library: a built-in `name` or a CSV file")
	flags.Uint64Var(&a.flags.seed, "seed", 0, "`number` that decides all chance: the same seed asks the same trials (default: a new one each time)")
	flags.BoolVar(&a.flags.noColour, "no-color", false, "no colours and no line that is drawn over, as with NO_COLOR; drills cannot do without")
	flags.BoolVar(&a.flags.quiet, "quiet", false, "no notes and no progress bars")
	root.RegisterFlagCompletionFunc("library", a.completeLibrary)
	root.RegisterFlagCompletionFunc("learner", a.completeLearner)

	add := func(group string, commands ...*cobra.Command) {
		for _, c := range commands {
			c.GroupID = group
			root.AddCommand(c)
		}
	}
	add(groupPractise, a.practiseCommand(), a.thresholdCommand(), a.examCommand(), a.displayCommand())
	add(groupResults, a.progressCommand(), a.compareCommand(), a.classCommand(), a.peopleCommand(), a.exportCommand(), a.importCommand())
	add(groupPractise, a.panelCommand())
	add(groupTools, a.serveCommand())
	add(groupTools, a.tabsCommand(), a.bookCommand(), a.simulateCommand(), a.versionCommand())
	for _, further := range furtherCommands {
		root.AddCommand(further(a))
	}
	root.SetHelpCommand(told.HelpCommand(root))
	root.SetHelpCommandGroupID(groupTools)
	root.SetCompletionCommandGroupID(groupTools)
	root.InitDefaultCompletionCmd()
	root.SetUsageTemplate(told.UsageTemplate)
	root.SetHelpTemplate(told.HelpTemplate)
	root.SetFlagErrorFunc(unknownFlag)
	root.SetVersionTemplate("shadedrill {{.Version}}\n")
	prepare(root, a)
	return root
}

// prepare gives every command what all share: wrong words are usage errors, and
// a command marks that it was entered.
func prepare(c *cobra.Command, a *app) {
	if c.Args == nil {
		c.Args = noneOf
	}
	c.SuggestionsMinimumDistance = 2
	c.DisableFlagsInUseLine = true
	switch inner := c.RunE; {
	case inner != nil:
		c.RunE = func(cmd *cobra.Command, args []string) error {
			a.entered = true
			if a.flags.noColour {
				outer := a.getenv
				a.getenv = func(name string) string {
					if name == "NO_COLOR" {
						return "1"
					}
					return outer(name)
				}
			}
			a.seeded = cmd.Flags().Changed("seed")
			a.chosen = cmd.Flags().Changed("library")
			return inner(cmd, args)
		}
	case c.Run == nil: // a group of commands
		c.RunE = func(cmd *cobra.Command, _ []string) error { return cmd.Help() }
	}
	for _, sub := range c.Commands() {
		prepare(sub, a)
	}
}

// noneOf takes no arguments; for a command with subcommands an argument is a
// misspelt one.
func noneOf(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	if !c.HasAvailableSubCommands() {
		return fmt.Errorf("%s takes no argument, but there is %q", called(c), args[0])
	}
	err := fmt.Errorf("unknown command %q", strings.TrimPrefix(c.CommandPath()+" "+args[0], "shadedrill "))
	if near := c.SuggestionsFor(args[0]); len(near) > 0 {
		return fault.Wrap(err, "did you mean "+strings.Join(near, " or ")+"?")
	}
	return err
}

// called is how a user calls the command.
func called(c *cobra.Command) string { return strings.TrimPrefix(c.CommandPath(), "shadedrill ") }

// exactly takes the named arguments, no more and no fewer.
func exactly(names ...string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case len(args) < len(names):
			return fmt.Errorf("%s needs %s", called(c), names[len(args)])
		case len(args) > len(names):
			return fmt.Errorf("%s needs %s and no more, but there is %q", called(c), strings.Join(names, " and "), args[len(names)])
		}
		return nil
	}
}

// atLeast takes the named argument and any number after it.
func atLeast(name string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) == 0 {
			return fmt.Errorf("%s needs %s", called(c), name)
		}
		return nil
	}
}

// atMost takes up to n arguments.
func atMost(n int) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) > n {
			return fmt.Errorf("%s has no use for %q", called(c), args[n])
		}
		return nil
	}
}

// seed is the number given with --seed, or a new one.
func (a *app) seed() uint64 {
	if a.seeded {
		return a.flags.seed
	}
	return uint64(a.now().UnixNano())
}
