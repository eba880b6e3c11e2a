package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"shadedrill/colour/fault"
	"shadedrill/scoring/draft"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlbook"
)

// Check verifies the book at path, file and record, and changes nothing in a
// damaged one; a sound one of an older form is brought up to date as any command
// would. form is the book's.
//
// The file comes first (pages, indexes, references between tables, columns that
// say a thing twice); only when it is sound is the record read from end to end,
// see [record.Verify]. What cannot even be opened is an error.
func Check(ctx context.Context, path string, progress func(answers int)) (found record.Inventory, form int, err error) {
	path, err = filepath.Abs(path)
	if err != nil {
		return found, 0, unreachable(path, err)
	}
	if form, err = peek(ctx, path); err != nil {
		if c := code(err); c != codeCorrupt && c != codeNotADB {
			return found, 0, err
		}
		found.Find("%s", reasonOf(err))
		return found, 0, nil
	}
	if err := checkFile(ctx, path, &found); err != nil {
		return found, form, err
	}
	if !found.Sound() {
		return found, form, nil
	}
	book, err := OpenToRead(ctx, path)
	if err != nil {
		return found, form, err
	}
	defer book.Close()
	form = newest()
	if err := book.checkLayout(ctx, &found); err != nil || !found.Sound() {
		return found, form, err
	}
	found, err = record.Verify(ctx, book, progress)
	if err == nil {
		err = book.CheckTwice(ctx, &found)
	}
	if err == nil {
		err = book.CheckForms(ctx, &found)
	}
	if err == nil {
		err = book.CheckSeals(ctx, &found)
	}
	return found, form, err
}

// reasonOf takes the database's own words out of an explained error.
func reasonOf(err error) string {
	var p *fault.Error
	if errors.As(err, &p) {
		if cause := errors.Unwrap(p.Unwrap()); cause != nil {
			return cause.Error()
		}
	}
	return err.Error()
}

// checkFile lets SQLite look at its own file.
func checkFile(ctx context.Context, path string, found *record.Inventory) error {
	db, err := readOnly(ctx, path)
	if err != nil {
		return explain(path, err)
	}
	defer db.Close()
	return checkPages(ctx, path, db, found)
}

