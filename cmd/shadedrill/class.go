package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/files"
	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/classes"
	"shadedrill/scoring/transfer"
)

func (a *app) classCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "class",
		Short: "Classes: who is in them, where they stand, what they are to do",
		Long: `Classes: who is in them, where they stand, what they are to do and who did it. A
person may be in several. To take a person off a class, or a class out of the
book, takes no answer with it.`,
		Example: `  shadedrill class new "Monday group" --roster students.csv
  shadedrill class enrol "Monday group" "Ada Finch" "Ben Moor"
  shadedrill class list "Monday group"
  shadedrill class assign "Monday group" --count 20 --pass 2.0 --due 2026-12-01
  shadedrill class grades "Monday group"
  shadedrill class review "Monday group" -o monday.html
  shadedrill class effect "Monday group" --against "Tuesday group"
  shadedrill class export "Monday group" -o monday.jsonl`,
	}
	c.AddCommand(a.classNew(), a.classEnrol(), a.classList(), a.classReviewCommand(), a.classEffect(), a.classRemove(), a.classAssign(), a.classAssignments(), a.classGrades(), a.classExport(), a.classImport())
	return c
}

// enrolFlags say whom to enrol besides those named on the command line.
type enrolFlags struct {
	roster, role string
	columns      transfer.RosterColumns
	dry          bool
}

func (e *enrolFlags) flags(c *cobra.Command) {
	c.Flags().StringVar(&e.roster, "roster", "", "a `file` of people as schools have it: parted by commas, semicolons or tabs, with names and, if you like, numbers, e-mail addresses and roles; \"-\" for standard input")
	c.Flags().StringSliceVar(&e.columns.Name, "name-columns", nil, "which `columns` of the roster make up the name, given name first, where its header does not say so in words that are known")
	c.Flags().StringVar(&e.columns.Number, "id-column", "", "which `column` of the roster holds people's own numbers")
	c.Flags().BoolVar(&e.columns.Skip, "skip", false, "take the lines of the roster that can be read, and name those that cannot")
	c.Flags().BoolVar(&e.dry, "dry-run", false, "say what would be done, and do nothing")
	c.Flags().StringVar(&e.role, "role", "", "what those named here are: `learner|lead|instructor` (default: as they were, new ones learner)")
	completeWords(c, "role", []string{string(scoring.RoleLearner), string(scoring.RoleLead), string(scoring.RoleInstructor)})
}

// errDry takes back what was only tried.
var errDry = errors.New("only tried")

func (e *enrolFlags) undo() error {
	if e.dry {
		return errDry
	}
	return nil
}

// entries are those named on the command line, then those of the roster.
func (e *enrolFlags) entries(a *app, names []string) ([]transfer.Entry, error) {
	var list []transfer.Entry
	var role scoring.Role
	if e.role != "" {
		var err error
		if role, err = record.CheckRole(scoring.Role(strings.ToLower(e.role))); err != nil {
			return nil, &told.Usage{Err: err}
		}
	}
	for _, name := range names {
		if files.LooksLikeOne(name) {
			return nil, told.Misused("shadedrill class enrol CLASS --roster "+name, "%s is a file, and would be entered as a person of that name", name)
		}
		clean, err := record.CleanName(name)
		if err != nil {
			return nil, told.Within(fmt.Sprintf("%q", name), err)
		}
		list = append(list, transfer.Entry{Name: clean, Role: role})
	}
	if e.roster == "" {
		return list, nil
	}
	in, err := files.Open(e.roster, a.stdin)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	more, err := transfer.ReadRoster(in, e.columns)
	if err != nil {
		return nil, told.Within(named(e.roster), err)
	}
	for _, line := range more.Notes {
		a.note("%s: %s", named(e.roster), line)
	}
	for _, line := range more.Skipped {
		a.note("%s: left out: %s", named(e.roster), line)
	}
	return append(list, more.Entries...), nil
}

