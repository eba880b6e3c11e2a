package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record/sqlbook"
)

// Salvaged says what was saved out of a damaged book.
type Salvaged struct {
	People, Whole, Broken int      // sittings whose chain holds, and others
	Answers, Dropped      int      // read but not proved to be as they were given
	Missing               int      // counted by a chain and not to be read
	Sets                  int      // classes, assignments, calibration sessions and forms
	Lines                 []string // what could not be saved
}

func (s *Salvaged) say(format string, args ...any) {
	s.Lines = append(s.Lines, fmt.Sprintf(format, args...))
}

// Salvage reads the book at path, or its log alone, page by page, and writes a new
// book: a book of the same form is made, every row that can be read goes into it, and
// it is brought up to date and read as any book. What does not hold there goes out
// again: answers whose link does not verify, sets whose seal does not. It is the same
// book in another file, with its name and its labels. The damaged one is not written to.
func Salvage(ctx context.Context, path, to string, at time.Time) (done Salvaged, err error) {
	if path, err = filepath.Abs(path); err != nil {
		return done, unreachable(path, err)
	}
	if to, err = filepath.Abs(to); err != nil {
		return done, unreachable(to, err)
	}
	if _, err := os.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
		return done, fault.New(to+" is there already", "name a new file: nothing is overwritten")
	}
	pages, size, err := pagesOf(path)
	if err != nil {
		return done, unreachable(path, err)
	}
	if err := makePrivate(to); err != nil {
		return done, unreachable(to, err)
	}
	defer func() {
		if err != nil {
			for _, end := range []string{"", "-wal", "-shm"} {
				os.Remove(to + end)
			}
		}
	}()
	w := look(pages, size)
	found, n, err := w.rebuild(ctx, to, at, &done)
	if err != nil {
		return done, explain(to, err)
	}
	if n == 0 {
		return done, fault.New("nothing of a book can be read in "+path, notABook)
	}
	book, err := Open(ctx, to)
	if err != nil {
		return done, err
	}
	err = book.Update(ctx, func(into *sqlbook.Writer) error {
		m := mending{Writer: into, book: into.Book(), at: at, chained: w.form >= firstChained, strangers: found, done: &done}
		return m.all(ctx)
	})
	return done, errors.Join(err, book.Close())
}

// rebuild writes what can be read into a book of the same form, and puts something into
// the place of what others point to and is gone.
func (w *wreckage) rebuild(ctx context.Context, to string, at time.Time, done *Salvaged) (strangers map[int64]bool, n int, err error) {
	// Nobody misses it when the machine stops meanwhile: it is on the disk at the end.
	db, err := pool(to, 1, "mode=rw&_pragma=foreign_keys(0)&_pragma=synchronous(OFF)&_pragma=journal_mode(MEMORY)")
	if err != nil {
		return nil, 0, err
	}
	defer func() { err = errors.Join(err, db.Close(), settle(to)) }()
	for _, name := range steps()[:w.form] {
		text, err := schema.ReadFile(name)
		if err != nil {
			return nil, 0, err
		}
		if _, err := db.ExecContext(ctx, string(text)); err != nil {
			return nil, 0, err
		}
	}
	tables, err := tablesOf(ctx, db)
	if err != nil {
		return nil, 0, err
	}
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return nil, 0, err
	}
	defer tx.Rollback() // does nothing after Commit
	if tables["book"] != nil {
		// The name that an empty book was given goes, and comes back where no other is found.
		if _, err := tx.ExecContext(ctx, "CREATE TEMP TABLE own AS SELECT * FROM book; DELETE FROM book"); err != nil {
			return nil, 0, err
		}
	}
	found, n, err := w.recoverRows(ctx, tx, tables)
	if err != nil || n == 0 {
		return nil, n, err
	}
	done.Lines = append(done.Lines, w.gone(found.lost)...)
	if tables["book"] != nil {
		if _, err := tx.ExecContext(ctx, "INSERT OR IGNORE INTO book SELECT * FROM own; DROP TABLE own"); err != nil {
			return nil, n, err
		}
	}
	p := patching{tx: tx, tables: tables, ids: found.ids, at: at, done: done, strangers: map[int64]bool{}}
	if err := p.all(ctx); err != nil {
		return nil, n, err
	}
	if err := tx.Commit(); err != nil {
		return nil, n, err
	}
	_, err = db.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d; PRAGMA application_id = %d", w.form, application))
	return p.strangers, n, err
}

// ints are the numbers that a query gives.
func ints(ctx context.Context, tx *sql.Tx, query string) (list []int64, err error) {
	found, err := tx.QueryContext(ctx, query)
	if err != nil {
		return nil, err
	}
	defer found.Close()
	for found.Next() {
		var n int64
		if err := found.Scan(&n); err != nil {
			return nil, err
		}
		list = append(list, n)
	}
	return list, found.Err()
}
