package main

import (
	"io"
	"net/url"
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/files"
	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring/reports/classes"
	"shadedrill/scoring/transfer"
)

func (a *app) exportCommand() *cobra.Command {
	var chosen selection
	var format string
	var to files.Target
	var pseudonyms bool
	var homePage string
	c := &cobra.Command{
		Use:   "export",
		Short: "Write answers as a table, one row an answer",
		Long: `Write answers as a table, one row an answer: colours as shown, ΔE00 and its
signed parts (answer minus target), band, points and times. Everybody's answers,
or those of one --learner. The last columns hold each answer whole, so that
"shadedrill import" loses nothing, and the last row (#end) is what shows that the file
is whole: "head -n -1 FILE | sha256sum" gives its sum.

With --pseudonyms, for research: labels stand in the place of people and sittings,
the same in every export of this book and not to be guessed back without it; times
are days since a person's first sitting. Nothing can be imported from it.

Formats: csv, jsonl (an object a line), xapi (learning records, Experience API 1.0.3:
an array of statements, or into a file that ends in .jsonl a statement a line). They
say what was started, answered and completed, and of assignments with a pass mark
whether it was passed or failed; simulated people are marked. With --home-page people
are accounts of your system, by their own numbers where they have one. A grade that
changes by a later decision is a further statement of a later time: the latest holds, and
no statement voids an earlier one.`,
		Example: `  shadedrill export -o answers.csv
  shadedrill export --learner Ada --from 2024-05-01 --format jsonl
  shadedrill export --pseudonyms -o study.csv
  shadedrill export --format xapi -o statements.jsonl
  shadedrill export --format xapi --home-page https://lms.example.org`,
	}
	transferFlags(c, &format, transfer.CSV, transfer.JSONLines, transfer.XAPI)
	targetFlags(c, &to)
	c.Flags().BoolVar(&pseudonyms, "pseudonyms", false, "labels in the place of people, days since the first sitting in the place of times")
	c.Flags().StringVar(&homePage, "home-page", "", "the `address` of the system whose accounts people have, for xapi")
	chosen.flags(c)
	c.RunE = func(cmd *cobra.Command, _ []string) error {
		f, err := to.ExportFormat(format, transfer.CSV, transfer.JSONLines, transfer.XAPI)
		if err != nil {
			return err
		}
		if err := checkHomePage(homePage, f); err != nil {
			return err
		}
		if pseudonyms && f == transfer.XAPI {
			return told.Misused("write csv or jsonl", "learning records name people and times: there are none with pseudonyms")
		}
		filter, err := chosen.filter()
		if err != nil {
			return err
		}
		book, err := a.readBook(cmd.Context())
		if err != nil {
			return err
		}
		if a.learnerName() != "" {
			who, err := a.person(cmd.Context(), book)
			if err != nil {
				return err
			}
			filter.Learner = who.ID
		}
		// What is not as it was written leaves no book as if it were.
		if err := book.Whole(cmd.Context(), filter); err != nil {
			return err
		}
		if pseudonyms {
			return a.writeTo(to, func(w io.Writer) error { return transfer.ExportPseudonyms(cmd.Context(), book, filter, w, f) })
		}
		if f != transfer.XAPI {
			return a.writeTo(to, func(w io.Writer) error { return transfer.Export(cmd.Context(), book, filter, w, f) })
		}
		how := transfer.Statements{Lines: files.Ending(to.Path) == "jsonl" || files.Ending(to.Path) == "ndjson", HomePage: homePage}
		if how.Verdicts, err = classes.Verdicts(cmd.Context(), book, a.now()); err != nil {
			return err
		}
		return a.writeTo(to, func(w io.Writer) error { return transfer.ExportStatements(cmd.Context(), book, filter, w, how) })
	}
	return c
}

// checkHomePage says what is wrong with the address of a system of accounts.
func checkHomePage(address string, f transfer.Format) error {
	if address == "" {
		return nil
	}
	if f != transfer.XAPI {
		return told.Misused("add --format xapi", "--home-page has no place in %s", f)
	}
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Host == "" || u.User != nil {
		return told.Misused("such as https://lms.example.org", "--home-page is %q, which is no address of a site", address)
	}
	return nil
}

func (a *app) importCommand() *cobra.Command {
	var format string
	var rules transfer.Rules
	c := &cobra.Command{
		Use:   "import FILE|FOLDER|-...",
		Short: "Take in answers and classes that another book exported",
		Long: `Take in answers that "shadedrill export" wrote on this or another machine, as
csv or jsonl, and classes that "shadedrill class export" wrote, as jsonl. The same
file twice adds nothing. A file with a bad line is refused as a whole, with every
such line named, and so is one that is not whole: an export ends with a line that counts
what it holds and sums it up. Of several files, and of those in a folder that end in
.csv or .jsonl, each comes in as a whole or not at all.

People, sittings and answers travel, and classes with their rosters and assignments
(see "shadedrill class import --help"), one before the other or the other way round.
Answers to a calibration session join it where the same session is laid down in this
book.`,
		Example: `  shadedrill import answers.csv
  shadedrill import monday.jsonl bench-two.csv returned/
  shadedrill import - --format jsonl < answers.jsonl`,
		Args: atLeast("a file, a folder, or - for standard input"),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return []string{"csv", "jsonl"}, cobra.ShellCompDirectiveFilterFileExt
		},
	}
	transferFlags(c, &format, transfer.CSV, transfer.JSONLines)
	importFlags(c, &rules)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if _, err := files.ReadFormat(format, args[0], transfer.CSV, transfer.JSONLines); err != nil {
			return err
		}
		return a.takeIn(cmd, args, format, rules)
	}
	return c
}

func transferFlags(c *cobra.Command, format *string, formats ...transfer.Format) {
	names := files.FormatNames(formats)
	c.Flags().StringVar(format, "format", "", "`"+strings.Join(names, "|")+"` (default: by the ending of the file, else "+names[0]+")")
	c.RegisterFlagCompletionFunc("format", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return names, cobra.ShellCompDirectiveNoFileComp
	})
}
