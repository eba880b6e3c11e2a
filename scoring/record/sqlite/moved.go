package sqlite

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record"
)

// A book that is moved, deleted or replaced while it is open still takes what is
// written, into a file that nobody will find: SQLite has the file, not its name. So
// the name is looked at before each transaction and after it.

// inPlace is an error when the book's file is not the one that was opened.
func (b *Book) inPlace() error {
	if b.file == nil {
		return nil // in memory
	}
	now, err := os.Stat(b.path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return b.displaced("was moved or deleted while it was open")
	case err != nil:
		return unreachable(b.path, err)
	case !os.SameFile(b.file, now):
		return b.displaced("was replaced by another file while it was open")
	}
	return nil
}

// logInPlace is the same of the log, once something was written.
func (b *Book) logInPlace() error {
	if b.file == nil {
		return nil
	}
	if _, err := os.Stat(b.path + "-wal"); errors.Is(err, fs.ErrNotExist) {
		return b.displaced("has lost its log, which was moved or deleted while it was open")
	}
	return nil
}

func (b *Book) displaced(what string) error {
	b.lost = true
	return fault.Wrap(fmt.Errorf("the book %s %s%w", b.path, what, displacedMark{}), "put it back in its place and try again, or write everything into a new book beside it")
}

// displacedMark lets errors.Is find record.ErrDisplaced without saying more.
type displacedMark struct{}

func (displacedMark) Error() string        { return "" }
func (displacedMark) Is(target error) bool { return target == record.ErrDisplaced }

// Rescue writes the whole book, as it is in the file that was opened, into a new file
// beside the place where it lay, or in another folder, and goes on there. It returns
// the new path. Nobody else may use the book meanwhile.
func (b *Book) Rescue(ctx context.Context, folders ...string) (string, error) {
	if b.write == nil {
		return "", b.onlyToRead()
	}
	to, err := freeName(b.path, folders)
	if err != nil {
		return "", err
	}
	conn, err := b.write.Conn(ctx)
	if err != nil {
		return "", explain(b.path, err)
	}
	_, err = conn.ExecContext(ctx, "VACUUM INTO ?", to)
	if err == nil {
		err = settle(to)
	}
	if err != nil {
		conn.Close()
		os.Remove(to)
		return "", explain(to, err)
	}
	// The log's pages go into the file that was opened, wherever it is now, so that no
	// log with something in it stays without its book.
	_, _ = conn.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)")
	fresh, err := Open(ctx, to)
	if err != nil {
		conn.Close()
		return "", err
	}
	// The old connections are given up without being closed: closing them would delete
	// by its name a log that may be another book's by now. conn is kept for good.
	b.path, b.file, b.lost, b.write, b.read, b.bare = fresh.path, fresh.file, false, fresh.write, fresh.read, fresh.bare
	return to, b.keep(ctx)
}

// freeName makes an empty file beside path, or else in the first folder that takes
// one.
func freeName(path string, folders []string) (string, error) {
	var first error
	for _, stem := range append([]string{path}, inFolders(path, folders)...) {
		for n := 1; n < 1000; n++ {
			to := fmt.Sprintf("%s.rescued-%d", stem, n)
			err := makePrivate(to)
			if err == nil {
				return to, nil
			}
			if !errors.Is(err, fs.ErrExist) {
				if first == nil {
					first = err
				}
				break
			}
		}
	}
	return "", fault.Wrap(fmt.Errorf("no new book can be made beside %s: %w", path, first), "make room, or a folder that you may write to")
}
