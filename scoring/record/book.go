// Package record keeps the book: who sat which drill, and every answer given.
// The book only grows. An attempt is durable when Append returns; marks and
// statistics are computed from it each time and never stored.
//
//	Drill ──Append──> Book (memory, sqlite, postgres) ──Attempts──> marks and statistics
package record

import (
	"context"
	"iter"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// Book is the record of attempts as everybody uses it. What comes in is checked
// and brought into its one stored form by [CheckLearner], [CheckSitting],
// [CheckAttempt] and [CheckPanel]: times are UTC to the millisecond.
type Book interface {
	People
	Sittings
	panels
	Classes
	Assignments
	doors
	forms
}

// Store is where a book lies: whoever opened it closes it, and can enter much at
// once. Implementations are safe for concurrent use; several processes may have
// one store open.
type Store interface {
	Book
	// Merge calls f with the book inside one transaction: what f enters is on the
	// disk, all together, when Merge returns nil, and is not there at all when f
	// returned an error, which Merge then returns. f must not use the book itself.
	Merge(ctx context.Context, f func(Book) error) error
	// ID tells this book, and every copy of it, from other books.
	ID() string
	// Whole says whether the book is as it was written, as far as the sittings go that
	// the filter takes by learner, sitting and what they are within: nil, or what was
	// found first.
	Whole(context.Context, Filter) error
	// Wipe makes sure that no byte of what was erased, or was there before it was
	// pseudonymised, is left in the book's file and its log.
	Wipe(context.Context) error
	// Label is a name for something, made with a secret of the book: always the same,
	// and not to be guessed back.
	Label(ctx context.Context, kind, id string) (string, error)
	Close() error
}

// Rescuer is a book that can go on in a new place when its file was moved, deleted or
// replaced ([ErrDisplaced]): everything that is in it is written beside the old place
// or into one of the folders, and the path of that is returned. Nobody else may use the
// book meanwhile.
type Rescuer interface {
	Rescue(ctx context.Context, folders ...string) (path string, err error)
}

// People are those who sit drills.
type People interface {
	// AddLearner enters a person. The name is cleaned (see CleanName); a name that
	// reads like another one's is ErrTaken unless both have numbers that differ, and
	// so is another one's number. An empty ID is filled in; that of somebody who was
	// erased is ErrErased.
	AddLearner(context.Context, scoring.Learner) (scoring.Learner, error)
	// Learners lists everybody, by name.
	Learners(context.Context) ([]scoring.Learner, error)
	// Learner finds a person by identifier, or by that of somebody whom they were
	// joined with; ErrNotFound, of which ErrErased is a kind.
	Learner(context.Context, scoring.LearnerID) (scoring.Learner, error)
	// LearnerByName finds the person who has a name (see NameKey), or when nobody has
	// it, a number; ErrNotFound, and ErrAmbiguous for a name of several.
	LearnerByName(context.Context, string) (scoring.Learner, error)
	// SetRole says what a person does from that time on; ErrNotFound. It counts as
	// later than what was set before, whatever the clock says.
	SetRole(ctx context.Context, id scoring.LearnerID, role scoring.Role, at time.Time) error
	// ChangeLearner gives a person another name, number and address, whichever the
	// value has, and says whether the name is a pseudonym. ErrNotFound, ErrTaken.
	ChangeLearner(ctx context.Context, l scoring.Learner, at time.Time) (scoring.Learner, error)
	// JoinLearners makes one person of two: sittings, rosters, sessions laid down and
	// the higher role go from one to the other, whose name stays. The identifier that
	// is given up goes on finding the one who stays, everywhere in the book.
	JoinLearners(ctx context.Context, from, into scoring.LearnerID, at time.Time) (scoring.Learner, error)
	// EraseLearner takes a person out of the book with every sitting and answer, off
	// every roster and every session laid down. What stays is the identifier, so that
	// nothing enters it again, and that it was done. See [Store.Wipe].
	EraseLearner(ctx context.Context, id scoring.LearnerID, at time.Time) error
	// Deeds lists what was done to people, oldest first.
	Deeds(context.Context) ([]Deed, error)
}

// Sittings are the runs of drills and what was answered in them.
type Sittings interface {
	// PutSheet keeps a sheet under its fingerprint; putting it again is no error.
	PutSheet(context.Context, *tabs.Sheet) error
	// Sheet returns a kept sheet; ErrNotFound. It may be shared with other
	// callers and must not be changed.
	Sheet(ctx context.Context, fingerprint string) (*tabs.Sheet, error)

	// StartSitting enters a sitting before its first trial is shown. Its learner
	// and sheet must be in the book. Without an origin it is taken here, see [Here].
	StartSitting(context.Context, scoring.Sitting) error
	// EndSitting says that no more answers will come. Ending it again changes
	// nothing and is no error.
	EndSitting(ctx context.Context, id scoring.SittingID, at time.Time, left bool) error
	// Sitting returns one sitting whole; ErrNotFound.
	Sitting(context.Context, scoring.SittingID) (scoring.Sitting, error)
	// Sittings lists sittings, oldest first, without Setup.Experience.
	Sittings(context.Context, Filter) ([]scoring.Sitting, error)

	// Append records an answer. It is on the disk when Append returns. The same
	// attempt again, bit for bit, is no error; another answer under the same
	// identifier is ErrTaken, an answer to an ended sitting ErrEnded.
	Append(context.Context, scoring.Attempt) error
	// Attempts yields attempts, whole: sitting by sitting, the sitting begun
	// first before the others, and each in its order. The loop may write to the
	// book; it sees the book as it was when it began. With Filter.Light each is as
	// [Lighten] makes it, and reading is many times faster. Those of a silent drill
	// that has not ended, or that is a part of a form whose other parts have not, come
	// only with Filter.Silent; see [Silenced].
	Attempts(context.Context, Filter) iter.Seq2[scoring.Attempt, error]
	// Chains yields what was written down about each sitting as it grew, oldest first,
	// narrowed by learner, sitting, what they are within, and to unfinished ones.
	Chains(context.Context, Filter) iter.Seq2[Chain, error]
}

// Filter narrows a listing; zero fields do not narrow.
type Filter struct {
	Learner    scoring.LearnerID
	Sitting    scoring.SittingID
	Kind       string    // of the sitting's setup for sittings, of the trial for attempts
	Within     string    // of the sitting
	From, To   time.Time // From ≤ at < To; a sitting's time is its start
	Unfinished bool      // only sittings that have not ended, and their attempts
	Light      bool      // only what most marks need of an attempt; narrows nothing
	// Silent yields also the answers that [Silenced] keeps back: they may be
	// counted, gone on with and checked, and appear in nothing that people read.
	Silent bool
}

// Asked is what is read of a book to ask a sitting's trials again.
type Asked interface {
	Sheet(ctx context.Context, fingerprint string) (*tabs.Sheet, error)
	Forms(context.Context) ([]Form, error)
}

// Lighten leaves of an attempt what most marks need. The version of the exercise,
// the time of the first key, looks and whether time ran out are never in it. Cut
// says that more was left out, such as the order of patches, so that a mark may need
// the attempt whole.
func Lighten(a scoring.Attempt) scoring.Attempt {
	t, g := a.Trial, a.Answer
	light := scoring.Attempt{Sitting: a.Sitting, Learner: a.Learner, At: a.At,
		Trial: exercises.Trial{Kind: t.Kind, Ordinal: t.Ordinal, Scene: t.Scene, Part: t.Part,
			Target: t.Target, Item: t.Item, Level: t.Level, Chance: t.Chance, Key: t.Key},
		Answer: exercises.Answer{Colour: g.Colour, Tab: g.Tab, Neighbour: g.Neighbour, Group: g.Group, Choice: g.Choice,
			Total: g.Total}}
	a.Trial.Version, a.Answer.First, a.Answer.Looks, a.Answer.TimedOut = 0, 0, 0, false
	light.Cut = a.Cut || !SameAttempt(a, light)
	return light
}
