package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/tests"
)

func (a *app) examReport() *cobra.Command {
	var name, class string
	var take int
	c := &cobra.Command{
		Use:   "report",
		Short: "Print a certificate of a form that was taken, or those of a whole class",
		Long: `Print a certificate of a form that was taken: the result, its level, what it proves
and what not. The answers are held against what the book wrote down as they came,
and the trials against the form.

With --class a page is written for each who took a form, into the folder that -o
names.`,
		Example: `  shadedrill exam report --form spring --learner Ada
  shadedrill exam report --form spring --learner Ada -o ada.html
  shadedrill exam report --class "Monday group" --form spring -o certificates`,
	}
	out := a.reportFlags(c)
	out.sectionFlag(c, "result", "worth", "parts", "yardstick", "conditions")
	c.Flags().StringVar(&name, "form", "", "`name` of the form (default: the one taken last; with --class all)")
	c.Flags().IntVar(&take, "take", 0, "of an open form which `taking`, 1 for the first (default: the last)")
	c.Flags().StringVar(&class, "class", "", "a page for each of this `class`, into the folder that -o names")
	c.RegisterFlagCompletionFunc("form", a.completeForm)
	c.RegisterFlagCompletionFunc("class", a.completeClass)
	c.RunE = func(cmd *cobra.Command, _ []string) error {
		ctx := cmd.Context()
		if class != "" {
			return a.classCertificates(ctx, class, name, out)
		}
		if _, err := out.check(); err != nil {
			return err
		}
		book, err := a.readBook(ctx)
		if err != nil {
			return err
		}
		who, err := a.person(ctx, book)
		if err != nil {
			return err
		}
		list, err := tests.Of(ctx, book, []scoring.Learner{who})
		if err != nil {
			return err
		}
		var asked *tests.Taking
		for i, t := range list {
			if takingOf(t, name) && (take == 0 || max(1, t.Ref.Take) == take) {
				asked = &list[i]
			}
		}
		if asked == nil {
			hint := "take one: shadedrill exam take"
			if len(list) > 0 {
				hint = "taken were " + takingWords(list)
			}
			what := "a form"
			if name != "" {
				what = "form " + name
			}
			return told.Fail(hint, "%s has not taken %s", who.Name, what)
		}
		return out.write(tests.Certificate(ctx, book, who, asked.Ref.String()))
	}
	return c
}

// takingOf says whether a taking is of a form of that name, or name and fingerprint;
// an empty one is any.
func takingOf(t tests.Taking, name string) bool {
	wanted, print, _ := strings.Cut(name, ".")
	return name == "" || record.NameKey(t.Ref.Name) == record.NameKey(wanted) && strings.HasPrefix(t.Ref.Print, print)
}

func takingWords(list []tests.Taking) string {
	var names []string
	for _, t := range list {
		words := t.Ref.Name
		if t.Ref.Take > 0 {
			words = fmt.Sprintf("%s (take %d)", t.Ref.Name, t.Ref.Take)
		}
		names = append(names, words)
	}
	return strings.Join(names, ", ")
}

// classCertificates writes a page for each taking of a form by somebody of a class.
func (a *app) classCertificates(ctx context.Context, class, form string, out *output) error {
	book, of, err := a.readClass(ctx, class)
	if err != nil {
		return err
	}
	people, err := book.Roster(ctx, of.ID)
	if err != nil {
		return err
	}
	list, err := tests.Of(ctx, book, people)
	if err != nil {
		return err
	}
	var pages []pageOf
	for _, t := range list {
		if takingOf(t, form) {
			pages = append(pages, pageOf{t.Who.Name + " " + t.Ref.Name, func() (report.Report, error) {
				return tests.Certificate(ctx, book, t.Who, t.Ref.String())
			}})
		}
	}
	if len(pages) == 0 {
		return told.Fail("who took what: shadedrill exam list --class "+fmt.Sprintf("%q", of.Name), "nobody of class %s has taken it", of.Name)
	}
	if err := out.pages(pages); err != nil {
		return err
	}
	a.say("%s in the folder %s.", scoring.Count(len(pages), "certificate", "certificates"), out.Path)
	return nil
}

func (a *app) examList() *cobra.Command {
	var class string
	c := &cobra.Command{
		Use:   "list",
		Short: "List the forms of the test, and who took them with what result",
		Example: `  shadedrill exam list --learner Ada
  shadedrill exam list --class "Monday group" --format csv`,
	}
	out := a.reportFlags(c)
	c.Flags().StringVar(&class, "class", "", "only those of this `class`")
	c.RegisterFlagCompletionFunc("class", a.completeClass)
	c.RunE = func(cmd *cobra.Command, _ []string) error {
		if _, err := out.check(); err != nil {
			return err
		}
		ctx := cmd.Context()
		book, err := a.readBook(ctx)
		if err != nil {
			return err
		}
		people, err := book.Learners(ctx)
		if err != nil {
			return err
		}
		forms, err := book.Forms(ctx)
		if err != nil {
			return err
		}
		if class != "" {
			of, err := a.class(ctx, book, class)
			if err != nil {
				return err
			}
			if people, err = book.Roster(ctx, of.ID); err != nil {
				return err
			}
			forms = slices.DeleteFunc(forms, func(f record.Form) bool { return f.Class != "" && f.Class != of.ID })
		}
		if a.learnerName() != "" {
			who, err := a.person(ctx, book)
			if err != nil {
				return err
			}
			people = []scoring.Learner{who}
			if forms, err = record.FormsFor(ctx, book, who.ID); err != nil {
				return err
			}
		}
		return out.write(tests.List(ctx, book, people, forms))
	}
	return c
}
