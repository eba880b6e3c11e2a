package main

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"shadedrill/colour/fault"
	"shadedrill/scoring/report"
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
				return misused(`"shadedrill --help" lists the commands`, "there is no help on %q", strings.Join(args, " "))
			}
			return c.Help()
		},
	}
}

// helpWidth is the width that every help text keeps to.
const helpWidth = 80

// usageTemplate is cobra's own, with two changes: flags are wrapped, and those that every
// command takes stand in the root's help alone.
const usageTemplate = `Usage:{{if .Runnable}}
  {{.UseLine}}{{end}}{{if .HasAvailableSubCommands}}
  {{.CommandPath}} [command]{{end}}{{if .HasExample}}

Examples:
{{.Example}}{{end}}{{if .HasAvailableSubCommands}}{{$all := .Commands}}{{if eq (len .Groups) 0}}

Commands:{{range $all}}{{if or .IsAvailableCommand (eq .Name "help")}}
{{entry . }}{{end}}{{end}}{{else}}{{range $group := .Groups}}

{{.Title}}{{range $all}}{{if and (eq .GroupID $group.ID) (or .IsAvailableCommand (eq .Name "help"))}}
{{entry . }}{{end}}{{end}}{{end}}{{end}}{{end}}{{if .HasAvailableLocalFlags}}

Flags:
{{wrapped .LocalFlags}}{{end}}{{if .HasAvailableInheritedFlags}}

Flags of every command: see "shadedrill --help"{{end}}{{if .HasAvailableSubCommands}}

More about a command: {{.CommandPath}} [command] --help{{end}}
`

const helpTemplate = `{{with (or .Long .Short)}}{{paragraphs .}}

{{end}}{{if or .Runnable .HasSubCommands}}{{.UsageString}}{{end}}`

func init() {
	cobra.AddTemplateFunc("wrapped", func(f *pflag.FlagSet) string {
		return strings.TrimRight(f.FlagUsagesWrapped(helpWidth), "\n")
	})
	cobra.AddTemplateFunc("paragraphs", paragraphs)
	cobra.AddTemplateFunc("entry", func(c *cobra.Command) string {
		return entry(fmt.Sprintf("  %-*s ", c.NamePadding(), c.Name()), c.Short)
	})
}

// paragraphs sets text in lines of the help's width. Indented lines are lists and
// stay lines of their own: a name, two blanks or more, and what is said of it.
func paragraphs(text string) string {
	var lines []string
	for _, block := range strings.Split(strings.TrimSpace(text), "\n\n") {
		if len(lines) > 0 {
			lines = append(lines, "")
		}
		var flowing []string
		flush := func() {
			if len(flowing) > 0 {
				lines = append(lines, report.Wrap(strings.Join(flowing, " "), helpWidth)...)
				flowing = nil
			}
		}
		for _, line := range strings.Split(block, "\n") {
			if !strings.HasPrefix(line, " ") {
				flowing = append(flowing, line)
				continue
			}
			flush()
			name, said := line, ""
			if i := strings.LastIndex(line, "  "); i > 1 {
				name, said = line[:i+2], line[i+2:]
			}
			lines = append(lines, entry(name, said))
		}
		flush()
	}
	return strings.Join(lines, "\n")
}

// entry is a line of a list, what is said of the name kept right of it.
func entry(name, said string) string {
	margin := utf8.RuneCountInString(name)
	return name + strings.Join(report.Wrap(said, helpWidth-margin), "\n"+strings.Repeat(" ", margin))
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
