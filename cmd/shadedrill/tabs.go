package main

import (
	"github.com/spf13/cobra"

	"shadedrill/colour/tabs"
	"shadedrill/scoring/reports/libraries"
)

func (a *app) tabsCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "tabs",
		Short: "Tab libraries: list, show, check",
		Example: `  shadedrill tabs list
  shadedrill tabs show starter
  shadedrill tabs check measured.csv
  shadedrill practise --library measured.csv`,
	}
	c.AddCommand(a.tabsList(), a.tabsShow(), a.tabsCheck())
	return c
}

func (a *app) tabsList() *cobra.Command {
	c := &cobra.Command{
		Use:     "list",
		Short:   "List the built-in libraries and how well they cover tooth colours",
		Example: "  shadedrill tabs list --format json",
	}
	out := a.reportFlags(c)
	c.RunE = func(*cobra.Command, []string) error {
		if _, err := out.check(); err != nil {
			return err
		}
		var list []*tabs.Library
		for _, name := range tabs.Builtin() {
			l, err := tabs.Load(name)
			if err != nil {
				return err
			}
			list = append(list, l)
		}
		return out.write(libraries.List(list), nil)
	}
	return c
}

func (a *app) tabsShow() *cobra.Command {
	c := &cobra.Command{
		Use:   "show [NAME|FILE]",
		Short: "List a library's tabs, group by group",
		Example: `  shadedrill tabs show
  shadedrill tabs show starter --format csv > starter.csv`,
		Args:              atMost(1),
		ValidArgsFunction: a.completeLibrary,
	}
	out := a.reportFlags(c)
	out.ByHand = true // a measured library looks like it
	c.RunE = func(_ *cobra.Command, args []string) error {
		l, err := a.libraryOf(out, args)
		if err != nil {
			return err
		}
		return out.write(libraries.Tabs(l), nil)
	}
	return c
}

func (a *app) tabsCheck() *cobra.Command {
	c := &cobra.Command{
		Use:   "check [NAME|FILE]",
		Short: "Say what a library is good for: coverage, near-duplicates, gaps",
		Long: `Say what a library is good for: how far tooth colours are from its nearest
answer, which tabs can hardly be told apart, and where an answer is missing.

A measured library is CSV in UTF-8 with the columns name,L,a,b (CIELAB, D65) and,
if wanted, group for the value group.`,
		Example: `  shadedrill tabs check measured.csv
  shadedrill tabs check natural --format json`,
		Args:              atMost(1),
		ValidArgsFunction: a.completeLibrary,
	}
	out := a.reportFlags(c)
	out.sectionFlag(c, "coverage", "groups", "duplicates", "gaps", "outside")
	c.RunE = func(_ *cobra.Command, args []string) error {
		l, err := a.libraryOf(out, args)
		if err != nil {
			return err
		}
		return out.write(libraries.Check(l, tabs.Check(l)), nil)
	}
	return c
}

// libraryOf loads the library named as argument, or else by --library.
func (a *app) libraryOf(out *output, args []string) (*tabs.Library, error) {
	if _, err := out.check(); err != nil {
		return nil, err
	}
	from := a.flags.library
	if len(args) > 0 {
		from = args[0]
	}
	return loadLibrary(from)
}
