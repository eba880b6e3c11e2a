package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"

	"shadedrill/colour/fault"
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
	look := func(query string, say func(rows *sql.Rows) error) error {
		err := rows(ctx, db, query, say)
		switch code(err) {
		case codeCorrupt, codeNotADB:
			found.Find("%s", reasonOf(err))
			return nil
		}
		return explain(path, err)
	}
	err = look("PRAGMA integrity_check(20)", func(rows *sql.Rows) error {
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
	return look("SELECT \"table\", rowid, parent FROM pragma_foreign_key_check", func(rows *sql.Rows) error {
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
	return place(ctx, to, from, replace, func(draft string) error { return copyTo(ctx, path, draft) })
}

// CopyOf writes a book that lies elsewhere into a new file, whole or not at all; progress
// is told how many rows of how many are there. replace is as in [Backup].
func CopyOf(ctx context.Context, from *sqlbook.Book, to string, replace bool, progress func(rows, of int)) error {
	return place(ctx, to, nil, replace, func(draft string) error {
		book, err := Open(ctx, draft)
		if err != nil {
			return err
		}
		err = book.CopyFrom(ctx, from, progress)
		return errors.Join(err, book.Close())
	})
}

// place has a draft of a copy written beside its place, looks at it and puts it there.
// from is the file of the book itself, if it lies in one.
func place(ctx context.Context, to string, from os.FileInfo, replace bool, write func(draft string) error) error {
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
	sweep(filepath.Dir(to))
	draft, err := newDraft(to)
	if err != nil {
		return refuse("its folder cannot be written to", elsewhere)
	}
	defer os.Remove(draft)
	if err := write(draft); err != nil {
		return err
	}
	var found record.Inventory
	if err := checkFile(ctx, draft, &found); err != nil {
		return err
	}
	if !found.Sound() {
		return fault.New(fmt.Sprintf("the copy of the book is damaged (%s)", found.Findings[0]), `see "shadedrill book check"`)
	}
	if err := settle(draft); err != nil {
		return refuse(err.Error(), elsewhere)
	}
	if replace {
		err = os.Rename(draft, to)
	} else {
		err = os.Link(draft, to) // unlike renaming, refuses what came there meanwhile
		if err != nil && !errors.Is(err, fs.ErrExist) {
			err = os.Rename(draft, to) // a file system without links
		}
	}
	if err != nil {
		return refuse(err.Error(), elsewhere)
	}
	// Not every system lets a folder be synced; the copy itself is on the disk.
	_ = settle(filepath.Dir(to))
	return nil
}

func copyTo(ctx context.Context, path, draft string) error {
	db, err := readOnly(ctx, path)
	if err != nil {
		return explain(path, err)
	}
	defer db.Close()
	err = patiently(ctx, func() error {
		if err := os.Truncate(draft, 0); err != nil { // of a try before
			return err
		}
		_, err := db.ExecContext(ctx, "VACUUM INTO ?", draft)
		return err
	})
	return explain(path, err)
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

// A copy is written under a name of its own beside the target, which says whose it
// is. One that was killed leaves it behind; the next backup in that folder takes it
// away.
const draftName = ".shadedrill-copy-"

func newDraft(to string) (string, error) {
	f, err := os.CreateTemp(filepath.Dir(to), fmt.Sprintf("%s%d-*", draftName, os.Getpid())) // mode 0600
	if err != nil {
		return "", err
	}
	return f.Name(), f.Close()
}

// sweep removes the drafts of programs that have ended.
func sweep(folder string) {
	left, _ := filepath.Glob(filepath.Join(folder, draftName+"*"))
	for _, path := range left {
		owner, _, _ := strings.Cut(strings.TrimPrefix(filepath.Base(path), draftName), "-")
		if pid, err := strconv.Atoi(owner); err == nil && !running(pid) {
			os.Remove(path)
		}
	}
}

// running reports whether a process is there. Where that cannot be asked it is.
func running(pid int) bool {
	p, err := os.FindProcess(pid)
	if err != nil {
		return false
	}
	return !errors.Is(p.Signal(syscall.Signal(0)), os.ErrProcessDone)
}
