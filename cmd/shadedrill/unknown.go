package main

import (
	"errors"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/colour/fault"
)

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
	if near := told.Nearest(unknown.GetSpecifiedName(), names); len(near) > 0 {
		return fault.Wrap(err, "did you mean --"+strings.Join(near, " or --")+"?")
	}
	return err
}
