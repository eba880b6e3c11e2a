package told

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
)

// HelpCommand is the command "help" of a tree. It replaces cobra's, which takes an unknown
// topic for no error.
func HelpCommand(root *cobra.Command) *cobra.Command {
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
				return Misused(`"shadedrill --help" lists the commands`, "there is no help on %q", strings.Join(args, " "))
			}
			return c.Help()
		},
	}
}

// Nearest finds the names that a misspelt one may mean, by the measure that
// cobra has for commands.
func Nearest(word string, names []string) []string {
	list := &cobra.Command{SuggestionsMinimumDistance: 2}
	for _, name := range names {
		list.AddCommand(&cobra.Command{Use: name, Run: func(*cobra.Command, []string) {}})
	}
	return list.SuggestionsFor(word)
}
