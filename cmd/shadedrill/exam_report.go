package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"github.com/spf13/cobra"

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
			return fail(hint, "%s has not taken %s", who.Name, what)
		}
		r, err := tests.Certificate(ctx, book, who, asked.Ref.String())
		if err != nil {
			return err
		}
		return out.write(r)
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
	if out.path == "" {
		return misused("such as -o certificates", "--class writes a page for each, and needs a folder to put them in")
	}
	if out.section != "" {
		return misused("leave it out", "--section does not go with --class: each page is whole")
	}
	format := report.FormatHTML
	if out.format != "" {
		var err error
		if format, err = report.ParseFormat(out.format); err != nil {
			return &usage{err}
		}
	}
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
	kept := list[:0]
	for _, t := range list {
		if takingOf(t, form) {
			kept = append(kept, t)
		}
	}
	if len(kept) == 0 {
		return fail("who took what: shadedrill exam list --class "+fmt.Sprintf("%q", of.Name), "nobody of class %s has taken it", of.Name)
	}
	if err := os.MkdirAll(out.path, 0o700); err != nil {
		var path *os.PathError
		if errors.As(err, &path) {
			err = path.Err
		}
		return fail("name a folder that you may write to", "cannot make the folder %s: %w", out.path, err)
	}
	bar := a.progressBar(len(kept), "writing")
	used := map[string]bool{}
	for i, t := range kept {
		r, err := tests.Certificate(ctx, book, t.Who, t.Ref.String())
		if err != nil {
			return err
		}
		to := out.target
		to.path = filepath.Join(out.path, pageName(t, format, used))
		err = to.write(func(w io.Writer) error {
			return report.Write(w, r, format, report.Layout{Width: 100})
		})
		if err != nil {
			return err
		}
		bar.Set(i + 1)
	}
	bar.finish()
	fmt.Fprintf(a.stdout, "%s in the folder %s.\n", scoring.Count(len(kept), "certificate", "certificates"), out.path)
	return nil
}

// pageName is a file name of letters and digits that no other page of the folder has.
func pageName(t tests.Taking, format report.Format, used map[string]bool) string {
	plain := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || r == '-' {
			return r
		}
		return '_'
	}, t.Who.Name+" "+t.Ref.Name)
	ending := string(format)
	if format == report.FormatText {
		ending = "txt"
	}
	for n := 1; ; n++ {
		name := plain
		if n > 1 {
			name = fmt.Sprintf("%s-%d", plain, n)
		}
		if key := strings.ToLower(name); !used[key] {
			used[key] = true
			return name + "." + ending
		}
	}
}

func (a *app) examList() *cobra.Command {
	var class string
	c := &cobra.Command{
		Use:   "list",
		Short: "List the forms that were taken: everybody's, a class's, or one learner's",
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
		if class != "" && err == nil {
			var of scoring.Class
			if of, err = a.class(ctx, book, class); err == nil {
				people, err = book.Roster(ctx, of.ID)
			}
		}
		if err != nil {
			return err
		}
		if a.learnerName() != "" {
			who, err := a.person(ctx, book)
			if err != nil {
				return err
			}
			people = []scoring.Learner{who}
		}
		r, err := tests.List(ctx, book, people)
		if err != nil {
			return err
		}
		return out.write(r)
	}
	return c
}
