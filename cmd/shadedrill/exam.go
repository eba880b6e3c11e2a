package main

import (
	"cmp"
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/tests"
)

func (a *app) examCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "exam",
		Short: "The proficiency test: lay down a form, take it, list results, print certificates",
		Long: `The proficiency test: a fixed number of items, the same for everybody who takes
the form, no comment before the end, fixed viewing conditions, nothing adapts. A
form is laid down once and taken once by each. The result says what it can claim
and what it cannot.`,
		Example: `  shadedrill exam new spring
  shadedrill exam take --form spring --learner Ada
  shadedrill exam list
  shadedrill exam report --form spring --learner Ada -o ada.html`,
	}
	c.AddCommand(a.examNew(), a.examTake(), a.examReport(), a.examList())
	return c
}

func (a *app) examNew() *cobra.Command {
	var items int
	var kinds, levels []string
	var class string
	c := &cobra.Command{
		Use:   "new NAME",
		Short: "Lay down a form of the test: its items are drawn by chance and kept in the book",
		Long: `Lay down a form of the test. Its items are drawn by chance, kept in the book, and
travel with a class (class export). Nothing prints what decides them, and no
practice can ask them: a form cannot be rehearsed. Whoever holds a book with the
form can still read it out of the file, so hand it to those who take it on the day.
Each takes it once; for a second time lay down another form.

The usual form has two parts with the library "natural". In the first the targets
are exactly tabs, in the second any tooth colour. In both an answer is right that
is an acceptable match, no more than 1.8 ΔE00 from the target; the second part also
gives the median error and the biases. Naming exercises or a library makes a form
of those alone, with tabs for targets. A shade is right that is an acceptable match,
as in the usual form; what else is asked is judged as in practice.

What a share of right answers is called belongs to the form: say your own levels
with --level, best first, the last from 0. The usual ones are house choices.`,
		Example: `  shadedrill exam new spring
  shadedrill exam new spring --items 40 --class "Monday group"
  shadedrill exam new retake --level passed=80 --level "to be repeated=0"
  shadedrill exam new hands --exercises value-first,try-in`,
		Args: exactly("a name for the form"),
	}
	c.Flags().IntVar(&items, "items", scoring.UsualItems, "`number` of items of each part")
	c.Flags().StringSliceVar(&kinds, "exercises", []string{string(exercises.ValueFirst)}, "make a form of these `exercises`, with commas between")
	c.Flags().StringArrayVar(&levels, "level", nil, "a level and the percentage right from which it begins, `NAME=SHARE`; repeat it, best first (default for the usual form: "+usualLevels()+")")
	c.Flags().StringVar(&class, "class", "", "only the members of this `class` may take it")
	completeWords(c, "exercises", strings.Split(kindNames(), ", "))
	c.RegisterFlagCompletionFunc("class", a.completeClass)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if a.seeded {
			return told.Misused("leave it out", "a form is drawn by chance, and not by --seed: whoever knew the number could rehearse it")
		}
		test, err := a.testOf(cmd, args[0], kinds, items)
		if err != nil {
			return err
		}
		form := record.Form{Name: args[0], Levels: scoring.UsualCuts(test)}
		if len(levels) > 0 {
			if form.Levels, err = record.ReadLevels(levels); err != nil {
				return told.Misread(fmt.Errorf("--level: %w", err), "shadedrill exam new")
			}
		}
		if test, err = test.Drawn(a.chance); err != nil {
			return err
		}
		form.Parts, form.At = test.Parts, a.now()
		ctx := cmd.Context()
		book, err := a.useBook(ctx)
		if err != nil {
			return err
		}
		if class != "" {
			of, err := a.class(ctx, book, class)
			if err != nil {
				return err
			}
			form.Class = of.ID
		}
		if form, err = a.layDown(ctx, book, form); err != nil {
			return err
		}
		a.say("Form %s, fingerprint %s: %s.", form.Name, form.Print(), tests.FormWords(form))
		a.say("%s", capital(form.Levels.Words()))
		fmt.Fprintf(a.stdout, "Each takes it once, from the trainer's menu or with: shadedrill exam take --form %s --learner NAME\n", form.Name)
		return nil
	}
	return c
}

// layDown enters a form under a name that no form of this book has.
func (a *app) layDown(ctx context.Context, book record.Store, form record.Form) (laid record.Form, err error) {
	return laid, book.Merge(ctx, func(m record.Book) error {
		list, err := m.Forms(ctx)
		if err != nil {
			return err
		}
		for _, have := range list {
			if record.NameKey(have.Name) == record.NameKey(form.Name) {
				return told.Fail("choose another name: what was laid down once is not changed", "there is a form %s in the book already", have.Name)
			}
		}
		laid, err = record.LayDown(ctx, m, form)
		return err
	})
}

