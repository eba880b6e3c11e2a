package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/files"
	"shadedrill/cmd/shadedrill/told"
	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/transfer"
)

// importFlags say how files are taken in.
func importFlags(c *cobra.Command, rules *transfer.Rules) {
	c.Flags().BoolVar(&rules.Roles, "roles", false, "take roles from the file too: without it nobody becomes a lead or an instructor by an import")
	c.Flags().BoolVar(&rules.Partial, "partial", false, "take what is there of a file that was cut off, and say so")
}

// takeIn imports files of answers, of classes or of both, each as a whole or not at all, and says what
// was done.
func (a *app) takeIn(cmd *cobra.Command, paths []string, format string, rules transfer.Rules) error {
	list, err := files.In(paths)
	if err != nil {
		return err
	}
	book, err := a.useBook(cmd.Context())
	if err != nil {
		return err
	}
	rules.At = a.now()
	names := a.names(cmd.Context(), book)
	if len(list) == 1 {
		done, err := a.takeInOne(cmd, book, list[0], format, rules, "importing")
		if err != nil {
			return err
		}
		a.sayImported(done, "", names)
		return nil
	}
	var all transfer.Imported
	var faults fault.List
	came := 0
	for i, file := range list {
		done, err := a.takeInOne(cmd, book, file, format, rules, fmt.Sprintf("importing %d of %d", i+1, len(list)))
		if err := cmd.Context().Err(); err != nil {
			return err
		}
		if err != nil {
			for _, line := range told.Lines(err) {
				faults.Add(fault.Wrap(fmt.Errorf("%s", line), fault.Hint(err)))
			}
			continue
		}
		came++
		a.sayImported(done, named(file)+": ", names)
		all.Rows, all.Added, all.Known, all.Learners = all.Rows+done.Rows, all.Added+done.Added, all.Known+done.Known, all.Learners+done.Learners
	}
	a.say("%d of %s taken in: %s, %d new, %d known already; %s.", came, scoring.Count(len(list), "file", "files"),
		scoring.Count(all.Rows, "answer", "answers"), all.Added, all.Known, scoring.Count(all.Learners, "new person", "new people"))
	if len(faults.Lines) > 0 {
		return &faults
	}
	return nil
}

func (a *app) takeInOne(cmd *cobra.Command, book record.Store, file, format string, rules transfer.Rules, doing string) (transfer.Imported, error) {
	f, err := files.ReadFormat(format, file, transfer.CSV, transfer.JSONLines)
	if err != nil {
		return transfer.Imported{}, err
	}
	in, err := files.Open(file, a.stdin)
	if err != nil {
		return transfer.Imported{}, err
	}
	defer in.Close()
	bar, counted := a.readingBar(in, doing)
	done, err := transfer.Import(cmd.Context(), book, counted, f, rules)
	bar.Finish()
	if err != nil {
		err = told.Within(named(file), err)
	}
	return done, err
}

// sayImported says what came of one file; before stands in front of the first line.
func (a *app) sayImported(done transfer.Imported, before string, names func(scoring.LearnerID) string) {
	fmt.Fprint(a.stdout, before)
	for _, class := range done.Classes {
		a.sayImportedClass(class, names)
	}
	newPeople := scoring.Count(done.Learners, "new person", "new people")
	if done.Rows > 0 {
		a.say("%s read: %d new, %d known already; %s.", scoring.Count(done.Rows, "answer", "answers"), done.Added, done.Known, newPeople)
	} else {
		a.say("No answers in the file; %s.", newPeople)
	}
	if done.Partial != "" {
		a.say("Taken in part: %s.", done.Partial)
	}
	if done.Short > 0 {
		a.say("Not all answers are here yet of %s: left open for the others.", scoring.Count(done.Short, "sitting", "sittings"))
	}
	if done.Own > 0 {
		a.say("Left out: %s to drills that were begun in this book and are not over; these go on here only.", scoring.Count(done.Own, "answer", "answers"))
	}
	for _, s := range done.Sets {
		what := "this book does not know it; they count once it comes in or is laid down here as it was there"
		if s.Otherwise {
			what = "here it asks something else under the same name, so they do not count for it"
		}
		name := fmt.Sprintf("the %s %s", s.Ref.Kind.Words().Noun, s.Ref.Name)
		if s.Ref.Kind == scoring.AssignmentSet { // its name is an identifier
			name = "an " + s.Ref.Kind.Words().Noun
		}
		a.say("%s to %s: %s.", scoring.Count(s.Answers, "answer belongs", "answers belong"), name, what)
	}
	if done.Unclosed {
		a.note("written by an earlier version of shadedrill: whether the file is whole cannot be told")
	}
	for _, name := range done.Renamed {
		a.say("%s", "Renamed, since the name was taken here: "+name)
	}
	for _, n := range done.Named {
		a.say("Called otherwise there: %s here is %s there", n.Here, n.There)
	}
	if done.Erased > 0 {
		a.say("Left out: %s of %s who were erased from this book.", scoring.Count(done.Left, "answer", "answers"), people(done.Erased))
	}
	for _, name := range done.NumbersNot {
		fmt.Fprintln(a.stdout, "Entered without a number, since another one has it here (if they are one person: shadedrill people merge): "+name)
	}
	for _, n := range done.Alike {
		a.note("%s looks like %s, and is written with letters of another script", n.There, n.Here)
	}
	for _, who := range done.RolesNot {
		a.say("%s", "Role not taken from the file (--roles takes it): "+who)
	}
	for _, who := range done.Roles {
		a.say("%s", "Role changed: "+who)
	}
	for _, who := range done.RolesKept {
		a.say("%s", "Role left as it is, since the one in the file is no later: "+who)
	}
}
