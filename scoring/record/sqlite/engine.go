package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"shadedrill/scoring/record/sqlbook"
)

// dialect is what SQLite understands; the statements are written for it.
var dialect = sqlbook.Dialect{
	SameNumber: "number = ? COLLATE NOCASE",
}

// engine is SQLite as the book in it sees it.
type engine struct{ *Book }

// Update runs f in a transaction that holds the write lock from its beginning, and is
// on the disk when Update returns nil. A book of an older form is brought to the newest
// first.
func (e engine) Update(ctx context.Context, _ sqlbook.Reach, f func(*sqlbook.Writer) error) error {
	b := e.Book
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
	// Another program may have brought the book to a newer form meanwhile.
	var version int
	var forgotten int64
	if b.versions[0] != nil {
		err = errors.Join(tx.StmtContext(ctx, b.versions[0]).QueryRowContext(ctx).Scan(&version), tx.StmtContext(ctx, b.versions[1]).QueryRowContext(ctx).Scan(&forgotten))
	} else {
		err = errors.Join(tx.QueryRowContext(ctx, askForm).Scan(&version), tx.QueryRowContext(ctx, askForgotten).Scan(&forgotten))
	}
	if err != nil {
		return explain(b.path, err)
	}
	if version > newest() {
		return newer(b.path, version)
	}
	err = b.Run(ctx, conn, tx, forgotten, func(w *sqlbook.Writer) error {
		if version < newest() {
			if err := migrate(ctx, w, version, newest()); err != nil {
				return err
			}
		}
		return f(w)
	})
	if err != nil {
		return explain(b.path, err)
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

// Quick gives a connection without database/sql, in one transaction.
func (e engine) Quick() (sqlbook.Reading, func()) {
	c := e.bare.take(e.Book)
	if c == nil {
		return nil, nil
	}
	return c.rows, func() { e.bare.end(c) }
}

// Snapshot calls f with a connection in one transaction.
func (e engine) Snapshot(ctx context.Context, f func(sqlbook.Moment) error) error {
	var conn *sql.Conn
	err := patiently(ctx, func() (err error) {
		conn, err = e.read.Conn(ctx)
		return err
	})
	if err != nil {
		return explain(e.path, err)
	}
	defer conn.Close()
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return explain(e.path, err)
	}
	defer tx.Rollback()
	return explain(e.path, f(sqlbook.Moment{Tx: tx, Rows: sqlbook.RawRows(conn)}))
}

// Patiently tries again while another process is in the way.
func (e engine) Patiently(ctx context.Context, f func() error) error { return patiently(ctx, f) }

// Explain says what an error means.
func (e engine) Explain(err error) error { return explain(e.path, err) }

// Forget makes SQLite write zeros over what is taken out from here on. Where words were
// taken out, the number of the schema is one more: whoever has read them forgets them
// before the next answer.
func (e engine) Forget(ctx context.Context, w *sqlbook.Writer, words bool) error {
	if !words {
		_, err := w.Tx.ExecContext(ctx, "PRAGMA secure_delete = 1")
		return err
	}
	var cookie int64
	if err := w.Tx.QueryRowContext(ctx, "PRAGMA schema_version").Scan(&cookie); err != nil {
		return err
	}
	_, err := w.Tx.ExecContext(ctx, fmt.Sprintf("PRAGMA schema_version = %d", cookie+1))
	return err
}

// rows gives the rows of a file that is not open as a book.
func rows(ctx context.Context, db *sql.DB, query string, f func(sqlbook.Scanner) error) error {
	return sqlbook.New(engine{new(Book)}, dialect).Session(db).Each(ctx, query, nil, f)
}
