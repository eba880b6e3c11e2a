package main

import (
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/files"
	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/cases"
)

func (a *app) compareCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "compare FILE|-",
		Short: "Judge measured pairs: what was prescribed and what was delivered",
		Long: `Judge measured pairs from any instrument: what was prescribed and what was
delivered, in CIELAB under D65. For each pair: ΔE00 with its signed parts, the
band it falls in, the change of whiteness ΔWI_D, and what to change in words.

The table is CSV in UTF-8 with the columns, in any order,
  ` + cases.Header + `
Nothing is stored.`,
		Example: `  shadedrill compare cases.csv
  shadedrill compare - --format json < cases.csv`,
		Args: exactly("a file, or - for standard input"),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return []string{"csv"}, cobra.ShellCompDirectiveFilterFileExt
		},
	}
	out := a.reportFlags(c)
	c.RunE = func(_ *cobra.Command, args []string) error {
		if _, err := out.check(); err != nil {
			return err
		}
		f, err := files.Open(args[0], a.stdin)
		if err != nil {
			return err
		}
		defer f.Close()
		list, unused, err := cases.Read(f)
		if err != nil {
			return told.Within(named(args[0]), err)
		}
		if len(unused) > 0 {
			a.note("not used: %s", report.Clean(strings.Join(unused, ", ")))
		}
		verdicts := make([]cases.Verdict, len(list))
		for i, pair := range list {
			verdicts[i] = cases.Judge(pair)
		}
		return out.write(cases.Report(verdicts), nil)
	}
	return c
}

func named(path string) string {
	if path == "-" {
		return "standard input"
	}
	return path
}
