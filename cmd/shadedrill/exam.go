package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/exam"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/tests"
	"shadedrill/trainer"
)

func (a *app) examCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "exam",
		Short: "The proficiency test: take it, list what was taken, print a certificate",
		Long: `The proficiency test: a fixed number of items, the same for everybody who takes
the form, no comment before the end, fixed viewing conditions, nothing adapts. The
result says what it can claim and what it cannot.`,
		Example: `  shadedrill exam take --form A --learner Ada
  shadedrill exam list
  shadedrill exam report --form A --learner Ada -o ada.html`,
	}
	c.AddCommand(a.examTake(), a.examReport(), a.examList())
	return c
}

func (a *app) examTake() *cobra.Command {
	var name string
	var items int
	var kinds []string
	c := &cobra.Command{
		Use:   "take",
		Short: "Take a form of the test, or go on with one that was broken off",
		Long: `Take a form of the test, or go on with one that was broken off. The name of the
form decides its items: another name is a parallel form. Library, exercises and
number of items belong to it as well; say the same ones to everybody.

The usual form has two parts. In the first the targets are exactly tabs of the
library "starter", which a trained eye can all tell apart: it gives the share
right. In the second they are any tooth colour, with the library "natural": it
gives the median error and the leans. Naming exercises or a library makes a form
of those alone, with tabs for targets.`,
		Example: `  shadedrill exam take --form A
  shadedrill exam take --form B --items 40
  shadedrill exam take --form spring --exercises value-first,try-in`,
	}
	c.Flags().StringVar(&name, "form", "A", "`name` of the form")
	c.Flags().IntVar(&items, "items", exam.UsualItems, "`number` of items of each part")
	c.Flags().StringSliceVar(&kinds, "exercises", []string{string(exercises.ValueFirst)}, "make a form of these `exercises`, with commas between")
	completeWords(c, "exercises", strings.Split(kindNames(), ", "))
	c.RunE = func(cmd *cobra.Command, _ []string) error {
		e, err := a.examOf(cmd, name, kinds, items)
		if err != nil {
			return err
		}
		if err := trainer.Refuse(a.getenv); err != nil {
			return err
		}
		return a.takeExam(cmd.Context(), e)
	}
	return c
}

// examOf is the form asked for. The usual one has a part of its own for errors and
// leans; naming exercises or a library makes a form of just those, with the coarse
// library where none is named: its tabs lie far enough apart that a trained eye can
// tell them all, so that the share right means something.
func (a *app) examOf(c *cobra.Command, name string, kinds []string, items int) (trainer.Exam, error) {
	given := c.Flags().Changed
	if !given("exercises") && !given("library") {
		e, err := trainer.StandardExam(name, items)
		if err != nil {
			return e, misread(err, c.CommandPath())
		}
		return e, nil
	}
	form, err := formOf(name, kinds, items)
	if err != nil {
		return trainer.Exam{}, err
	}
	library, err := loadLibrary(a.examLibrary(c))
	if err != nil {
		return trainer.Exam{}, err
	}
	e := trainer.Exam{Form: form, Sheet: tabs.NewSheet(library, nil)}
	// What cannot be asked is said before the trainer opens.
	for _, setup := range form.Setups(e.Sheet) {
		if _, err := exercises.NewRun(setup); err != nil {
			return e, err
		}
	}
	return e, nil
}

// examLibrary is the one asked for, or the coarse one.
func (a *app) examLibrary(c *cobra.Command) string {
	if c.Flags().Changed("library") {
		return a.flags.library
	}
	return "starter"
}

func formOf(name string, kinds []string, items int) (exam.Form, error) {
	var ids []exercises.KindID
	for _, k := range kinds {
		kind, err := kindNamed(strings.TrimSpace(k))
		if err != nil {
			return exam.Form{}, err
		}
		ids = append(ids, kind.ID())
	}
	form, err := exam.NewForm(name, ids, items)
	if err != nil {
		return form, misread(err, "shadedrill exam take")
	}
	return form, nil
}

