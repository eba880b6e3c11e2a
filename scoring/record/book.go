// Package record keeps the book: who sat which drill, and every answer given.
// The book only grows. An attempt is durable when Append returns; marks and
// statistics are computed from it each time and never stored.
package record

import (
	"context"
	"errors"
	"iter"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/scoring"
)

// Book is the record of attempts. Implementations are safe for concurrent use;
// several processes may have one book open.
type Book interface {
	// AddLearner enters a person. The name is cleaned (see CleanName); a name
	// already taken, ignoring case, is ErrTaken.
	AddLearner(context.Context, scoring.Learner) (scoring.Learner, error)
	// Learners lists everybody, by name.
	Learners(context.Context) ([]scoring.Learner, error)
	// LearnerByName finds a person, ignoring case; ErrNotFound.
	LearnerByName(context.Context, string) (scoring.Learner, error)

	// PutSheet keeps a sheet under its fingerprint; putting it again is no error.
	PutSheet(context.Context, *tabs.Sheet) error
	// Sheet returns a kept sheet; ErrNotFound.
	Sheet(ctx context.Context, fingerprint string) (*tabs.Sheet, error)

	// StartSitting enters a sitting before its first trial is shown.
	StartSitting(context.Context, scoring.Sitting) error
	// EndSitting says that no more answers will come.
	EndSitting(ctx context.Context, id scoring.SittingID, at time.Time, left bool) error
	// Sittings lists sittings, oldest first.
	Sittings(context.Context, Filter) ([]scoring.Sitting, error)

	// Append records an answer. It is on the disk when Append returns. The same
	// attempt again, bit for bit, is no error; another answer under the same
	// identifier is ErrTaken.
	Append(context.Context, scoring.Attempt) error
	// Attempts yields attempts, oldest first, whole.
	Attempts(context.Context, Filter) iter.Seq2[scoring.Attempt, error]

	Close() error
}

// Filter narrows a listing; zero fields do not narrow.
type Filter struct {
	Learner    scoring.LearnerID
	Sitting    scoring.SittingID
	Kind       string
	Within     string
	From, To   time.Time // From ≤ at < To
	Unfinished bool      // sittings only
}

// Errors that a caller tells apart with errors.Is.
var (
	ErrNotFound = errors.New("not in the book")
	ErrTaken    = errors.New("already in the book")
	// ErrNewer is returned for a book written by a newer program; it is left untouched.
	ErrNewer = errors.New("this book was written by a newer shadedrill")
)
