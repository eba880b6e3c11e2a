package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"shadedrill/colour/fault"
	"shadedrill/scoring/report"
)

// Exit codes.
const (
	exitFailure = 1
	exitUsage   = 2
)

// usage is a command line that cannot be understood.
type usage struct{ error }

func (u *usage) Unwrap() error { return u.error }

// misread is an error of the command line; where it does not say what would mend it,
// the help of the command does.
func misread(err error, command string) error {
	if fault.Hint(err) == "" {
		err = fault.Wrap(err, fmt.Sprintf(`see "%s --help"`, command))
	}
	return &usage{err}
}

// misused is a mistake in the command line that only a command's own check
// finds, such as a number out of range.
func misused(hint, format string, args ...any) error {
	return &usage{fail(hint, format, args...)}
}

// fail is an error with what would mend it.
func fail(hint, format string, args ...any) error {
	return fault.Wrap(fmt.Errorf(format, args...), hint)
}

// defect is a panic, told as one line; stack is shown where it was asked for.
type defect struct {
	error
	stack []byte
}

func (d *defect) Unwrap() error { return d.error }

func panicked(with any, stack []byte) error {
	return &defect{fail("this is a defect of shadedrill and no fault of yours; answers already given are in the book. SHADEDRILL_DEBUG=1 shows where",
		"internal error: %v", with), stack}
}

// told are the lines that say what is wrong: one, but for a text with several bad
// lines. What is said before a list is said before each of its lines.
func told(err error) []string {
	list, ok := errors.AsType[*fault.List](err)
	if !ok {
		return []string{err.Error()}
	}
	what, _, _ := strings.Cut(err.Error(), list.Error())
	lines := list.All()
	for i := range lines {
		lines[i] = what + lines[i]
	}
	return lines
}

// explain tells the user what went wrong, one line a fault, then what would
// mend it, and returns the exit code. On a terminal of the given width the lines
// break at blanks; 0 is no limit, one line each.
func explain(w io.Writer, width int, err error) int {
	if err == nil {
		return 0
	}
	for _, line := range told(err) {
		say(w, width, "shadedrill: "+report.Clean(line))
	}
	if hint := fault.Hint(err); hint != "" {
		say(w, width, "hint: "+report.Clean(hint))
	}
	if d, ok := errors.AsType[*defect](err); ok && d.stack != nil {
		fmt.Fprintf(w, "%s\n", d.stack)
	}
	if _, ok := errors.AsType[*usage](err); ok {
		return exitUsage
	}
	return exitFailure
}

// say writes a line for a person. A terminal would break it inside a word; whatever else
// reads it gets it whole.
func say(w io.Writer, width int, line string) {
	for _, part := range report.Wrap(line, width) {
		fmt.Fprintln(w, part)
	}
}
