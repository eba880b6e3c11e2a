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
	"sync/atomic"
	"syscall"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record/sqlbook"
)

// OpenToRead opens a book for whoever only wants to read it: as Open does, and where
// neither the file nor its folder can be written to, without writing. Nothing can be
// entered into such a book.
func OpenToRead(ctx context.Context, path string) (*Book, error) {
	b, err := Open(ctx, path)
	if err == nil || !Unwritable(err) {
		return b, err
	}
	return openReadOnly(ctx, path)
}

// OpenToLook opens a book without writing a byte, wherever it lies; one of an older form
// stays as it is.
func OpenToLook(ctx context.Context, path string) (*Book, error) { return openReadOnly(ctx, path) }

// Unwritable tells from the error of [Open] that a book may be readable all the same.
func Unwritable(err error) bool {
	c := code(err)
	return c == codeReadOnly || c == codeCantOpen || errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS)
}

// immutable reads a file that nobody writes to, without locks and without a log.
const immutable = "mode=ro&immutable=1&_pragma=query_only(1)&_pragma=cache_size(-8000)"

// openReadOnly opens a book without writing a byte. One of an older form is copied
// into memory and brought up to date there.
func openReadOnly(ctx context.Context, path string) (*Book, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, unreachable(path, err)
	}
	settings := immutable
	if hasLog(path) {
		// Another program has it open, or had when the file was copied.
		settings = strings.Replace(reading, "mode=rw", "mode=ro", 1)
	}
	b := newBook(path)
	b.readOnly = true
	if b.read, err = readers(source(path, settings)); err != nil {
		return nil, explain(path, err)
	}
	var version int
	if err := patiently(ctx, func() error { return b.read.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version) }); err != nil {
		b.read.Close()
		if hasLog(path) && Unwritable(err) {
			return nil, fault.Wrap(fmt.Errorf("the book %s cannot be read here: a log with its latest answers lies beside it, and reading that needs a folder that can be written to: %w", path, err),
				"copy "+filepath.Base(path)+" and "+filepath.Base(path)+"-wal together into a folder of your own, and name the copy with --book")
		}
		return nil, explain(path, err)
	}
	if version > newest() {
		b.read.Close()
		return nil, newer(path, version)
	}
	if version < newest() {
		old := b.read
		defer old.Close()
		if err := b.inMemory(ctx, old); err != nil {
			return nil, explain(path, err)
		}
	}
	if err := b.Reads(ctx, b.read); err != nil {
		b.Close()
		return nil, err
	}
	return b, nil
}

// copies counts the books in memory, whose names must differ within the process.
var copies atomic.Int64

func memoryName() string {
	return fmt.Sprintf("file:/shadedrill-%d-%d?vfs=memdb", os.Getpid(), copies.Add(1))
}

// inMemory copies the book into memory, which both pools then use, and brings the
// copy up to date.
func (b *Book) inMemory(ctx context.Context, from *sql.DB) error {
	memory := memoryName()
	keep, err := sql.Open("sqlite", memory+"&_txlock=immediate&_pragma=foreign_keys(1)")
	if err != nil {
		return err
	}
	keep.SetMaxOpenConns(1)
	keep.SetConnMaxIdleTime(0)
	if err := keep.PingContext(ctx); err != nil { // as long as it is open the memory is kept
		return err
	}
	if _, err := from.ExecContext(ctx, "PRAGMA query_only = 0; VACUUM INTO '"+memory+"'"); err != nil {
		keep.Close()
		return err
	}
	b.write, b.readOnly = keep, false
	if err := b.Update(ctx, func(*sqlbook.Writer) error { return nil }); err != nil {
		keep.Close()
		return err
	}
	b.readOnly, b.write, b.memory = true, nil, keep
	b.read, err = readers(memory + "&_pragma=query_only(1)")
	return err
}

// hasLog reports whether a log with something in it lies beside the book.
func hasLog(path string) bool {
	info, err := os.Stat(path + "-wal")
	return err == nil && info.Size() > 0
}

// onlyToRead is the error for writing into a book that was opened without.
func (b *Book) onlyToRead() error {
	return fault.New("the book "+b.path+" can only be read here", `copy it with "shadedrill book backup" into a folder that you may write to, and name the copy with --book`)
}

// readOnly opens a file without writing to it.
func readOnly(ctx context.Context, path string) (*sql.DB, error) {
	db, err := pool(path, 1, "mode=ro&_pragma=busy_timeout("+waitMS+")")
	if err != nil {
		return nil, err
	}
	var n int
	err = patiently(ctx, func() error { return db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_master").Scan(&n) })
	if err != nil && Unwritable(err) && !hasLog(path) {
		db.Close()
		return pool(path, 1, "mode=ro&immutable=1") // without query_only, which forbids copying as well
	}
	return db, nil // another error comes again where it is told
}