func (a *app) classNew() *cobra.Command {
	var who enrolFlags
	c := &cobra.Command{
		Use:   "new NAME [PERSON...]",
		Short: "Make a class, empty or with people in it",
		Example: `  shadedrill class new "Monday group"
  shadedrill class new "Monday group" --roster students.csv`,
		Args: atLeast("a name for the class"),
	}
	who.flags(c)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if _, err := record.CleanName(args[0]); err != nil {
			return told.Within(fmt.Sprintf("%q", args[0]), err)
		}
		entries, err := who.entries(a, args[1:])
		if err != nil {
			return err
		}
		ctx := cmd.Context()
		book, err := a.bookToTry(ctx, who.dry)
		if err != nil {
			return err
		}
		var class scoring.Class
		var done transfer.Enrolled
		err = book.Merge(ctx, func(m record.Book) (err error) {
			if class, err = m.AddClass(ctx, scoring.Class{Name: args[0], At: a.now()}); err != nil {
				return err
			}
			if done, err = transfer.Enrol(ctx, m, class.ID, entries, a.now()); err == nil {
				err = who.undo()
			}
			return err
		})
		if err != nil && !errors.Is(err, errDry) {
			return err
		}
		if who.dry {
			a.say("Nothing is done yet. The class %s would be made.", class.Name)
		} else {
			a.say("The class %s is made.", class.Name)
		}
		a.sayEnrolled(class, done)
		return nil
	}
	return c
}

func (a *app) classEnrol() *cobra.Command {
	var who enrolFlags
	c := &cobra.Command{
		Use:   "enrol CLASS [PERSON...]",
		Short: "Put people into a class, by name or from a roster",
		Long: `Put people into a class, by name or from a roster. Whoever the book knows by that
number or name is taken, whoever it does not know is made. All of them or, when a
name or a line is bad, none (--skip takes the others). --dry-run shows first what a
roster would do.`,
		Example: `  shadedrill class enrol "Monday group" "Ada Finch" "Ben Moor"
  shadedrill class enrol "Monday group" --roster students.csv --dry-run
  shadedrill class enrol Monday --roster list.txt --name-columns Given,Family
  shadedrill class enrol "Monday group" "Cy Vale" --role instructor`,
		Args:              atLeast("a class"),
		ValidArgsFunction: a.completeClass,
	}
	who.flags(c)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if len(args) == 1 && who.roster == "" {
			return told.Misused("name them, or a file with --roster", "nobody to enrol is named")
		}
		entries, err := who.entries(a, args[1:])
		if err != nil {
			return err
		}
		ctx := cmd.Context()
		book, class, err := a.readClass(ctx, args[0])
		if err != nil {
			return err
		}
		var done transfer.Enrolled
		err = book.Merge(ctx, func(m record.Book) (err error) {
			if done, err = transfer.Enrol(ctx, m, class.ID, entries, a.now()); err == nil {
				err = who.undo()
			}
			return err
		})
		if err != nil && !errors.Is(err, errDry) {
			return err
		}
		if who.dry {
			a.say("Nothing is done yet. This would be done:")
		}
		a.sayEnrolled(class, done)
		return nil
	}
	return c
}

func (a *app) sayEnrolled(class scoring.Class, done transfer.Enrolled) {
	if done.Added+done.There > 0 {
		a.say("%s enrolled in %s, of whom %d new in the book; %d on the roster already.", people(done.Added), class.Name, len(done.New), done.There)
	}
	if len(done.New) > 0 {
		a.say("%s", "New: "+strings.Join(done.New, ", "))
	}
	if len(done.Roles) > 0 {
		a.say("%s", "Role changed: "+strings.Join(done.Roles, ", "))
	}
	if len(done.Changed) > 0 {
		a.say("%s", "Number or address entered: "+strings.Join(done.Changed, ", "))
	}
	if len(done.Called) > 0 {
		a.say("%s", "Found by number: "+strings.Join(done.Called, "; "))
	}
	for _, n := range done.Alike {
		a.note("%s looks like %s, and is written with letters of another script: see \"shadedrill people merge\"", n.There, n.Here)
	}
}

// people counts them in words.
func people(n int) string { return scoring.Count(n, "person", "people") }

