// Package told is what somebody at a terminal is told: what is wrong and what would mend
// it, how far a long command has come, and the paragraphs of a help text.
package told

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"shadedrill/colour/fault"
	"shadedrill/scoring/report"
)

// Exit codes of a failure, and of a command line that cannot be understood.
const (
	ExitFailure = 1
	ExitUsage   = 2
)

// Usage is a command line that cannot be understood.
type Usage struct{ Err error }

func (u *Usage) Error() string { return u.Err.Error() }

// Unwrap returns it as any other error.
func (u *Usage) Unwrap() error { return u.Err }

// Misread is an error of the command line; where it does not say what would mend it,
// the help of the command does.
func Misread(err error, command string) error {
	if fault.Hint(err) == "" {
		err = fault.Wrap(err, fmt.Sprintf(`see "%s --help"`, command))
	}
	return &Usage{err}
}

// Misused is a mistake in the command line that only a command's own check
// finds, such as a number out of range.
func Misused(hint, format string, args ...any) error {
	return &Usage{Fail(hint, format, args...)}
}

// Fail is an error with what would mend it.
func Fail(hint, format string, args ...any) error {
	return fault.Wrap(fmt.Errorf(format, args...), hint)
}

// Within names the file that an error is about.
func Within(file string, err error) error { return fmt.Errorf("%s: %w", file, err) }

// Reason strips what the caller says anyway from an error of the file system.
func Reason(err error) error {
	var p *fs.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		return p.Err
	case errors.As(err, &l):
		return l.Err
	}
	return err
}

// defect is a panic, told as one line.
type defect struct {
	error
	stack []byte
}

func (d *defect) Unwrap() error { return d.error }

// Panicked is the one line of a panic; the stack is shown where there is one.
func Panicked(with any, stack []byte) error {
	return &defect{Fail("this is a defect of shadedrill and no fault of yours; answers already given are in the book. SHADEDRILL_DEBUG=1 shows where",
		"internal error: %v", with), stack}
}

// Lines are the lines that say what is wrong: one, but for a text with several bad
// lines. What is said before a list is said before each of its lines.
func Lines(err error) []string {
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

// Explain tells the user what went wrong, one line a fault, then what would
// mend it, and returns the exit code. On a terminal of the given width the lines
// break at blanks; 0 is no limit, one line each.
func Explain(w io.Writer, width int, err error) int {
	if err == nil {
		return 0
	}
	for _, line := range Lines(err) {
		Say(w, width, "shadedrill: "+report.Clean(line))
	}
	if hint := fault.Hint(err); hint != "" {
		Say(w, width, "hint: "+report.Clean(hint))
	}
	if d, ok := errors.AsType[*defect](err); ok && d.stack != nil {
		fmt.Fprintf(w, "%s\n", d.stack)
	}
	if _, ok := errors.AsType[*Usage](err); ok {
		return ExitUsage
	}
	return ExitFailure
}

// Say writes a line for a person. A terminal would break it inside a word; whatever else
// reads it gets it whole.
func Say(w io.Writer, width int, line string) {
	for _, part := range report.Wrap(line, width) {
		fmt.Fprintln(w, part)
	}
}