// takeExam shows the trainer with the form, and prints the certificate once a part
// has been ended.
func (a *app) takeExam(ctx context.Context, e trainer.Exam) error {
	book, err := a.useBook(ctx)
	if err != nil {
		return err
	}
	before := a.now().Truncate(time.Millisecond)
	if err := a.train(ctx, trainer.Config{Book: book, Exam: &e}); err != nil {
		return err
	}
	// Who took it may have been asked in the trainer.
	sittings, err := book.Sittings(ctx, record.Filter{})
	if err != nil {
		return err
	}
	var last *scoring.Sitting
	for i, s := range sittings {
		form, _, ok := exam.ParseWithin(s.Within)
		if ok && form == e.Form.Name && !s.Ended.Before(before) && (last == nil || s.Ended.After(last.Ended)) {
			last = &sittings[i]
		}
	}
	if last == nil {
		return nil
	}
	who, err := book.Learner(ctx, last.Learner)
	if err != nil {
		return err
	}
	r, err := tests.Certificate(ctx, book, who, last.Within, exam.HouseCuts)
	if err != nil {
		return err
	}
	out := &output{a: a}
	if err := out.write(r); err != nil {
		return err
	}
	fmt.Fprintf(a.stderr, "note: as a page to print: shadedrill exam report --form %s --learner %q -o certificate.html\n", e.Form.Name, who.Name)
	return nil
}

func (a *app) examReport() *cobra.Command {
	var name string
	var take int
	var limits cutFlags
	c := &cobra.Command{
		Use:   "report",
		Short: "Print a certificate of a form that was taken",
		Example: `  shadedrill exam report --form A --learner Ada
  shadedrill exam report --form A --learner Ada -o ada.html
  shadedrill exam report --form A --superior 90 --average 80 --format json`,
	}
	out := a.reportFlags(c)
	out.sectionFlag(c, "result", "parts", "yardstick", "conditions")
	c.Flags().StringVar(&name, "form", "A", "`name` of the form")
	c.Flags().IntVar(&take, "take", 0, "the how-many-eth `time` it was taken (default: the last)")
	limits.flags(c)
	c.RunE = func(cmd *cobra.Command, _ []string) error {
		if _, err := out.check(); err != nil {
			return err
		}
		cuts, err := limits.cuts(cmd)
		if err != nil {
			return err
		}
		ctx := cmd.Context()
		book, err := a.readBook(ctx)
		if err != nil {
			return err
		}
		who, err := a.person(ctx, book)
		if err != nil {
			return err
		}
		taken, err := examsOf(ctx, book, who.ID)
		if err != nil {
			return err
		}
		within := ""
		for _, t := range taken {
			if t.form == name && (take == 0 || t.take == take) {
				within = t.within
			}
		}
		if within == "" {
			hint := "take it: shadedrill exam take --form " + name
			if len(taken) > 0 {
				hint = "taken were " + formsTaken(taken)
			}
			return fail(hint, "%s has not taken form %s", who.Name, name)
		}
		r, err := tests.Certificate(ctx, book, who, within, cuts)
		if err != nil {
			return err
		}
		return out.write(r)
	}
	return c
}

// takenExam is one taking of a form.
type takenExam struct {
	form, within string
	take         int
}

// examsOf lists what a person took, oldest first.
func examsOf(ctx context.Context, book record.Book, who scoring.LearnerID) ([]takenExam, error) {
	sittings, err := book.Sittings(ctx, record.Filter{Learner: who})
	if err != nil {
		return nil, err
	}
	var list []takenExam
	for _, s := range sittings {
		form, take, ok := exam.ParseWithin(s.Within)
		if ok && !slices.ContainsFunc(list, func(t takenExam) bool { return t.within == s.Within }) {
			list = append(list, takenExam{form, s.Within, take})
		}
	}
	return list, nil
}

func formsTaken(list []takenExam) string {
	var names []string
	for _, t := range list {
		names = append(names, fmt.Sprintf("%s (take %d)", t.form, t.take))
	}
	return strings.Join(names, ", ")
}

func (a *app) examList() *cobra.Command {
	c := &cobra.Command{
		Use:     "list",
		Short:   "List the forms that were taken, everybody's or one learner's",
		Example: "  shadedrill exam list --learner Ada",
	}
	var limits cutFlags
	limits.flags(c)
	out := a.reportFlags(c)
	c.RunE = func(cmd *cobra.Command, _ []string) error {
		if _, err := out.check(); err != nil {
			return err
		}
		cuts, err := limits.cuts(cmd)
		if err != nil {
			return err
		}
		ctx := cmd.Context()
		book, err := a.readBook(ctx)
		if err != nil {
			return err
		}
		var filter record.Filter
		if a.learnerName() != "" {
			who, err := a.person(ctx, book)
			if err != nil {
				return err
			}
			filter.Learner = who.ID
		}
		r, err := tests.List(ctx, book, filter, cuts)
		if err != nil {
			return err
		}
		return out.write(r)
	}
	return c
}
