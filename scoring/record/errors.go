package record

import "errors"

// Errors that a caller tells apart with errors.Is.
var (
	ErrNotFound = errors.New("not in the book")
	ErrTaken    = errors.New("already in the book")
	ErrEnded    = errors.New("this sitting has ended and takes no more answers")
	// ErrNewer is returned for a book written by a newer program; it is left untouched.
	ErrNewer = errors.New("this book was written by a newer shadedrill")
)

// Problem is an error with a way out, fit to be shown: one line that says what
// and why, and a hint.
type Problem struct {
	What   string
	Err    error // the cause; may be nil
	Advice string
}

func (p *Problem) Error() string {
	if p.Err == nil {
		return p.What
	}
	if p.What == "" {
		return p.Err.Error()
	}
	return p.What + ": " + p.Err.Error()
}

// Unwrap returns the cause.
func (p *Problem) Unwrap() error { return p.Err }

// Hint says what would mend it.
func (p *Problem) Hint() string { return p.Advice }
