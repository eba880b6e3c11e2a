package sqlite

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

// writer is one transaction that holds the write lock from its beginning.
type writer struct {
	book     *Book
	conn     *sql.Conn
	tx       *sql.Tx
	insert   *sql.Stmt
	lengthen *sql.Stmt        // of a chain
	at       place            // where the last attempt went
	unsealed bool             // a row was changed that carries a seal
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

// update runs f in a transaction, which is on the disk when update returns nil.
// A book of an older form is brought to the newest first.
func (b *Book) update(ctx context.Context, f func(*writer) error) error {
	if b.readOnly {
		return b.onlyToRead()
	}
	if err := b.inPlace(); err != nil {
		return err
	}
	conn, tx, err := b.begin(ctx)
	if err != nil {
		return explain(b.path, err)
	}
	defer conn.Close()
	defer tx.Rollback() // does nothing after Commit
	w := &writer{book: b, conn: conn, tx: tx}
	// Another program may have brought the book to a newer form meanwhile.
	var version int
	if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return explain(b.path, err)
	}
	if version > newest() {
		return newer(b.path, version)
	}
	if err := b.words.follow(ctx, tx); err != nil {
		return explain(b.path, err)
	}
	if version < newest() {
		if err := w.migrate(ctx, version, newest()); err != nil {
			return explain(b.path, err)
		}
	}
	if err := f(w); err != nil {
		return explain(b.path, err)
	}
	if w.unsealed {
		if err := w.sealRows(ctx); err != nil {
			return explain(b.path, err)
		}
	}
	if err := tx.Commit(); err != nil {
		return explain(b.path, err)
	}
	if len(w.fresh) > 0 {
		b.words.learn(w.fresh)
	}
	// What went into a file that nobody will find is not kept.
	if err := b.inPlace(); err != nil {
		return err
	}
	return b.logInPlace()
}

// begin waits for the write lock. Nothing after it can find the book locked.
func (b *Book) begin(ctx context.Context) (conn *sql.Conn, tx *sql.Tx, err error) {
	err = patiently(ctx, func() error {
		if conn, err = b.write.Conn(ctx); err != nil {
			return err
		}
		if tx, err = conn.BeginTx(ctx, nil); err != nil {
			conn.Close()
		}
		return err
	})
	return conn, tx, err
}

// number returns the number of a word, nil for the empty one.
func (w *writer) number(ctx context.Context, s string) (any, error) {
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
	err := w.tx.QueryRowContext(ctx, "INSERT INTO word (text) VALUES (?) ON CONFLICT (text) DO UPDATE SET text = text RETURNING id", s).Scan(&n)
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

var insertAttempt = "INSERT INTO attempt (" + columns + ", link) VALUES (?" + strings.Repeat(", ?", colCount) + ") ON CONFLICT DO NOTHING"

// append records a checked attempt.
func (w *writer) append(ctx context.Context, a scoring.Attempt) error {
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
		done, err := w.insert.ExecContext(ctx, append(row, blob(l))...)
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
	return nil
}

// turnTo finds the attempt's sitting, if it is not that of the attempt before.
func (w *writer) turnTo(ctx context.Context, a scoring.Attempt) (err error) {
	if w.insert == nil {
		if w.insert, err = w.tx.PrepareContext(ctx, insertAttempt); err != nil {
			return err
		}
	}
	if w.at.sitting != a.Sitting {
		p := place{sitting: a.Sitting}
		var head []byte
		err := w.tx.QueryRowContext(ctx, `SELECT s.id, l.ulid, s.ended IS NOT NULL, ifnull(c.last, -1), c.head
			FROM sitting s JOIN learner l ON l.id = s.learner LEFT JOIN chain c ON c.sitting = s.id WHERE s.ulid = ?`, a.Sitting).
			Scan(&p.id, &p.learner, &p.ended, &p.last, &head)
		if err != nil {
			return found(fmt.Sprintf("sitting %s", a.Sitting), err)
		}
		p.head, p.chained = readLink(head), head != nil
		w.at = p
	}
	if w.at.learner != a.Learner {
		// Whoever sits it may have been joined with another person meanwhile.
		if who, err := learner(ctx, w.tx, a.Learner); err != nil || who.ID != w.at.learner {
			return record.WrongLearner(a)
		}
	}
	return nil
}

// Merge calls f with the book inside one transaction.
func (b *Book) Merge(ctx context.Context, f func(record.Book) error) error {
	return b.update(ctx, func(w *writer) error { return f(merger{w}) })
}

// merger is the book as seen from inside a transaction.
type merger struct{ w *writer }

var _ record.Book = merger{}

func (m merger) AddLearner(ctx context.Context, l scoring.Learner) (scoring.Learner, error) {
	l, err := record.CheckLearner(l)
	if err != nil {
		return l, err
	}
	return l, m.w.addLearner(ctx, l)
}

func (m merger) Learners(ctx context.Context) ([]scoring.Learner, error) {
	return learners(ctx, m.w.tx)
}

func (m merger) Learner(ctx context.Context, id scoring.LearnerID) (scoring.Learner, error) {
	return learner(ctx, m.w.tx, id)
}

func (m merger) LearnerByName(ctx context.Context, name string) (scoring.Learner, error) {
	return learnerByName(ctx, m.w.tx, name)
}

func (m merger) PutSheet(ctx context.Context, s *tabs.Sheet) error { return m.w.putSheet(ctx, s) }

func (m merger) Sheet(ctx context.Context, fingerprint string) (*tabs.Sheet, error) {
	return sheet(ctx, m.w.tx, fingerprint)
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
	return sitting(ctx, m.w.tx, id)
}

func (m merger) Sittings(ctx context.Context, f record.Filter) ([]scoring.Sitting, error) {
	return sittings(ctx, m.w.tx, f)
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
		return scan(ctx, m.w.conn, f, r, func(r *reader, row []value) (bool, error) {
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
