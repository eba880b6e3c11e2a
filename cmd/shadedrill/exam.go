package main

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
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
gives the median error and the biases. Naming exercises or a library makes a form
of those alone, with tabs for targets.`,
		Example: `  shadedrill exam take --form A
  shadedrill exam take --form B --items 40
  shadedrill exam take --form spring --exercises value-first,try-in`,
	}
	c.Flags().StringVar(&name, "form", "A", "`name` of the form")
	c.Flags().IntVar(&items, "items", scoring.UsualItems, "`number` of items of each part")
	c.Flags().StringSliceVar(&kinds, "exercises", []string{string(exercises.ValueFirst)}, "make a form of these `exercises`, with commas between")
	completeWords(c, "exercises", strings.Split(kindNames(), ", "))
	c.RunE = func(cmd *cobra.Command, _ []string) error {
		test, err := a.testOf(cmd, name, kinds, items)
		if err != nil {
			return err
		}
		return a.takeTest(cmd.Context(), test)
	}
	return c
}

// testOf is the form asked for. The usual one has a part of its own for errors and
// bias; naming exercises or a library makes a form of just those, with the coarse
// library where none is named: its tabs lie far enough apart that a trained eye can
// tell them all, so that the share right means something.
func (a *app) testOf(c *cobra.Command, name string, kinds []string, items int) (scoring.Set, error) {
	given := c.Flags().Changed
	if !given("exercises") && !given("library") {
		test, err := scoring.StandardTest(name, items)
		if err != nil {
			return test, misread(err, c.CommandPath())
		}
		return test, nil
	}
	test, err := a.testNamed(c, name, kinds, items)
	if err != nil {
		return test, err
	}
	// What cannot be asked is said before the trainer opens.
	for _, setup := range test.Parts {
		if _, err := exercises.NewRun(setup); err != nil {
			return test, err
		}
	}
	return test, nil
}

// examLibrary is the one asked for, or the coarse one.
func (a *app) examLibrary(c *cobra.Command) string {
	if c.Flags().Changed("library") {
		return a.flags.library
	}
	return "starter"
}

// testNamed is a form of named exercises.
func (a *app) testNamed(c *cobra.Command, name string, kinds []string, items int) (scoring.Set, error) {
	var ids []exercises.KindID
	for _, k := range kinds {
		kind, err := kindNamed(strings.TrimSpace(k))
		if err != nil {
			return scoring.Set{}, err
		}
		ids = append(ids, kind.ID())
	}
	library, err := loadLibrary(a.examLibrary(c))
	if err != nil {
		return scoring.Set{}, err
	}
	test, err := scoring.NewTestOf(name, ids, items, tabs.NewSheet(library, nil))
	if err != nil {
		return test, misread(err, "shadedrill exam take")
	}
	return test, nil
}

// takeTest shows the trainer with the test, and prints the certificate once a part
// has been ended.
func (a *app) takeTest(ctx context.Context, test scoring.Set) error {
	if err := trainer.Refuse(a.getenv); err != nil {
		return err
	}
	book, err := a.useBook(ctx)
	if err != nil {
		return err
	}
	before := a.now().Truncate(time.Millisecond)
	if err := a.takeSet(ctx, book, test); err != nil {
		return err
	}
	// Who took it may have been asked in the trainer.
	sittings, err := book.Sittings(ctx, record.Filter{})
	if err != nil {
		return err
	}
	var last *scoring.Sitting
	for i, s := range sittings {
		ref := s.Set()
		if ref.Kind == scoring.TestSet && ref.Name == test.Ref.Name && !s.Ended.Before(before) && (last == nil || s.Ended.After(last.Ended)) {
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
	r, err := tests.Certificate(ctx, book, who, last.Within, scoring.HouseCuts)
	if err != nil {
		return err
	}
	out := &output{a: a}
	if err := out.write(r); err != nil {
		return err
	}
	a.note("as a page to print: shadedrill exam report --form %s --learner %q -o certificate.html", test.Ref.Name, who.Name)
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
	c.Flags().IntVar(&take, "take", 0, "which `taking` of the form, 1 for the first (default: the last)")
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
		taken, err := record.Taken(ctx, book, who.ID, scoring.TestSet)
		if err != nil {
			return err
		}
		var asked scoring.SetRef
		for _, t := range taken {
			if t.Name == name && (take == 0 || t.Take == take) {
				asked = t
			}
		}
		if asked == (scoring.SetRef{}) {
			hint := "take it: shadedrill exam take --form " + name
			if len(taken) > 0 {
				hint = "taken were " + formsTaken(taken)
			}
			return fail(hint, "%s has not taken form %s", who.Name, name)
		}
		r, err := tests.Certificate(ctx, book, who, asked.String(), cuts)
		if err != nil {
			return err
		}
		return out.write(r)
	}
	return c
}

func formsTaken(list []scoring.SetRef) string {
	var names []string
	for _, t := range list {
		names = append(names, fmt.Sprintf("%s (take %d)", t.Name, t.Take))
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