func (a *app) classList() *cobra.Command {
	c := &cobra.Command{
		Use:   "list [CLASS]",
		Short: "List the classes, or who is in one",
		Example: `  shadedrill class list
  shadedrill class list "Monday group" --format csv -o students.csv`,
		Args:              atMost(1),
		ValidArgsFunction: a.completeClass,
	}
	out := a.reportFlags(c)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if _, err := out.check(); err != nil {
			return err
		}
		ctx := cmd.Context()
		if len(args) == 1 {
			book, class, err := a.readClass(ctx, args[0])
			if err != nil {
				return err
			}
			return out.write(classes.Roster(ctx, book, class))
		}
		book, err := a.readBook(ctx)
		if err != nil {
			return err
		}
		return out.write(classes.List(ctx, book))
	}
	return c
}

func (a *app) classRemove() *cobra.Command {
	var yes bool
	c := &cobra.Command{
		Use:   "remove CLASS",
		Short: "Take a class out of the book, or with --learner a person off it; never an answer",
		Long: `Take a class out of the book with its roster and all that was laid down for it
alone: assignments, forms of the test, calibration sessions. Or take one person off its
roster, with --learner. People and answers stay in the book, but what went cannot be
reported on any more. To take out a class asks first; in a script --yes answers.`,
		Example: `  shadedrill class remove "Monday group" --learner "Ada Finch"
  shadedrill class remove "Monday group"`,
		Args:              exactly("a class"),
		ValidArgsFunction: a.completeClass,
	}
	yesFlag(c, &yes)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		ctx := cmd.Context()
		book, class, err := a.readClass(ctx, args[0])
		if err != nil {
			return err
		}
		roster, err := book.Roster(ctx, class.ID)
		if err != nil {
			return err
		}
		// The environment may name whoever sits here; only the flag means it.
		if name := a.flags.learner; name != "" {
			for _, p := range roster {
				if record.NameKey(p.Name) == record.NameKey(name) {
					if err := book.Unenrol(ctx, class.ID, p.ID, a.now()); err != nil {
						return err
					}
					a.say("%s is off the roster of %s; the answers stay in the book.", p.Name, class.Name)
					return nil
				}
			}
			hint := "nobody is on it"
			if len(roster) > 0 {
				hint = "on it are " + some(roster)
			}
			return told.Fail(hint, "%q is not on the roster of %s", name, class.Name)
		}
		what, err := classes.LaidDown(ctx, book, class)
		if err != nil {
			return err
		}
		if err := a.sure(yes, fmt.Sprintf("The class %s goes out of the book, with its roster of %s and %s, on which nothing can be reported then. People and answers stay in the book.",
			class.Name, people(len(roster)), what)); err != nil {
			return err
		}
		if err := book.RemoveClass(ctx, class.ID); err != nil {
			return err
		}
		a.say("The class %s is gone, with its roster of %s and %s; people and answers stay in the book.", class.Name, people(len(roster)), what)
		return nil
	}
	return c
}

// readClass opens the book and finds a class in it.
func (a *app) readClass(ctx context.Context, name string) (record.Store, scoring.Class, error) {
	book, err := a.readBook(ctx)
	if err != nil {
		return nil, scoring.Class{}, err
	}
	class, err := a.class(ctx, book, name)
	return book, class, err
}

// class finds a class in an open book.
func (a *app) class(ctx context.Context, book record.Book, name string) (scoring.Class, error) {
	class, err := book.ClassByName(ctx, name)
	if errors.Is(err, record.ErrNotFound) {
		hint := fmt.Sprintf("make it: shadedrill class new %q", name)
		if list, err := book.Classes(ctx); err == nil && len(list) > 0 {
			hint = "there is " + classNames(list)
		}
		return class, told.Fail(hint, "no class is called %q in the book %s", name, a.bookName())
	}
	return class, err
}

func classNames(list []scoring.Class) string {
	var names []scoring.Learner // named as people are
	for _, c := range list {
		names = append(names, scoring.Learner{Name: c.Name})
	}
	return some(names)
}

func (a *app) completeClass(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return a.completeLearner(cmd, nil, "")
	}
	book, err := a.readBook(cmd.Context())
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	list, err := book.Classes(cmd.Context())
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	var names []string
	for _, c := range list {
		names = append(names, c.Name)
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}
