// Package sqlbook is what a book does that lies in a database: every statement, once
// for all engines. What an engine does in its own way (opening, forms of the book,
// locks, what its errors mean) lies beside this folder.
//
// Statements are written in what the engines have in common: no BOOLEAN, no sequence,
// no type of one engine alone. Where that cannot be, the [Dialect] says how.
package sqlbook

import (
	"context"
	"database/sql"
	"sync"

	"shadedrill/colour/tabs"
	"shadedrill/scoring/record"
)

// Engine is what a database does in its own way.
type Engine interface {
	// Update runs f in one transaction, by way of [Book.Run]; what f wrote is on the
	// disk when Update returns nil.
	Update(ctx context.Context, what Reach, f func(*Writer) error) error
	// Snapshot calls f with what reads of one moment.
	Snapshot(ctx context.Context, f func(Moment) error) error
	// Quick gives what reads rows of one moment without database/sql, and what gives it
	// back; nil where there is no such thing, or where it is not worth the while.
	Quick() (Reading, func())
	// Patiently tries again what failed because something was in the way for a moment.
	Patiently(ctx context.Context, f func() error) error
	// Explain says what an error means for whoever has the book, and what to do.
	Explain(error) error
	// Forget is called before something is taken out that must leave no trace, and
	// says with words that words have been taken out.
	Forget(ctx context.Context, w *Writer, words bool) error
}

// Moment reads of one moment of the book: statements in the transaction, and very many
// rows by Rows.
type Moment struct {
	Tx   *sql.Tx
	Rows Reading
}

// Reach is how much of the book a transaction is about.
type Reach int

const (
	// Whole is for what reads one thing to write another: nobody else writes meanwhile.
	Whole Reach = iota
	// Rows is for what stands by itself, such as answers, sittings and who is signed
	// in. An engine that can lets others write their own meanwhile.
	Rows
	// Answers is [Rows] of answers alone: to write them again changes nothing.
	Answers
	// NewWords is [Answers] with words that the book may not have yet: where several write
	// at once, one enters its words at a time.
	NewWords
	// Imported is [Whole], and f cannot be called again once it has begun.
	Imported
)

// Book is a record.Book in a database.
type Book struct {
	engine Engine
	in     Dialect
	read   Session
	id     string
	words  words
	batch  batch
	kept   statements // of the pool that is written through
	parsed parsed

	mu     sync.Mutex
	sheets map[string]*tabs.Sheet // read before; they never change
}

var _ record.Book = (*Book)(nil)

// New is a book that an engine keeps; Reads comes before it is used.
func New(e Engine, d Dialect) *Book {
	return &Book{engine: e, in: d, sheets: map[string]*tabs.Sheet{}, batch: newBatch(max(1, d.Writers))}
}

// Reads says where rows come from outside a transaction, and learns which book it is.
func (b *Book) Reads(ctx context.Context, db *sql.DB) error {
	b.read = b.Session(db)
	b.read.kept = nil // the driver, or the pool, keeps what is asked compiled
	b.read.quickly = true
	err := b.read.Patiently(ctx, func() error { return b.read.QueryRowContext(ctx, "SELECT ulid FROM book").Scan(&b.id) })
	return b.Explain(err)
}

// Session speaks to a pool, a connection or a transaction of the engine.
func (b *Book) Session(db conversation) Session {
	return Session{db: db, engine: b.engine, in: &b.in, kept: b.kept, parsed: &b.parsed}
}

// moment calls f with what reads of one moment: very many rows by the reading, and what
// is asked by the way in the session, which gives rows alone.
func (b *Book) moment(ctx context.Context, f func(Reading, Session) error) error {
	if read, end := b.engine.Quick(); read != nil {
		defer end()
		return b.Explain(f(read, b.read.by(read)))
	}
	return b.engine.Snapshot(ctx, func(m Moment) error { return f(m.Rows, b.read.within(m.Tx)) })
}

// ID tells this book, and every copy of it, from other books.
func (b *Book) ID() string { return b.id }

// Explain says what an error of the database means for whoever has the book.
func (b *Book) Explain(err error) error {
	if err == nil {
		return nil
	}
	return b.engine.Explain(err)
}

// Update runs f in one transaction that holds the whole book.
func (b *Book) Update(ctx context.Context, f func(*Writer) error) error {
	return b.engine.Update(ctx, Whole, f)
}

// updateAnswers runs f in one transaction that writes these answers alone.
func (b *Book) updateAnswers(ctx context.Context, all []*waiting, f func(*Writer) error) error {
	reach := Answers
	for _, one := range all {
		for _, word := range wordsOf(one.a) {
			if _, known := b.words.lookUp(word); !known && word != "" {
				reach = NewWords
			}
		}
	}
	return b.engine.Update(ctx, reach, f)
}

func (b *Book) updateRows(ctx context.Context, f func(*Writer) error) error {
	return b.engine.Update(ctx, Rows, f)
}

// Transaction is one that an engine has begun.
type Transaction interface {
	conversation
	Commit() error
}

// Run carries f out in a transaction that the engine has begun, and commits it.
// forgotten is another number each time that words were taken out of the book.
func (b *Book) Run(ctx context.Context, conn *sql.Conn, tx Transaction, forgotten int64, f func(*Writer) error) error {
	b.words.follow(forgotten)
	w := &Writer{book: b, conn: conn, Tx: b.Session(tx)}
	if err := f(w); err != nil {
		return err
	}
	if w.Unsealed {
		if err := w.sealRows(ctx); err != nil {
			return err
		}
	}
	if err := tx.Commit(); err != nil {
		return &NotAcknowledged{err}
	}
	if len(w.fresh) > 0 {
		b.words.learn(w.fresh)
	}
	return nil
}

// NotAcknowledged is the error of a commit: whether it happened is not known.
type NotAcknowledged struct{ err error }

func (e *NotAcknowledged) Error() string { return e.err.Error() }

// Unconfirmed is the error of a commit that its engine was told of, and not by all.
func Unconfirmed(err error) error { return &NotAcknowledged{err} }

// Unwrap returns the database's own error.
func (e *NotAcknowledged) Unwrap() error { return e.err }