func usualLevels() string {
	var list []string
	for _, cut := range scoring.MatchCuts {
		list = append(list, fmt.Sprintf("%s=%.0f", cut.Level, 100*cut.From))
	}
	return strings.Join(list, ", ")
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func (a *app) examTake() *cobra.Command {
	var name string
	c := &cobra.Command{
		Use:   "take",
		Short: "Take a form of the test, or go on with one that was broken off",
		Long: `Take a form of the test, or go on with one that was broken off. A form is laid
down before, with "exam new", or comes with the class (import). It is taken once.`,
		Example: `  shadedrill exam take --form spring
  shadedrill exam take --form spring --learner Ada`,
	}
	c.Flags().StringVar(&name, "form", "", "`name` of the form (default: the only one there is)")
	c.RegisterFlagCompletionFunc("form", a.completeForm)
	c.RunE = func(cmd *cobra.Command, _ []string) error {
		ctx := cmd.Context()
		book, err := a.readBook(ctx)
		if err != nil {
			return err
		}
		form, err := a.form(ctx, book, name)
		if err != nil {
			return err
		}
		return a.takeTest(ctx, book, form.Set())
	}
	return c
}

// form finds a form of the book by its name, where two bear one by its name and
// fingerprint, such as spring.0f2a; without a name it is the only one.
func (a *app) form(ctx context.Context, book record.Book, name string) (record.Form, error) {
	list, err := book.Forms(ctx)
	if err != nil {
		return record.Form{}, err
	}
	var found []record.Form
	var named []string
	wanted, print, _ := strings.Cut(name, ".")
	for _, f := range list {
		named = append(named, f.Name)
		if name == "" || record.NameKey(f.Name) == record.NameKey(wanted) && strings.HasPrefix(f.Print(), print) {
			found = append(found, f)
		}
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(list) == 0:
		return record.Form{}, told.Fail("lay one down: shadedrill exam new "+cmp.Or(wanted, "spring"), "the book %s has no form of the test", a.bookName())
	case len(found) == 0:
		return record.Form{}, told.Fail("there are "+strings.Join(named, ", "), "the book %s has no form %s", a.bookName(), name)
	case name == "":
		return record.Form{}, told.Misused("say which with --form: "+strings.Join(named, ", "), "the book has %d forms", len(list))
	}
	var prints []string
	for _, f := range found {
		prints = append(prints, f.Name+"."+f.Print())
	}
	return record.Form{}, told.Misused("add the fingerprint: "+strings.Join(prints, " or "), "%d forms of the book are called %s", len(found), name)
}

func (a *app) completeForm(cmd *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
	book, err := a.readBook(cmd.Context())
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	list, err := book.Forms(cmd.Context())
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	var names []string
	for _, f := range list {
		names = append(names, f.Name)
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}

// testOf is the form asked for: the usual one, or, where exercises or a library are
// named, one of just those.
func (a *app) testOf(c *cobra.Command, name string, kinds []string, items int) (scoring.Set, error) {
	given := c.Flags().Changed
	if !given("exercises") && !given("library") {
		test, err := scoring.StandardTest(name, items)
		if err != nil {
			return test, told.Misread(err, c.CommandPath())
		}
		return test, nil
	}
	test, err := a.testNamed(name, kinds, items)
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

// testNamed is a form of named exercises.
func (a *app) testNamed(name string, kinds []string, items int) (scoring.Set, error) {
	var ids []exercises.KindID
	for _, k := range kinds {
		kind, err := kindNamed(strings.TrimSpace(k))
		if err != nil {
			return scoring.Set{}, err
		}
		ids = append(ids, kind.ID())
	}
	library, err := loadLibrary(a.flags.library)
	if err != nil {
		return scoring.Set{}, err
	}
	test, err := scoring.NamedTest(name, ids, items, tabs.NewSheet(library, nil))
	if err != nil {
		return test, told.Misread(err, "shadedrill exam new")
	}
	return test, nil
}

// takeTest shows the trainer with the test, and prints the certificate once a part
// has been ended.
func (a *app) takeTest(ctx context.Context, book record.Store, test scoring.Set) error {
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
		if s.Set() == test.Ref && !s.Ended.Before(before) && (last == nil || s.Ended.After(last.Ended)) {
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
	r, err := tests.Certificate(ctx, book, who, last.Within)
	if err != nil {
		return err
	}
	out := &output{a: a}
	if err := out.write(r, nil); err != nil {
		return err
	}
	a.note("as a page to print: shadedrill exam report --form %s --learner %q -o certificate.html", test.Ref.Name, who.Name)
	return nil
}
