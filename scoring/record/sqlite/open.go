// Package sqlite keeps a book in one SQLite file.
//
// Writing goes through one connection, in immediate transactions that are on
// the disk when they end (WAL, synchronous FULL); reading has connections of
// its own and never waits for a writer. Several processes may have one book
// open.
package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"modernc.org/sqlite" // also registers the driver
	bare "zombiezen.com/go/sqlite"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlbook"
)

// Book is a record.Book in an SQLite file.
type Book struct {
	*sqlbook.Book
	path  string
	write *sql.DB // one connection
	read  *sql.DB
	bare  *bareReaders

	file     os.FileInfo // of what was opened; nil in memory
	lost     bool        // that is not in its place any more
	readOnly bool
	memory   *sql.DB      // holds a book in memory
	versions [2]*sql.Stmt // form of the book, and number of its schema; nil until it is open
}

var _ record.Store = (*Book)(nil)

// Open opens the book at path. A book that is not there is made, with the
// folders above it; an older one is brought up to date; a newer one is refused
// with record.ErrNewer and left as it is.
func Open(ctx context.Context, path string) (*Book, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, unreachable(path, err)
	}
	version := 0
	switch info, err := os.Stat(path); {
	case errors.Is(err, fs.ErrNotExist):
		if hasLog(path) {
			return nil, strayLog(path)
		}
		if rescued, _ := filepath.Glob(path + ".rescued-*"); len(rescued) > 0 {
			last := rescued[len(rescued)-1]
			return nil, fault.New("there is no book at "+path+", but what was saved of it lies beside it: "+filepath.Base(last),
				"give "+filepath.Base(last)+" the name "+filepath.Base(path)+", or name it with --book")
		}
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return nil, unreachable(path, err)
		}
		if err := makePrivate(path); err != nil && !errors.Is(err, fs.ErrExist) {
			return nil, unreachable(path, err)
		}
	case err != nil:
		return nil, unreachable(path, err)
	case info.IsDir():
		return nil, fault.New("cannot open the book "+path+": it is a folder", "name the book itself, not its folder")
	case !info.Mode().IsRegular():
		return nil, fault.New("cannot open the book "+path+": it is not an ordinary file", "name a file in a folder of your own")
	case info.Size() == 0 && hasLog(path):
		return nil, strayLog(path)
	case info.Size() > 0:
		if version, err = peek(ctx, path); err != nil {
			return nil, err
		}
	}
	// A book of an earlier release may lie open to others. Whoever does not own it
	// cannot change that.
	_ = os.Chmod(path, 0o600)
	b := newBook(path)
	if b.file, err = os.Stat(path); err != nil {
		return nil, unreachable(path, err)
	}
	if b.write, err = pool(path, 1, writing); err != nil {
		return nil, explain(path, err)
	}
	if b.read, err = readers(source(path, reading)); err != nil {
		return nil, explain(path, err)
	}
	if version < newest() {
		if err := b.Update(ctx, func(*sqlbook.Writer) error { return nil }); err != nil {
			b.Close()
			return nil, err
		}
	}
	if err := b.keep(ctx); err != nil {
		b.Close()
		return nil, err
	}
	return b, nil
}

// What every transaction asks first: the form of the book, and another number each time
// that words were taken out.
const (
	askForm      = "PRAGMA user_version"
	askForgotten = "PRAGMA schema_version"
)

// keep makes the opened book ready: what is read comes from there, and the statements
// of every transaction and every answer are compiled once.
func (b *Book) keep(ctx context.Context) error {
	if err := b.Reads(ctx, b.read); err != nil {
		return err
	}
	// As tables in one statement they would be compiled anew at every use.
	for i, query := range []string{askForm, askForgotten} {
		err := patiently(ctx, func() (err error) {
			b.versions[i], err = b.write.PrepareContext(ctx, query)
			return err
		})
		if err != nil {
			return explain(b.path, err)
		}
	}
	return b.Keep(ctx, b.write)
}

func newBook(path string) *Book {
	b := &Book{path: path, bare: &bareReaders{}}
	b.Book = sqlbook.New(engine{b}, dialect)
	return b
}

// Path is where the book lies.
func (b *Book) Path() string { return b.path }

// Close closes the book. The writer goes last: it tidies the log away.
func (b *Book) Close() error {
	switch {
	case b.write == nil:
		err := b.read.Close()
		if b.memory != nil {
			err = errors.Join(err, b.memory.Close())
		}
		return explain(b.path, err)
	case b.lost:
		// Closing would delete by its name a log that may be another book's by now. The
		// log's pages go into the file that was opened; the log stays.
		_, err := b.write.Exec("PRAGMA wal_checkpoint(PASSIVE)")
		return explain(b.path, err)
	}
	return explain(b.path, errors.Join(b.bare.close(), b.read.Close(), b.write.Close()))
}

