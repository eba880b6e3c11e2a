package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/cases"
	"shadedrill/scoring/transfer"
)

// Exit codes.
const (
	exitFailure = 1
	exitUsage   = 2
)

// hinted is an error that knows what would mend it.
type hinted interface {
	error
	Hint() string
}

// usage is a command line that cannot be understood.
type usage struct {
	err     error
	command string
}

func (u *usage) Error() string { return u.err.Error() }
func (u *usage) Unwrap() error { return u.err }
func (u *usage) Hint() string {
	if h, ok := errors.AsType[hinted](u.err); ok {
		return h.Hint()
	}
	return fmt.Sprintf(`see "%s --help"`, u.command)
}

// failure is an error with a hint.
type failure struct {
	err  error
	hint string
}

func (f *failure) Error() string { return f.err.Error() }
func (f *failure) Unwrap() error { return f.err }
func (f *failure) Hint() string  { return f.hint }

func fail(hint, format string, args ...any) error {
	return &failure{fmt.Errorf(format, args...), hint}
}

// misused is a mistake in the command line that only a command's own check
// finds, such as a number out of range.
func misused(hint, format string, args ...any) error {
	return &usage{err: fail(hint, format, args...)}
}

// defect is a panic, told as one line.
type defect struct {
	what  any
	stack []byte
	show  bool
}

func (d *defect) Error() string { return fmt.Sprintf("internal error: %v", d.what) }
func (d *defect) Hint() string {
	return "this is a defect of shadedrill and no fault of yours; answers already given are in the book. SHADEDRILL_DEBUG=1 shows where"
}

// faults are the lines that say what is wrong: one, but for a file with several
// bad lines.
func faults(err error) []string {
	var list []string
	var within error
	if bad, ok := errors.AsType[*cases.Faults](err); ok {
		list, within = bad.Lines(), bad
	} else if bad, ok := errors.AsType[*transfer.Faults](err); ok {
		list, within = slices.Clone(bad.Lines), bad
		if bad.More > 0 {
			list = append(list, fmt.Sprintf("and %d more", bad.More))
		}
		list = append(list, bad.Outcome())
	}
	if bad, ok := errors.AsType[*damage](err); ok {
		return bad.lines()
	}
	if len(list) == 0 {
		return []string{err.Error()}
	}
	if what, _, found := strings.Cut(err.Error(), within.Error()); found {
		for i := range list {
			list[i] = what + list[i]
		}
	}
	return list
}

// explain tells the user what went wrong, one line a fault, then what would
// mend it, and returns the exit code.
func explain(w io.Writer, err error) int {
	if err == nil {
		return 0
	}
	for _, line := range faults(err) {
		fmt.Fprintln(w, "shadedrill: "+report.Clean(line))
	}
	if h, ok := errors.AsType[hinted](err); ok {
		fmt.Fprintln(w, "hint: "+report.Clean(h.Hint()))
	}
	if d, ok := errors.AsType[*defect](err); ok && d.show {
		fmt.Fprintf(w, "%s\n", d.stack)
	}
	if _, ok := errors.AsType[*usage](err); ok {
		return exitUsage
	}
	return exitFailure
}
