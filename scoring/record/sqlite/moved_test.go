package sqlite_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/record/sqlite"
)

// A book that is moved, deleted or replaced while it is open takes no answer as if
// nothing had happened; everything goes into a new one beside it, and on from there.
func TestABookThatIsTakenAwayIsRescued(t *testing.T) {
	for name, takeAway := range map[string]func(t *testing.T, path string){
		"moved":   func(t *testing.T, path string) { rename(t, path, path+".elsewhere") },
		"deleted": func(t *testing.T, path string) { os.Remove(path) },
		"deleted with its log": func(t *testing.T, path string) {
			os.Remove(path)
			os.Remove(path + "-wal")
			os.Remove(path + "-shm")
		},
		"its log deleted": func(t *testing.T, path string) { os.Remove(path + "-wal") },
		"replaced": func(t *testing.T, path string) {
			other := open(t, path+".other")
			recordtest.Person(t, other, "Ben Moor")
			other.Close()
			rename(t, path+".other", path)
		},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "book.db")
			book := open(t, path)
			s := recordtest.Begin(t, book, recordtest.Person(t, book, "Ada Finch"), 0)
			for i := range 5 {
				if err := book.Append(ctx, recordtest.Plain(s, i)); err != nil {
					t.Fatal(err)
				}
			}
			takeAway(t, path)
			err := book.Append(ctx, recordtest.Plain(s, 5))
			if !errors.Is(err, record.ErrDisplaced) || fault.Hint(err) == "" || strings.HasSuffix(err.Error(), ": ") {
				t.Fatalf("error %v, want one that says that the book is not in its place", err)
			}
			to, err := book.Rescue(ctx)
			if err != nil || to != path+".rescued-1" {
				t.Fatalf("rescued into %q, %v", to, err)
			}
			for i := 5; i < 8; i++ { // the one that was refused first
				if err := book.Append(ctx, recordtest.Plain(s, i)); err != nil {
					t.Fatal(err)
				}
			}
			if n := len(recordtest.All(t, book, record.Filter{})); n != 8 {
				t.Errorf("%d answers after it", n)
			}
			if err := book.Close(); err != nil {
				t.Fatal(err)
			}
			if found := check(t, to); !found.Sound() || found.Answers != 8 {
				t.Errorf("the new book: %+v", found)
			}
			if info, err := os.Stat(to); err != nil || info.Mode().Perm() != 0o600 {
				t.Errorf("the new book's rights: %v, %v", info.Mode(), err)
			}
			if name == "replaced" {
				if found := check(t, path); !found.Sound() || found.People != 1 || found.Answers != 0 {
					t.Errorf("the book that took its place: %+v", found)
				}
			}
			if name == "moved" {
				if found := check(t, path+".elsewhere"); !found.Sound() || found.Answers != 5 {
					t.Errorf("the book that was moved: %+v", found)
				}
			}
			if log, err := os.Stat(path + "-wal"); err == nil && log.Size() > 0 && name != "its log deleted" {
				t.Errorf("a log of %d bytes stays without its book", log.Size())
			}
		})
	}
}

func rename(t *testing.T, from, to string) {
	t.Helper()
	if err := os.Rename(from, to); err != nil {
		t.Fatal(err)
	}
}

// Where a log lies without its book no new book is made over it.
func TestALogWithoutItsBookIsLeftAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	log := []byte("what a log holds")
	for _, empty := range []bool{false, true} {
		if err := os.WriteFile(path+"-wal", log, 0o600); err != nil {
			t.Fatal(err)
		}
		if empty {
			if err := os.WriteFile(path, nil, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := sqlite.Open(ctx, path); err == nil || !strings.Contains(err.Error(), "its log lies there") || !strings.Contains(fault.Hint(err), "book salvage") {
			t.Errorf("error %v", err)
		}
		if got, err := os.ReadFile(path + "-wal"); err != nil || string(got) != string(log) {
			t.Errorf("the log was touched: %q, %v", got, err)
		}
	}
}

// Whoever starts again where a book was taken away finds what was saved of it, not an
// empty book.
func TestNoNewBookBesideOneThatWasSaved(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	book := open(t, path)
	recordtest.Person(t, book, "Ada Finch")
	rename(t, path, path+".elsewhere")
	to, err := book.Rescue(ctx)
	if err != nil {
		t.Fatal(err)
	}
	book.Close()
	if _, err := sqlite.Open(ctx, path); err == nil || !strings.Contains(err.Error(), filepath.Base(to)) {
		t.Errorf("error %v", err)
	}
}
