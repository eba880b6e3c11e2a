package postgres

import (
	"context"
	"crypto/rand"
	"database/sql"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strconv"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlbook"
)

// The forms of the book, in order. Their numbers are those of a book in a file, and
// file n brings a book from the form before to n; the first one makes it. A file that has
// been released is never changed again.
//
//go:embed schema/*.sql
var schema embed.FS

// step is what brings a book to a form.
type step struct {
	form int
	text string
}

var steps = sync.OnceValue(func() (list []step) {
	names, err := fs.Glob(schema, "schema/*.sql") // sorted
	if err != nil {
		panic(err) // the pattern is a constant
	}
	for _, name := range names {
		form, err := strconv.Atoi(path.Base(name)[:4])
		text, readErr := schema.ReadFile(name)
		if err := errors.Join(err, readErr); err != nil {
			panic(err) // the files are part of the program
		}
		list = append(list, step{form, string(text)})
	}
	return list
})

// newest is the form that this program writes.
func newest() int { return steps()[len(steps())-1].form }

// migrating is the number of the advisory lock that whoever changes a book's form holds,
// so that of several servers which start at once one does it.
const migrating = 0x73686472 // "shdr"

// form is what form the book is of; 0 where there is none. A database that holds
// something else is refused.
func (b *Book) form(ctx context.Context, q interface {
	QueryRowContext(context.Context, string, ...any) *sql.Row
}) (form int, err error) {
	var marked bool
	var others int
	var in sql.NullString
	err = q.QueryRowContext(ctx, `SELECT to_regclass('shadedrill') IS NOT NULL, current_schema(),
		(SELECT count(*) FROM pg_catalog.pg_class c JOIN pg_catalog.pg_namespace n ON n.oid = c.relnamespace WHERE n.nspname = current_schema() AND c.relkind IN ('r', 'p', 'v'))`).
		Scan(&marked, &in, &others)
	switch {
	case err != nil:
		return 0, err
	case marked:
		err = q.QueryRowContext(ctx, "SELECT form FROM shadedrill").Scan(&form)
		return form, err
	case !in.Valid:
		return 0, fault.New("the book "+b.name+" has no schema to lie in, or this role may not look into it", "make the schema that the address names (search_path), and grant its use")
	case others > 0:
		return 0, fault.New("cannot open the book "+b.name+": the database holds something else", "name an empty database, or a schema of its own (?search_path=NAME)")
	}
	return 0, nil
}

// otherForm is the error for a book of another form than this program's.
func (b *Book) otherForm(form int) error {
	if form > newest() {
		return fault.Wrap(fmt.Errorf("cannot open the book %s (form %d, this program knows up to %d): %w", b.name, form, newest(), record.ErrNewer), "update shadedrill; the book was left untouched")
	}
	return fault.New(fmt.Sprintf("the book %s is of form %d now, before this program's %d", b.name, form, newest()), "an older copy was put in its place: start this program anew")
}

// migrate brings the book to the newest form, whole or not at all. Of several servers
// that try at once, one does it and the others find it done.
func (b *Book) migrate(ctx context.Context) error {
	conn, err := b.db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if _, err := tx.ExecContext(ctx, "SELECT pg_advisory_xact_lock($1)", migrating); err != nil {
		return err
	}
	form, err := b.form(ctx, tx)
	if err != nil {
		return err
	}
	if form > 0 { // whoever writes now is waited for
		if _, err := tx.ExecContext(ctx, "LOCK TABLE shadedrill IN ACCESS EXCLUSIVE MODE"); err != nil {
			return err
		}
	}
	if form >= newest() {
		return nil
	}
	return b.Run(ctx, conn, tx, 0, func(w *sqlbook.Writer) error {
		for _, s := range steps() {
			if s.form <= form {
				continue
			}
			if _, err := tx.ExecContext(ctx, s.text, pgx.QueryExecModeSimpleProtocol); err != nil {
				return fmt.Errorf("form %d: %w", s.form, err)
			}
		}
		if form > 0 {
			_, err := tx.ExecContext(ctx, "UPDATE shadedrill SET form = $1", newest())
			return err
		}
		if _, err := tx.ExecContext(ctx, "INSERT INTO shadedrill (id, form, forgotten) VALUES (1, $1, 0)", newest()); err != nil {
			return err
		}
		var name [16]byte
		var secret [32]byte
		rand.Read(name[:])
		rand.Read(secret[:])
		w.Unsealed = true
		_, err := tx.ExecContext(ctx, "INSERT INTO book (id, ulid, at, secret) VALUES (1, $1, $2, $3)", hex.EncodeToString(name[:]), time.Now().UnixMilli(), secret[:])
		return err
	})
}
