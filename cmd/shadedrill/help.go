package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/colour/fault"
)

// helpCommand replaces cobra's, which takes an unknown topic for no error.
func helpCommand(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:   "help [command]",
		Short: "Help about any command",
		Args:  cobra.ArbitraryArgs,
		ValidArgsFunction: func(_ *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
			var names []string
			for _, c := range root.Commands() {
				if c.IsAvailableCommand() {
					names = append(names, c.Name()+"\t"+c.Short)
				}
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(_ *cobra.Command, args []string) error {
			c, rest, err := root.Find(args)
			if err == nil && len(rest) > 0 {
				err = fmt.Errorf("unknown command %q", rest[0])
			}
			if err != nil {
				return told.Misused(`"shadedrill --help" lists the commands`, "there is no help on %q", strings.Join(args, " "))
			}
			return c.Help()
		},
	}
}

// unknownFlag says which flag or command was probably meant.
func unknownFlag(c *cobra.Command, err error) error {
	unknown, ok := errors.AsType[*pflag.NotExistError](err)
	if !ok {
		return err
	}
	if first := c.Flags().Arg(0); c.HasAvailableSubCommands() && first != "" {
		return noneOf(c, []string{first}) // the flag belongs to a command that was misspelt
	}
	var names []string
	c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	if near := nearest(unknown.GetSpecifiedName(), names); len(near) > 0 {
		return fault.Wrap(err, "did you mean --"+strings.Join(near, " or --")+"?")
	}
	return err
}

// nearest finds the names that a misspelt one may mean, by the measure that
// cobra has for commands.
func nearest(word string, names []string) []string {
	list := &cobra.Command{SuggestionsMinimumDistance: 2}
	for _, name := range names {
		list.AddCommand(&cobra.Command{Use: name, Run: func(*cobra.Command, []string) {}})
	}
	return list.SuggestionsFor(word)
}
