// Package fault is an error that says what would mend it: one line that tells what is
// wrong, and one that tells what to do. Every error that a person can do something
// about is one, from a library that cannot be read to a disk that is full, and whoever
// shows errors asks [Hint].
//
// It knows nothing of colours. It lies in colour because imports point left, and the
// leftmost room that reads what people write, the tab library, needs it.
package fault

import (
	"errors"
	"fmt"
	"strings"
)

// Error is an error with what would mend it.
type Error struct {
	err  error
	mend string
}

// New says what is wrong and what would mend it.
func New(what, mend string) error { return Wrap(errors.New(what), mend) }

// At is [New] for a line of a text, counted from 1; 0 stands for the text as a whole.
func At(line int, what, mend string) error {
	if line > 0 {
		what = fmt.Sprintf("line %d: %s", line, what)
	}
	return New(what, mend)
}

// Wrap says of an error what would mend it; an error in the chain that says so itself
// is overruled.
func Wrap(err error, mend string) error { return &Error{err, mend} }

func (e *Error) Error() string { return e.err.Error() }

// Unwrap returns the error without what would mend it.
func (e *Error) Unwrap() error { return e.err }

// Hint says what would mend it.
func (e *Error) Hint() string { return e.mend }

// Hint is what the first error of a chain that knows it says would mend it; empty where
// none does.
func Hint(err error) string {
	var knows interface{ Hint() string }
	if errors.As(err, &knows) {
		return knows.Hint()
	}
	return ""
}

// List is everything that is wrong with one text, a line each. Nothing of such a text
// is used. The zero value is ready.
type List struct {
	Lines   []string
	More    int    // how many further ones there are than Lines tells
	Outcome string // what did not happen because of them; may be empty
	Mend    string // what would mend them; that of the first one where it is empty
}

// mostTold is how many are told one by one; the rest are counted.
const mostTold = 20

// Add adds one more.
func (l *List) Add(err error) {
	if l.Mend == "" {
		l.Mend = Hint(err)
	}
	if len(l.Lines) == mostTold {
		l.More++
		return
	}
	l.Lines = append(l.Lines, err.Error())
}

// All is what is to be told, a line each.
func (l *List) All() []string {
	all := append([]string(nil), l.Lines...)
	if l.More > 0 {
		all = append(all, fmt.Sprintf("and %d more", l.More))
	}
	if l.Outcome != "" {
		all = append(all, l.Outcome)
	}
	return all
}

func (l *List) Error() string { return strings.Join(l.All(), "; ") }

// Hint says what would mend them.
func (l *List) Hint() string { return l.Mend }

// Excerpt keeps a message on one line whatever a file or a command line holds: the
// first 40 letters of a text, and an ellipsis where there are more.
func Excerpt(text string) string {
	const most = 40
	if r := []rune(text); len(r) > most {
		return string(r[:most]) + "…"
	}
	return text
}
