package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
	"sync"
	"time"
)

// The forms of the book, in order: file n brings a book from form n−1 to n.
// A file that has been released is never changed again.
//
//go:embed schema/*.sql
var schema embed.FS

// steps are the files in order of their names.
var steps = sync.OnceValue(func() []string {
	names, err := fs.Glob(schema, "schema/*.sql")
	if err != nil {
		panic(err) // the pattern is a constant
	}
	return names
})

// newest is the form that this program writes.
func newest() int { return len(steps()) }

// migrate brings the book to the newest form, whole or not at all. Of several
// processes that try at once, one does it and the others find it done.
func (b *Book) migrate(ctx context.Context) error {
	return b.update(ctx, func(tx *sql.Tx) error { return migrate(ctx, tx, newest()) })
}

func migrate(ctx context.Context, tx *sql.Tx, to int) error {
	var version int
	if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return err
	}
	if version >= to {
		return nil // a form that is too new is refused by update
	}
	for _, name := range steps()[version:to] {
		text, err := schema.ReadFile(name)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, string(text)); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	_, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d; PRAGMA application_id = %d", to, application))
	return err
}

// update runs f in a transaction that holds the write lock from its beginning.
// f may run again, from a clean state, when another process was in the way.
func (b *Book) update(ctx context.Context, f func(*sql.Tx) error) error {
	return explain(b.path, patiently(ctx, func() error {
		tx, err := b.write.BeginTx(ctx, nil)
		if err != nil {
			return err
		}
		defer tx.Rollback() // does nothing after Commit
		// A newer program may have brought the book to its form meanwhile.
		var version int
		if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
			return err
		}
		if version > newest() {
			return newer(b.path, version)
		}
		if err := f(tx); err != nil {
			return err
		}
		return tx.Commit()
	}))
}

// patiently tries again while another process is in the way. SQLite waits by
// itself for ordinary locks; it does not while a log is recovered after a
// crash, while the last connection tidies up, or while the journal mode changes.
func patiently(ctx context.Context, f func() error) error {
	const tries = 60
	for try := 1; ; try++ {
		err := f()
		if c := code(err); c != codeBusy && c != codeLocked && c != codeProtocol || try == tries {
			return err
		}
		timer := time.NewTimer(time.Duration(min(try, 10)) * 5 * time.Millisecond)
		select {
		case <-ctx.Done():
			timer.Stop()
			return ctx.Err()
		case <-timer.C:
		}
	}
}