// The settings of a connection. They stand in the name of the source, so that
// every connection has them. waitMS is how long SQLite itself waits for a lock. A connection that reads
// keeps 1 MB of pages: reports go through a book once, and pages that are not asked for
// again only push others out of the processor's own memory.
const (
	waitMS  = "10000"
	writing = "mode=rw&_txlock=immediate&_pragma=busy_timeout(" + waitMS + ")&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=foreign_keys(1)"
	reading = "mode=rw&_pragma=busy_timeout(" + waitMS + ")&_pragma=query_only(1)&_pragma=cache_size(-1000)"
)

func pool(path string, most int, settings string) (*sql.DB, error) {
	db, err := sql.Open("sqlite", source(path, settings))
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(most)
	db.SetConnMaxIdleTime(0)
	return db, nil
}

// source names a file to SQLite, whatever characters are in its path.
func source(path, settings string) string {
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") { // C:/…
		path = "/" + path
	}
	return "file://" + (&url.URL{Path: path}).EscapedPath() + "?" + settings
}

// application marks a book among SQLite files: "shdr".
const application = 0x73686472

// peek reads a book's version without changing a byte of it. As long as there
// is no log beside the file nobody is writing to it, and it can be read without
// making one.
func peek(ctx context.Context, path string) (version int, err error) {
	settings := "mode=ro&_pragma=busy_timeout(" + waitMS + ")"
	if info, err := os.Stat(path + "-wal"); err != nil || info.Size() == 0 {
		settings += "&immutable=1"
	}
	db, err := pool(path, 1, settings)
	if err != nil {
		return 0, explain(path, err)
	}
	defer db.Close()
	var mark, tables int
	err = patiently(ctx, func() error {
		return db.QueryRowContext(ctx, `SELECT (SELECT user_version FROM pragma_user_version), (SELECT application_id FROM pragma_application_id),
			(SELECT count(*) FROM sqlite_master)`).Scan(&version, &mark, &tables)
	})
	switch {
	case err != nil:
		return 0, explain(path, err)
	case mark != application && (tables > 0 || mark != 0):
		return 0, fault.New("cannot open the book "+path+": it is a database of another program", notABook)
	case version > newest():
		return 0, newer(path, version)
	}
	return version, nil
}

const notABook = "name a book of shadedrill, or a file that is not there yet to begin a new one"

func newer(path string, version int) error {
	return fault.Wrap(fmt.Errorf("cannot open the book %s (form %d, this program knows up to %d): %w", path, version, newest(), record.ErrNewer), "update shadedrill; the book was left untouched")
}

// The codes of SQLite's results that are told apart here (sqlite.org/rescode.html).
const (
	codeBusy     = 5
	codeLocked   = 6
	codeReadOnly = 8
	codeIO       = 10
	codeCorrupt  = 11
	codeFull     = 13
	codeCantOpen = 14
	codeProtocol = 15
	codeNotADB   = 26
)

// code is SQLite's primary code of an error, by whichever way it was asked; 0 of another
// error.
func code(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code() & 0xff
	}
	if c := bare.ErrCode(err); c != bare.ResultError { // which other errors have as well
		return int(c.ToPrimary())
	}
	return 0
}

const elsewhere = "name another place with --book, in a folder you may write to"

// explain says what an error of the database means for whoever has the book,
// and what to do.
func explain(path string, err error) error {
	var already *fault.Error
	if err == nil || errors.As(err, &already) {
		return err
	}
	say := func(what, advice string) error {
		return fault.Wrap(fmt.Errorf("the book %s %s: %w", path, what, err), advice)
	}
	switch code(err) {
	case codeBusy, codeLocked, codeProtocol:
		return say("is held by another program", "close other programs that have it open, then try again")
	case codeReadOnly:
		return say("cannot be written to", elsewhere)
	case codeIO:
		return say("cannot be read or written", "check the disk; copy the book to another one")
	case codeCorrupt:
		return say("is damaged", `make a copy of it, then see "shadedrill book check"`)
	case codeFull:
		return say("has no room on its disk", "make room; every answer given so far is kept")
	case codeCantOpen:
		return say("cannot be opened", elsewhere)
	case codeNotADB:
		return say("is not a book", notABook)
	}
	return err
}

// strayLog is the error where a log lies without its book: a new book would destroy
// it.
func strayLog(path string) error {
	return fault.New("there is no book at "+path+", but its log lies there with answers in it ("+path+"-wal)",
		`put the book back in its place, or save what the log holds: shadedrill book salvage `+path+` -o NEW.db`)
}

// unreachable is the error for a path that leads nowhere.
func unreachable(path string, err error) error {
	var pathError *fs.PathError
	if errors.As(err, &pathError) {
		err = pathError.Err
	}
	return fault.Wrap(fmt.Errorf("cannot open the book %s: %w", path, err), elsewhere)
}
