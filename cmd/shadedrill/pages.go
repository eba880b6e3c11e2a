package main

import (
	"context"
	"io"
	"os"
	"path/filepath"

	"shadedrill/cmd/shadedrill/files"
	"shadedrill/cmd/shadedrill/told"
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
	case o.Path == "":
		return told.Misused("such as -o pages", "--class writes a page for each, and needs a folder to put them in")
	case o.section != "":
		return told.Misused("leave it out", "--section does not go with --class: each page is whole")
	}
	format := report.FormatHTML
	if o.format != "" {
		var err error
		if format, err = report.ParseFormat(o.format); err != nil {
			return &told.Usage{Err: err}
		}
	}
	if files.IsBook(o.Path) {
		return told.Fail("name a folder", "%s is a book", o.Path)
	}
	if err := os.MkdirAll(o.Path, 0o700); err != nil {
		return told.Fail("name a folder that you may write to", "cannot make the folder %s: %w", o.Path, told.Reason(err))
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
			bar.Finish()
			return err
		}
		page := files.Target{Path: filepath.Join(o.Path, files.PageName(p.name, used)+"."+ending), Force: o.Force}
		err = page.Write(func(w io.Writer) error {
			return report.Write(w, r, format, report.Layout{Width: 100})
		})
		if err != nil {
			bar.Finish()
			return err
		}
		bar.Set(i + 1)
	}
	bar.Finish()
	return nil
}

// classProgress writes the tables of everybody in a class, a page each.
func (a *app) classProgress(ctx context.Context, class string, f record.Filter, checked bool, out *output) error {
	if a.flags.learner != "" {
		return told.Misused("leave one of them out", "--class and --learner do not go together")
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
		return told.Fail("put people into it: shadedrill class enrol", "nobody is in the class %s", of.Name)
	}
	var list []pageOf
	for _, p := range roster {
		list = append(list, pageOf{p.Name, func() (report.Report, error) { return learners.Progress(ctx, book, p, f, a.now(), checked) }})
	}
	if err := out.pages(list); err != nil {
		return err
	}
	a.say("A page for each of %s of class %s in the folder %s.", people(len(list)), of.Name, out.Path)
	return nil
}
