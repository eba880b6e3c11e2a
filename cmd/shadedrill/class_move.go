package main

import (
	"io"
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/files"
	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/classes"
	"shadedrill/scoring/transfer"
)

func (a *app) classExport() *cobra.Command {
	var to files.Target
	var answers bool
	c := &cobra.Command{
		Use:   "export CLASS",
		Short: "Write a class, its roster and its assignments for another book",
		Long: `Write a class, its roster and its assignments, as JSON lines, for another book: that
of the machine at home or at another bench. With --answers everything that those in
the class have answered goes along; without, it travels by "shadedrill export", before
the class or after it.`,
		Example: `  shadedrill class export "Monday group" -o monday.jsonl
  shadedrill class export "Monday group" --answers -o monday.jsonl`,
		Args:              exactly("a class"),
		ValidArgsFunction: a.completeClass,
	}
	c.Flags().BoolVar(&answers, "answers", false, "all answers of those who are in the class as well")
	targetFlags(c, &to)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if _, err := to.ExportFormat(string(transfer.JSONLines), transfer.JSONLines); err != nil {
			return err
		}
		book, class, err := a.readClass(cmd.Context(), args[0])
		if err != nil {
			return err
		}
		// What is not as it was written leaves no book as if it were.
		if err := book.Whole(cmd.Context(), record.Filter{}); err != nil {
			return err
		}
		write := func(w io.Writer) error { return transfer.ExportClass(cmd.Context(), book, class, answers, w) }
		return a.writeTo(to, write)
	}
	return c
}

func (a *app) classImport() *cobra.Command {
	var rules transfer.Rules
	c := &cobra.Command{
		Use:   "import FILE|-...",
		Short: "Take in a class that another book exported",
		Long: `Take in a class that "shadedrill class export" wrote on this or another machine. The
same file twice adds nothing; a file with a bad line is refused as a whole, with every
such line named.

A class, its people and its assignments are known again by their identifiers. What is
new comes in. Where both books know of a change, of who is in the class, of a role and of what was
decided about an assignment (due date, extension, excuse, item left out, taken back),
the later one stands; nobody goes off a roster because the file does not name them. A
class or a person of a name that is another's here gets a number behind it, which is
said; so does an assignment whose number is another's.`,
		Example: `  shadedrill class import monday.jsonl
  shadedrill class import - < monday.jsonl`,
		Args: atLeast("a file, or - for standard input"),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return []string{"jsonl"}, cobra.ShellCompDirectiveFilterFileExt
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			for _, file := range args {
				if files.Ending(file) == "csv" {
					return told.Misused(`answers come in by "shadedrill import", people by "shadedrill class enrol CLASS --roster FILE"`, "classes travel as JSON lines, and %q is CSV", file)
				}
			}
			return a.takeIn(cmd, args, string(transfer.JSONLines), rules)
		},
	}
	importFlags(c, &rules)
	return c
}

func (a *app) sayImportedClass(c transfer.ImportedClass, name func(scoring.LearnerID) string) {
	if c.New {
		a.say("The class %s is made: %s on its roster, %s.", c.Name, people(c.Enrolled), scoring.Count(c.Assignments, "assignment", "assignments"))
	} else if c.Changed() {
		a.say("The class %s: %d new on its roster, %d off it, %s.", c.Name, c.Enrolled, len(c.Off), scoring.Count(c.NewAssignments, "new assignment", "new assignments"))
	} else {
		a.say("The class %s: nothing new.", c.Name)
	}
	if c.NewForms > 0 {
		a.say("Forms of the test: %d new.", c.NewForms)
	}
	for _, name := range c.SameName {
		a.note("another form of that name is here already: take this one as %s", name)
	}
	if c.NewSittings > 0 {
		a.say("Drills that were left without an answer: %d new.", c.NewSittings)
	}
	if c.Called != "" {
		a.say("It is called %s there, which is another class's name here.", c.Called)
	}
	for _, n := range c.Numbers {
		a.say("Assignment %d there is assignment %d here.", n.There, n.Here)
	}
	for _, r := range c.Ruled {
		a.say("Assignment %d (%s), decided there: %s.", r.Assignment.Number, r.Assignment.Code(), classes.RulingWords(r.Assignment, r.Ruling, name))
	}
	for _, r := range c.RuledNot {
		a.say("Assignment %d (%s), decided here later and stands: %s.", r.Assignment.Number, r.Assignment.Code(), classes.RulingWords(r.Assignment, r.Ruling, name))
	}
	if len(c.Off) > 0 {
		a.say("%s", "Off the roster, since they went there later: "+strings.Join(c.Off, ", "))
	}
	if len(c.Kept) > 0 {
		a.say("%s", "Not on the roster again, since they went here later: "+strings.Join(c.Kept, ", "))
	}
}
