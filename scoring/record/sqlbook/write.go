package sqlbook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"iter"
	"strings"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Writer is one transaction that writes.
type Writer struct {
	Tx       Session
	Unsealed bool // a row was changed that carries a seal

	book     *Book
	conn     *sql.Conn
	insert   prepared
	lengthen prepared         // of a chain
	link     prepared         // of an answer that is there
	at       place            // where the last attempt went
	fresh    map[string]int64 // words entered by this transaction
	text     []string         // words by number, as this transaction sees them
}

// place is a sitting that takes attempts.
type place struct {
	id      int64
	sitting scoring.SittingID
	learner scoring.LearnerID
	ended   bool
	chained bool        // it has a chain
	last    int         // its highest ordinal
	head    record.Link // and its last link
}

// number returns the number of a word, nil for the empty one.
func (w *Writer) number(ctx context.Context, s string) (any, error) {
	if s == "" {
		return nil, nil
	}
	if n, known := w.book.words.lookUp(s); known {
		return n, nil
	}
	if n, known := w.fresh[s]; known {
		return n, nil
	}
	// The change that changes nothing makes RETURNING answer for a word that
	// another process entered.
	var n int64
	err := w.Tx.QueryRowContext(ctx, "INSERT INTO word (id, text) VALUES ((SELECT coalesce(max(id), 0) + 1 FROM word), ?) ON CONFLICT (text) DO UPDATE SET text = excluded.text RETURNING id", s).Scan(&n)
	if err != nil {
		return nil, err
	}
	if w.fresh == nil {
		w.fresh = map[string]int64{}
	}
	w.fresh[s] = n
	if w.text != nil {
		w.text = append(w.text, make([]string, max(0, int(n)+1-len(w.text)))...)
		w.text[n] = s
	}
	return n, nil
}

var (
	enterAttempt  = "INSERT INTO attempt (" + columns + ", link) VALUES (?" + strings.Repeat(", ?", colCount) + ")"
	insertAttempt = enterAttempt + " ON CONFLICT DO NOTHING"
)

// append records a checked attempt.
func (w *Writer) append(ctx context.Context, a scoring.Attempt) error {
	if err := w.turnTo(ctx, a); err != nil {
		return err
	}
	a.Learner = w.at.learner
	if !w.at.ended {
		row, err := w.row(ctx, w.at.id, a)
		if err != nil {
			return err
		}
		ordinal := a.Trial.Ordinal
		follows := w.at.chained && ordinal > w.at.last
		var l record.Link
		if follows {
			l = w.at.head.Next(a)
		}
		done, err := w.insert(ctx, append(row, blob(l))...)
		if err != nil {
			return err
		}
		switch n, err := done.RowsAffected(); {
		case err != nil:
			return err
		case n == 1 && follows:
			return w.extend(ctx, ordinal, l)
		case n == 1 && w.at.chained:
			return w.relink(ctx, a)
		case n == 1:
			return nil
		}
	}
	// It is there already, or the sitting has ended.
	old, err := w.existing(ctx, a.Trial.Ordinal)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return fmt.Errorf("sitting %s: %w", a.Sitting, record.ErrEnded)
	case err != nil:
		return err
	case !record.SameAttempt(old, a):
		return fmt.Errorf("attempt %s: %w", a.ID(), record.ErrTaken)
	}
	return w.rewriteAnswer(ctx, a.Trial.Ordinal)
}

// turnTo finds the attempt's sitting, if it is not that of the attempt before.
func (w *Writer) turnTo(ctx context.Context, a scoring.Attempt) (err error) {
	if w.insert == nil {
		if w.insert, err = w.Tx.prepare(ctx, insertAttempt); err != nil {
			return err
		}
	}
	if w.at.sitting != a.Sitting {
		p := place{sitting: a.Sitting}
		var head []byte
		err := w.Tx.row(ctx, placeOf, a.Sitting).Scan(&p.id, &p.learner, &p.ended, &p.last, &head)
		if err != nil {
			return found(fmt.Sprintf("sitting %s", a.Sitting), err)
		}
		p.head, p.chained = readLink(head), head != nil
		w.at = p
	}
	if w.at.learner != a.Learner {
		// Whoever sits it may have been joined with another person meanwhile.
		if who, err := learner(ctx, w.Tx, a.Learner); err != nil || who.ID != w.at.learner {
			return record.WrongLearner(a)
		}
	}
	return nil
}

// Merge calls f with the book inside one transaction.
func (b *Book) Merge(ctx context.Context, f func(record.Book) error) error {
	return b.engine.Update(ctx, Imported, func(w *Writer) error { return f(merger{w}) })
}

// Book is the book as seen from inside the transaction.
func (w *Writer) Book() record.Book { return merger{w} }

// merger is the book as seen from inside a transaction.
type merger struct{ w *Writer }

var _ record.Book = merger{}

func (m merger) AddLearner(ctx context.Context, l scoring.Learner) (scoring.Learner, error) {
	l, err := record.CheckLearner(l)
	if err != nil {
		return l, err
	}
	return l, m.w.addLearner(ctx, l)
}

func (m merger) Learners(ctx context.Context) ([]scoring.Learner, error) {
	return learners(ctx, m.w.Tx)
}

func (m merger) Learner(ctx context.Context, id scoring.LearnerID) (scoring.Learner, error) {
	return learner(ctx, m.w.Tx, id)
}

func (m merger) LearnerByName(ctx context.Context, name string) (scoring.Learner, error) {
	return learnerByName(ctx, m.w.Tx, name)
}

func (m merger) PutSheet(ctx context.Context, s *tabs.Sheet) error { return m.w.putSheet(ctx, s) }

func (m merger) Sheet(ctx context.Context, fingerprint string) (*tabs.Sheet, error) {
	return sheet(ctx, m.w.Tx, fingerprint)
}

func (m merger) StartSitting(ctx context.Context, s scoring.Sitting) error {
	s, err := record.CheckSitting(s)
	if err != nil {
		return err
	}
	return m.w.startSitting(ctx, s)
}

func (m merger) EndSitting(ctx context.Context, id scoring.SittingID, at time.Time, left bool) error {
	if err := record.CheckMoment("the end of a sitting", at); err != nil {
		return err
	}
	return m.w.endSitting(ctx, id, at, left)
}

func (m merger) Sitting(ctx context.Context, id scoring.SittingID) (scoring.Sitting, error) {
	return sitting(ctx, m.w.Tx, id)
}

func (m merger) Sittings(ctx context.Context, f record.Filter) ([]scoring.Sitting, error) {
	return sittings(ctx, m.w.Tx, f)
}

func (m merger) Append(ctx context.Context, a scoring.Attempt) error {
	a, err := record.CheckAttempt(a)
	if err != nil {
		return err
	}
	return m.w.append(ctx, a)
}

func (m merger) Attempts(ctx context.Context, f record.Filter) iter.Seq2[scoring.Attempt, error] {
	return gathered(func(take func(scoring.Attempt)) error {
		r, err := m.w.reader(ctx)
		if err != nil {
			return err
		}
		return scan(ctx, m.w.book, RawRows(m.w.conn), m.w.Tx, f, r, func(r *reader, row Row) (bool, error) {
			a, err := r.attempt(row)
			take(a)
			return true, err
		})
	})
}

// gathered reads everything before it yields: the loop may write, and what a
// transaction writes would show up in its own reading.
func gathered[T any](read func(take func(T)) error) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		var list []T
		if err := read(func(v T) { list = append(list, v) }); err != nil {
			var none T
			yield(none, err)
			return
		}
		for _, v := range list {
			if !yield(v, nil) {
				return
			}
		}
	}
}