func checkPages(ctx context.Context, path string, db *sql.DB, found *record.Inventory) error {
	look := func(query string, say func(sqlbook.Scanner) error) error {
		err := rows(ctx, db, query, say)
		switch code(err) {
		case codeCorrupt, codeNotADB:
			found.Find("%s", reasonOf(err))
			return nil
		}
		return explain(path, err)
	}
	err := look("PRAGMA integrity_check(20)", func(rows sqlbook.Scanner) error {
		var line string
		if err := rows.Scan(&line); err != nil || line == "ok" {
			return err
		}
		// The first line may hold a heading above several.
		for _, part := range strings.Split(line, "\n") {
			if part != "" && !strings.HasPrefix(part, "***") {
				found.Find("the file: %s", part)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	return look("SELECT \"table\", rowid, parent FROM pragma_foreign_key_check", func(rows sqlbook.Scanner) error {
		var table, parent string
		var row sql.NullInt64
		if err := rows.Scan(&table, &row, &parent); err != nil {
			return err
		}
		found.Find("a row of the table %s points to a row of %s that is not there", table, parent)
		return nil
	})
}

// Backup copies the book at path, which may be in use, to another file: the
// copy is of one moment, and complete or not there at all. An existing file is
// replaced only when told, and never one that is in use, nor the book itself.
func Backup(ctx context.Context, path, to string, replace bool) error {
	path, err := filepath.Abs(path)
	if err != nil {
		return unreachable(path, err)
	}
	if _, err := peek(ctx, path); err != nil {
		return err
	}
	from, err := os.Stat(path)
	if err != nil {
		return unreachable(path, err)
	}
	if from.Size() < mostInMemory {
		return place(to, from, replace, draft.New, func(out *draft.File) error { return copyByMemory(ctx, path, out.File) })
	}
	return place(to, from, replace, draft.Named, func(out *draft.File) error { return copyByFile(ctx, path, out.Name()) })
}

// CopyOf writes a book that lies elsewhere into a new file, whole or not at all; progress
// is told how many rows of how many are there. replace is as in [Backup].
func CopyOf(ctx context.Context, from *sqlbook.Book, to string, replace bool, progress func(rows, of int)) error {
	return place(to, nil, replace, draft.Named, func(out *draft.File) error {
		book, err := Open(ctx, out.Name())
		if err != nil {
			return err
		}
		err = book.CopyFrom(ctx, from, progress)
		if err = errors.Join(err, book.Close()); err != nil {
			return err
		}
		return checkCopy(ctx, out.Name())
	})
}

// place has a draft of a copy written and puts it in its place.
// from is the file of the book itself, if it lies in one.
func place(to string, from os.FileInfo, replace bool, begin func(to string) (*draft.File, error), write func(*draft.File) error) error {
	shown := to
	refuse := func(what, advice string) error {
		return fault.New("cannot copy the book to "+shown+": "+what, advice)
	}
	const elsewhere = "name a new file, in a folder you may write to"
	to, err := filepath.Abs(to)
	if err != nil {
		return unreachable(to, err)
	}
	switch there, err := os.Stat(to); {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return refuse(err.Error(), elsewhere)
	case from != nil && os.SameFile(from, there):
		return refuse("it is the book itself", elsewhere)
	case !there.Mode().IsRegular():
		return refuse("it is not an ordinary file", elsewhere)
	case !replace:
		return refuse("it is there already", "name a new file, or say --force to replace it")
	default:
		if log, err := os.Stat(to + "-wal"); err == nil && log.Size() > 0 {
			return refuse("it is a book in use", elsewhere)
		}
	}
	out, err := begin(to)
	if err != nil {
		return refuse("its folder cannot be written to", elsewhere)
	}
	defer out.Discard()
	if err := write(out); err != nil {
		return err
	}
	if err := out.Put(replace); err != nil {
		return refuse(err.Error(), elsewhere)
	}
	// Not every system lets a folder be synced; the copy itself is on the disk.
	_ = settle(filepath.Dir(to))
	return nil
}

// mostInMemory is how large a book may be that is copied by way of memory. A larger one
// has a draft with a name beside the copy, which may stay when the program is killed.
const mostInMemory = 400 << 20

// copyByMemory writes a copy of one moment into a file that nobody can name yet.
func copyByMemory(ctx context.Context, path string, out *os.File) error {
	db, err := readOnly(ctx, path)
	if err != nil {
		return explain(path, err)
	}
	defer db.Close()
	memory := memoryName()
	keep, err := sql.Open("sqlite", memory)
	if err != nil {
		return err
	}
	defer keep.Close()
	keep.SetMaxOpenConns(1)
	keep.SetConnMaxIdleTime(0)
	if err := keep.PingContext(ctx); err != nil { // as long as it is open the memory is kept
		return err
	}
	if err := patiently(ctx, func() error { _, err := db.ExecContext(ctx, "VACUUM INTO ?", memory); return err }); err != nil {
		return explain(path, err)
	}
	var found record.Inventory
	if err := checkPages(ctx, path, keep, &found); err != nil {
		return err
	}
	if err := soundCopy(found); err != nil {
		return err
	}
	conn, err := keep.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	return conn.Raw(func(c any) error {
		content, err := c.(interface{ Serialize() ([]byte, error) }).Serialize()
		if err == nil {
			_, err = out.Write(content)
		}
		return err
	})
}

func copyByFile(ctx context.Context, path, to string) error {
	db, err := readOnly(ctx, path)
	if err != nil {
		return explain(path, err)
	}
	defer db.Close()
	err = patiently(ctx, func() error {
		if err := os.Truncate(to, 0); err != nil { // of a try before
			return err
		}
		_, err := db.ExecContext(ctx, "VACUUM INTO ?", to)
		return err
	})
	if err != nil {
		return explain(path, err)
	}
	return checkCopy(ctx, to)
}

func checkCopy(ctx context.Context, path string) error {
	var found record.Inventory
	if err := checkFile(ctx, path, &found); err != nil {
		return err
	}
	return soundCopy(found)
}

func soundCopy(found record.Inventory) error {
	if found.Sound() {
		return nil
	}
	return fault.New(fmt.Sprintf("the copy of the book is damaged (%s)", found.Findings[0]), `see "shadedrill book check"`)
}

// settle waits until a file, or the entries of a folder, are on the disk. Windows
// does that only for a file that may be written to.
func settle(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		f, err = os.Open(path) // a folder
	}
	if err != nil {
		return err
	}
	defer f.Close()
	return f.Sync()
}
