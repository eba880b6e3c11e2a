package main

import (
	"bufio"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/scoring/report"
)

// output is where and how a report goes: the flags --format and --output.
type output struct {
	a            *app
	format, file string
	section      string
}

// reportFlags gives a command the flags of a report.
func (a *app) reportFlags(c *cobra.Command) *output {
	o := &output{a: a}
	names := strings.Split(reportFormats(), "|")
	c.Flags().StringVar(&o.format, "format", "", "write the report as `"+reportFormats()+"` (default: by the ending of the output file, else text)")
	c.Flags().StringVarP(&o.file, "output", "o", "", "write to this `file` instead of standard output")
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

// check reads the format before any work is done.
func (o *output) check() (report.Format, error) {
	name := o.format
	if name == "" {
		name = string(report.FormatText)
		ending := strings.TrimPrefix(strings.ToLower(filepath.Ext(o.file)), ".")
		if f, err := report.ParseFormat(ending); err == nil {
			name = string(f)
		}
	}
	f, err := report.ParseFormat(name)
	if err != nil {
		return "", &usage{err}
	}
	return f, nil
}

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
	if o.file == "" {
		return report.Write(o.a.stdout, r, f, report.Layout{Width: o.a.width})
	}
	return writeFile(o.file, func(w io.Writer) error {
		return report.Write(w, r, f, report.Layout{Width: 100})
	})
}

func cut(r report.Report, key string) (report.Report, error) {
	var keys []string
	for _, s := range r.Sections {
		if s.Key == key {
			r.Sections = []report.Section{s}
			return r, nil
		}
		keys = append(keys, s.Key)
	}
	return r, misused("this report has "+strings.Join(keys, ", "), "there is no section %q here", key)
}

// writeTo sends content to a file, or without one to standard output.
func (a *app) writeTo(file string, content func(io.Writer) error) error {
	if file != "" {
		return writeFile(file, content)
	}
	out := bufio.NewWriter(a.stdout)
	if err := content(out); err != nil {
		return err
	}
	return out.Flush()
}

// writeFile puts a whole file in its place or none: what stood there before
// stays until the new content is complete.
func writeFile(path string, content func(io.Writer) error) error {
	temporary, err := os.CreateTemp(filepath.Dir(path), ".shadedrill-*")
	if err != nil {
		return fail("the folder must be there, and you must be allowed to write in it", "cannot write %s: %w", path, reason(err))
	}
	out := bufio.NewWriter(temporary)
	writing := content(out)
	if err = writing; err == nil {
		err = out.Flush()
	}
	if closing := temporary.Close(); err == nil {
		err = closing
	}
	if err == nil {
		err = os.Chmod(temporary.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(temporary.Name(), path)
	}
	if err != nil {
		os.Remove(temporary.Name())
		if writing != nil {
			return writing
		}
		return fail("the folder must be there, and you must be allowed to write in it", "cannot write %s: %w", path, reason(err))
	}
	return nil
}
