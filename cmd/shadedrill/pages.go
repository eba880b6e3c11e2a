package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/learners"
)

// pageOf is one of many reports that go into a folder, each a file of its own.
type pageOf struct {
	name string // of the file, without its ending
	make func() (report.Report, error)
}

// pages writes a page each, with a bar. HTML where nothing else is asked for.
func (o *output) pages(list []pageOf) error {
	switch {
	case o.path == "":
		return misused("such as -o pages", "--class writes a page for each, and needs a folder to put them in")
	case o.section != "":
		return misused("leave it out", "--section does not go with --class: each page is whole")
	}
	format := report.FormatHTML
	if o.format != "" {
		var err error
		if format, err = report.ParseFormat(o.format); err != nil {
			return &usage{err}
		}
	}
	if isBook(o.path) {
		return fail("name a folder", "%s is a book", o.path)
	}
	if err := os.MkdirAll(o.path, 0o700); err != nil {
		return fail("name a folder that you may write to", "cannot make the folder %s: %w", o.path, reason(err))
	}
	ending := string(format)
	if format == report.FormatText {
		ending = "txt"
	}
	bar := o.a.progressBar(len(list), "writing")
	used := map[string]bool{}
	for i, p := range list {
		r, err := p.make()
		if err != nil {
			bar.finish()
			return err
		}
		page := target{path: filepath.Join(o.path, pageFile(p.name, used)+"."+ending), force: o.force}
		err = page.write(func(w io.Writer) error {
			return report.Write(w, r, format, report.Layout{Width: 100})
		})
		if err != nil {
			bar.finish()
			return err
		}
		bar.Set(i + 1)
	}
	bar.finish()
	return nil
}

// pageFile is a file name of letters and digits that no other page of the folder has.
func pageFile(name string, used map[string]bool) string {
	plain := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || r == '-' {
			return r
		}
		return '_'
	}, name)
	for n := 1; ; n++ {
		name := plain
		if n > 1 {
			name = fmt.Sprintf("%s-%d", plain, n)
		}
		if key := record.NameKey(name); !used[key] {
			used[key] = true
			return name
		}
	}
}

// classProgress writes the tables of everybody in a class, a page each.
func (a *app) classProgress(ctx context.Context, class string, f record.Filter, checked bool, out *output) error {
	if a.flags.learner != "" {
		return misused("leave one of them out", "--class and --learner do not go together")
	}
	book, of, err := a.readClass(ctx, class)
	if err != nil {
		return err
	}
	roster, err := book.Roster(ctx, of.ID)
	if err != nil {
		return err
	}
	if len(roster) == 0 {
		return fail("put people into it: shadedrill class enrol", "nobody is in the class %s", of.Name)
	}
	var list []pageOf
	for _, p := range roster {
		list = append(list, pageOf{p.Name, func() (report.Report, error) { return learners.Progress(ctx, book, p, f, a.now(), checked) }})
	}
	if err := out.pages(list); err != nil {
		return err
	}
	fmt.Fprintf(a.stdout, "A page for each of %s of class %s in the folder %s.\n", people(len(list)), of.Name, out.path)
	return nil
}
