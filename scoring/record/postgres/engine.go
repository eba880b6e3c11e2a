package postgres

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/oklog/ulid/v2"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record/sqlbook"
)

// dialect is what differs from SQLite's way of saying things.
var dialect = sqlbook.Dialect{
	Numbered:   true,
	SameNumber: "lower(number) = lower(?)",
	Keyed:      true,
	Rewrites:   true,
	Prepares:   true,
	AtATime:    100, // house choice: some thousand answers
	Writers:    2,   // one sends while the other's commit is on its way; more cross each other
	Sends:      sends,
}

// engine is PostgreSQL as the book in it sees it.
//
// Transactions are of one moment (REPEATABLE READ): where two write the same row the
// second is undone and done again. Whoever reads one thing to write another first locks
// the table shadedrill against all others who write ([sqlbook.Whole]); whoever writes
// what stands by itself locks it against those alone ([sqlbook.RawRows]). LOCK TABLE comes
// before the moment is fixed, which a lock taken by a SELECT would not.
type engine struct{ *Book }

// How long one try may take before it is given up, and how long it is tried: then
// whoever waits is told, and can try on. House choices. An import may take long.
const (
	opensFor = 2 * time.Second
	triesFor = 10 * time.Second
	tryFor   = 10 * time.Second
	wholeFor = 60 * time.Second
)

// A connection that its server left in the middle of a transaction gives up its locks.
const leftAlone = "60s"

var errUnconfirmed = errors.New("the commit was not confirmed by the standby")

// Update runs f in one transaction until it is acknowledged, or for triesFor.
//
// A commit that was not answered may have happened. An answer is then written again,
// see [sqlbook.Dialect]; of anything else a receipt goes with the transaction, and where
// it is found the transaction is not done again, but something is written all the same:
// a transaction that writes nothing waits for no standby.
func (e engine) Update(ctx context.Context, what sqlbook.Reach, f func(*sqlbook.Writer) error) error {
	receipt := ulid.Make().String()
	until := time.Now().Add(triesFor)
	unanswered, begun := false, false
	for try := 1; ; try++ {
		err := e.once(ctx, what, receipt, unanswered, func(w *sqlbook.Writer) error {
			begun = true
			return f(w)
		})
		var open *sqlbook.NotAcknowledged
		switch {
		case err == nil:
			return nil
		case errors.As(err, &open) && !crossed(err):
			unanswered = true
		}
		again := (crossed(err) || away(err) || errors.As(err, &open)) && ctx.Err() == nil && time.Now().Before(until)
		if what == sqlbook.Imported && begun && !unanswered {
			again = false // f cannot be called twice
		}
		if !again {
			return explain(e.name, err)
		}
		if err := pause(ctx, try); err != nil {
			return err
		}
	}
}

func pause(ctx context.Context, try int) error {
	timer := time.NewTimer(time.Duration(min(try, 20)) * 5 * time.Millisecond)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return nil
	}
}

// once is one try.
func (e engine) once(ctx context.Context, what sqlbook.Reach, receipt string, unanswered bool, f func(*sqlbook.Writer) error) error {
	lock, limit := "LOCK TABLE shadedrill IN SHARE ROW EXCLUSIVE MODE", wholeFor
	switch what {
	case sqlbook.Rows, sqlbook.Answers:
		lock, limit = "LOCK TABLE shadedrill IN ROW EXCLUSIVE MODE", tryFor
	case sqlbook.NewWords:
		// A word's number is the next one: two that took the same would undo each other.
		lock, limit = "LOCK TABLE shadedrill IN ROW EXCLUSIVE MODE; LOCK TABLE word IN SHARE ROW EXCLUSIVE MODE", tryFor
	}
	answers := what == sqlbook.Answers || what == sqlbook.NewWords
	if what != sqlbook.Imported {
		var stop context.CancelFunc
		ctx, stop = context.WithTimeout(ctx, limit)
		defer stop()
	}
	conn, err := e.db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	tx, form, forgotten, err := begin(ctx, conn, lock)
	defer tx.end() // does nothing after Commit
	if err != nil {
		return err
	}
	if form != newest() {
		return e.otherForm(form)
	}
	err = e.Run(ctx, conn, tx, forgotten, func(w *sqlbook.Writer) error {
		if unanswered && !answers {
			done, err := tx.ExecContext(ctx, "UPDATE receipt SET at = at WHERE id = $1", receipt)
			if err != nil {
				return err
			}
			if n, err := done.RowsAffected(); err != nil || n > 0 {
				return err
			}
			if what == sqlbook.Imported {
				return fault.New("the connection to the book "+e.name+" was lost, and nothing of this was entered", "do it again")
			}
		}
		if err := f(w); err != nil || answers {
			return err
		}
		now := time.Now()
		if what != sqlbook.Rows {
			if _, err := tx.ExecContext(ctx, "DELETE FROM receipt WHERE at < $1", now.Add(-24*time.Hour).UnixMilli()); err != nil {
				return err
			}
		}
		_, err := tx.ExecContext(ctx, "INSERT INTO receipt (id, at) VALUES ($1, $2)", receipt, now.UnixMilli())
		return err
	})
	if err != nil {
		return err
	}
	return confirmed(conn)
}

// A commit that waits for a standby and is told to wait no longer succeeds with a
// warning. It is not acknowledged then.
func confirmed(conn *sql.Conn) error {
	warned := false
	err := conn.Raw(func(c any) error {
		data := c.(*stdlib.Conn).Conn().PgConn().CustomData()
		_, warned = data[warning]
		delete(data, warning)
		return nil
	})
	if warned {
		return sqlbook.Unconfirmed(errUnconfirmed)
	}
	if err != nil {
		return nil // the connection is gone, after the commit was answered
	}
	return nil
}

// warning is where a connection remembers that it was warned.
const warning = "shadedrill warning"

func noticed(c *pgconn.PgConn, n *pgconn.Notice) {
	if n.SeverityUnlocalized == "WARNING" {
		c.CustomData()[warning] = true
	}
}

// Snapshot calls f with a connection in one transaction that only reads.
func (e engine) Snapshot(ctx context.Context, f func(sqlbook.Moment) error) error {
	var conn *sql.Conn
	var tx *sql.Tx
	err := e.Patiently(ctx, func() (err error) {
		if conn, err = e.db.Conn(ctx); err != nil {
			return err
		}
		if tx, err = conn.BeginTx(ctx, &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true}); err != nil {
			conn.Close()
		}
		return err
	})
	if err != nil {
		return explain(e.name, err)
	}
	defer conn.Close()
	defer tx.Rollback()
	return explain(e.name, f(sqlbook.Moment{Tx: tx, Rows: sqlbook.RawRows(conn)}))
}

// Quick gives nothing: whatever is asked here goes over a wire.
func (e engine) Quick() (sqlbook.Reading, func()) { return nil, nil }

// Patiently tries again while the database is away.
func (e engine) Patiently(ctx context.Context, f func() error) error {
	until := time.Now().Add(e.patience)
	for try := 1; ; try++ {
		err := f()
		if err == nil || !away(err) || time.Now().After(until) || ctx.Err() != nil {
			return err
		}
		if err := pause(ctx, try); err != nil {
			return err
		}
	}
}

// Explain says what an error means.
func (e engine) Explain(err error) error { return explain(e.name, err) }

// Forget counts that words were taken out.
func (e engine) Forget(ctx context.Context, w *sqlbook.Writer, words bool) error {
	if !words {
		return nil // see Wipe
	}
	_, err := w.Tx.ExecContext(ctx, "UPDATE shadedrill SET forgotten = forgotten + 1")
	return err
}
