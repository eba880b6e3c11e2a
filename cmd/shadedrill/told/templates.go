package told

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// UsageTemplate is cobra's own, with two changes: flags are wrapped, and those that every
// command takes stand in the root's help alone.
const UsageTemplate = `Usage:{{if .Runnable}}
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

// HelpTemplate is a command's help, of which that is the second part.
const HelpTemplate = `{{with (or .Long .Short)}}{{paragraphs .}}

{{end}}{{if or .Runnable .HasSubCommands}}{{.UsageString}}{{end}}`

func init() {
	cobra.AddTemplateFunc("wrapped", func(f *pflag.FlagSet) string {
		return strings.TrimRight(f.FlagUsagesWrapped(HelpWidth), "\n")
	})
	cobra.AddTemplateFunc("paragraphs", Paragraphs)
	cobra.AddTemplateFunc("entry", func(c *cobra.Command) string {
		return Entry(fmt.Sprintf("  %-*s ", c.NamePadding(), c.Name()), c.Short)
	})
}
