package record

import (
	"errors"
	"fmt"
)

// Errors that a caller tells apart with errors.Is.
var (
	ErrNotFound = errors.New("not in the book")
	ErrTaken    = errors.New("already in the book")
	ErrEnded    = errors.New("this sitting has ended and takes no more answers")
	// ErrDisplaced is what writing returns when the book's file was moved, deleted or
	// replaced while it was open. See [Rescuer].
	ErrDisplaced = errors.New("the book is not in its place any more")
	// ErrErased is for a person of whom the book knows only that they were erased.
	ErrErased = fmt.Errorf("erased, and %w", ErrNotFound)
	// ErrAmbiguous is for a name that several people have.
	ErrAmbiguous = errors.New("say which")
	// ErrNewer is returned for a book written by a newer program; it is left untouched.
	ErrNewer = errors.New("this book was written by a newer shadedrill")
)
