package sqlite

import (
	"context"
	"embed"
	"fmt"
	"io/fs"
	"sync"
	"time"

	"shadedrill/scoring/record/sqlbook"
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
func migrate(ctx context.Context, w *sqlbook.Writer, version, to int) error {
	for _, name := range steps()[version:to] {
		text, err := schema.ReadFile(name)
		if err != nil {
			return err
		}
		if _, err := w.Tx.ExecContext(ctx, string(text)); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	w.Unsealed = true
	if version < firstChained && to >= firstChained {
		if err := takeOver(ctx, w); err != nil {
			return err
		}
	}
	if version > 0 && version < firstAlike && to >= firstAlike {
		if err := readAlike(ctx, w); err != nil {
			return err
		}
	}
	_, err := w.Tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d; PRAGMA application_id = %d", to, application))
	return err
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
