package main

import (
	"bufio"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/scoring/report"
)

// output is where and how a report goes: the flags --format and --output.
type output struct {
	a      *app
	format string
	target
	section string
}

// reportFlags gives a command the flags of a report.
func (a *app) reportFlags(c *cobra.Command) *output {
	o := &output{a: a}
	names := strings.Split(reportFormats(), "|")
	c.Flags().StringVar(&o.format, "format", "", "write the report as `"+reportFormats()+"` (default: by the ending of the output file, else text)")
	targetFlags(c, &o.target)
	c.RegisterFlagCompletionFunc("format", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return names, cobra.ShellCompDirectiveNoFileComp
	})
	return o
}

func reportFormats() string {
	var names []string
	for _, f := range report.Formats() {
		names = append(names, string(f))
	}
	return strings.Join(names, "|")
}

// sectionFlag lets a report of several tables be cut down to one.
func (o *output) sectionFlag(c *cobra.Command, keys ...string) {
	c.Flags().StringVar(&o.section, "section", "", "only this `table` of the report: "+strings.Join(keys, ", "))
	c.RegisterFlagCompletionFunc("section", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return keys, cobra.ShellCompDirectiveNoFileComp
	})
}

// check reads the format and the file before any work is done.
func (o *output) check() (report.Format, error) {
	name := string(report.FormatText)
	if o.format != "" {
		name = o.format
	}
	f, err := report.ParseFormat(name)
	if err != nil {
		return "", &usage{err}
	}
	if o.path != "" {
		if _, _, err := o.place(); err != nil {
			return "", err
		}
	}
	ending := ending(o.path)
	byEnding, known := reportEndings[ending]
	hint := "the formats are text (.txt), csv (.csv), json (.json) and html (.html), which a browser prints or saves as PDF"
	switch {
	case o.format == "" && known:
		f = byEnding
	case o.format == "" && ending != "", foreign[ending]:
		return "", misused(hint, "a report cannot be written as .%s", ending)
	case known && byEnding != f:
		return "", misused("leave --format out, or give the file the ending of the format", "--format %s does not fit the ending .%s", f, ending)
	}
	return f, nil
}

// ending is that of a file's name, in small letters and without its dot.
func ending(path string) string { return strings.TrimPrefix(strings.ToLower(filepath.Ext(path)), ".") }

var reportEndings = map[string]report.Format{"txt": report.FormatText, "text": report.FormatText, "csv": report.FormatCSV,
	"json": report.FormatJSON, "html": report.FormatHTML, "htm": report.FormatHTML}

// foreign are endings that would promise what no format of ours keeps, even where --format says
// which one is meant.
var foreign = map[string]bool{"pdf": true, "xlsx": true, "xls": true, "ods": true, "doc": true, "docx": true, "odt": true, "rtf": true,
	"db": true, "sqlite": true, "zip": true, "gz": true, "png": true, "jpg": true, "jpeg": true, "svg": true}

// write sends a report where it belongs.
func (o *output) write(r report.Report) error {
	f, err := o.check()
	if err != nil {
		return err
	}
	if o.section != "" {
		if r, err = cut(r, o.section); err != nil {
			return err
		}
	}
	if o.path == "" {
		return report.Write(o.a.stdout, r, f, report.Layout{Width: o.a.width})
	}
	return o.target.write(func(w io.Writer) error {
		return report.Write(w, r, f, report.Layout{}) // the same file from every terminal
	})
}

func cut(r report.Report, key string) (report.Report, error) {
	var keys []string
	for _, s := range r.Sections {
		if s.Key == key {
			r.Sections = []report.Section{s}
			r.List = true
			return r, nil
		}
		keys = append(keys, s.Key)
	}
	return r, misused("this report has "+strings.Join(keys, ", "), "there is no section %q here", key)
}

// writeTo sends content to a file, or without one to standard output.
func (a *app) writeTo(t target, content func(io.Writer) error) error {
	if t.path != "" {
		return t.write(content)
	}
	out := bufio.NewWriter(a.stdout)
	if err := content(out); err != nil {
		return err
	}
	return out.Flush()
}

// note tells on standard error what is worth knowing and stops nothing.
func (a *app) note(format string, args ...any) {
	if !a.flags.quiet {
		fmt.Fprintf(a.stderr, "note: "+format+"\n", args...)
	}
}
