package main

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/files"
	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring/report"
)

// output is where and how a report goes: the flags --format and --output.
type output struct {
	a      *app
	format string
	files.Target
	section string
}

// reportFlags gives a command the flags of a report.
func (a *app) reportFlags(c *cobra.Command) *output {
	o := &output{a: a}
	names := strings.Split(reportFormats(), "|")
	c.Flags().StringVar(&o.format, "format", "", "write the report as `"+reportFormats()+"` (default: by the ending of the output file, else text)")
	targetFlags(c, &o.Target)
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
	if o.Path != "" {
		if _, _, err := o.Place(); err != nil {
			return "", err
		}
	}
	return o.ReportFormat(o.format)
}

// targetFlags gives a command the flags of a file that it writes.
func targetFlags(c *cobra.Command, t *files.Target) {
	c.Flags().StringVarP(&t.Path, "output", "o", "", "write to this `file` instead of standard output; one that is there is replaced if it is the same report or export, else only with --force")
	c.Flags().BoolVar(&t.Force, "force", false, "replace whatever file is there (never a book)")
}

// write sends a report where it belongs, or returns why it could not be made.
func (o *output) write(r report.Report, err error) error {
	if err != nil {
		return err
	}
	f, err := o.check()
	if err != nil {
		return err
	}
	if o.section != "" {
		if r, err = cut(r, o.section); err != nil {
			return err
		}
	}
	if o.Path == "" {
		return report.Write(o.a.stdout, r, f, report.Layout{Width: o.a.width})
	}
	return o.Target.Write(func(w io.Writer) error {
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
	return r, told.Misused("this report has "+strings.Join(keys, ", "), "there is no section %q here", key)
}

// writeTo sends content to a file, or without one to standard output.
func (a *app) writeTo(t files.Target, content func(io.Writer) error) error {
	if t.Path != "" {
		return t.Write(content)
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
		told.Say(a.stderr, a.errorWidth, "note: "+fmt.Sprintf(format, args...))
	}
}

// say tells what was done. A line that ends with a command to be typed is printed as it is:
// it is copied.
func (a *app) say(format string, args ...any) {
	told.Say(a.stdout, a.width, fmt.Sprintf(format, args...))
}
