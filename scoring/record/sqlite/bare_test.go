package sqlite

import (
	"bytes"
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record/sqlbook"
)

const mixed = "SELECT n, word, part, packed FROM mixed WHERE n > ? AND word <> ? ORDER BY n"

// mixedBook is a book with a table beside its own, of every kind of cell.
func mixedBook(t *testing.T) *Book {
	t.Helper()
	b, err := Open(context.Background(), filepath.Join(t.TempDir(), "book.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	writeTo(t, b, `CREATE TABLE mixed (n INTEGER, word TEXT, part REAL, packed BLOB);
		INSERT INTO mixed VALUES (1, 'no', 1.5, NULL), (2, 'größer', NULL, x'00ff'), (-9223372036854775808, '', -0.0, x''), (3, '', 1e300, x'61'), (4, 'no', 2, NULL)`)
	b.bare.asked = fewReadings
	return b
}

func writeTo(t *testing.T, b *Book, what string) {
	t.Helper()
	if _, err := b.write.Exec(what); err != nil {
		t.Fatal(err)
	}
}

// gathered are the rows of the question, in words.
func gathered(read sqlbook.Reading, take func() bool) (list []string, more bool, err error) {
	more, err = read(context.Background(), mixed, []any{-5, "no"}, make([]driver.Value, 4), func(row []driver.Value) (bool, error) {
		list = append(list, fmt.Sprintf("%#v", row))
		return take(), nil
	})
	return list, more, err
}

func always() bool { return true }

// A bare connection gives the rows that the driver gives, to the last bit of each cell.
func TestBareRows(t *testing.T) {
	b := mixedBook(t)
	err := engine{b}.Snapshot(context.Background(), func(m sqlbook.Moment) error {
		conn, err := b.read.Conn(context.Background())
		if err != nil {
			return err
		}
		defer conn.Close()
		want, _, err := gathered(sqlbook.RawRows(conn), always)
		if err != nil {
			return err
		}
		got, more, err := gathered(m.Rows, always)
		if !slices.Equal(got, want) || len(got) != 2 || !more || err != nil {
			t.Errorf("%v, %v, %v\nnot %v", got, more, err, want)
		}
		// Left before its end, and asked once more.
		if got, more, err := gathered(m.Rows, func() bool { return false }); len(got) != 1 || more || err != nil {
			t.Errorf("left early: %v, %v, %v", got, more, err)
		}
		if got, _, err := gathered(m.Rows, always); !slices.Equal(got, want) || err != nil {
			t.Errorf("once more: %v, %v", got, err)
		}
		gone, cancel := context.WithCancel(context.Background())
		cancel()
		_, err = m.Rows(gone, mixed, []any{0, ""}, make([]driver.Value, 4), func([]driver.Value) (bool, error) { return true, nil })
		if !errors.Is(err, context.Canceled) {
			t.Errorf("called off: %v", err)
		}
		if _, err := m.Rows(context.Background(), "SELECT nothing", nil, nil, nil); err == nil {
			t.Error("an answer to a question that is none")
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(b.bare.idle) != 1 {
		t.Errorf("%d connections are kept, so that none was used, or one was lost", len(b.bare.idle))
	}
}

// Whatever is committed between the first question and the rows, by this program or
// another, does not come into the rows of a moment; and the next moment has it.
func TestBareRowsAreOfTheSameMoment(t *testing.T) {
	other := func(t *testing.T, b *Book, what string) {
		t.Helper()
		db, err := pool(b.path, 1, writing)
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		if _, err := db.Exec(what); err != nil {
			t.Fatal(err)
		}
	}
	for name, write := range map[string]func(*testing.T, *Book, string){"this program": writeTo, "another": other} {
		t.Run(name, func(t *testing.T) {
			b := mixedBook(t)
			count := func(meanwhile func()) (before, after int) {
				t.Helper()
				err := engine{b}.Snapshot(context.Background(), func(m sqlbook.Moment) error {
					if err := m.Tx.QueryRow("SELECT count(*) FROM mixed WHERE n > -5 AND word <> 'no'").Scan(&before); err != nil {
						return err
					}
					meanwhile()
					list, _, err := gathered(m.Rows, always)
					after = len(list)
					return err
				})
				if err != nil {
					t.Fatal(err)
				}
				return before, after
			}
			for round := range 5 {
				want := 2 + round
				before, after := count(func() { write(t, b, "INSERT INTO mixed VALUES (10, 'yes', 0, NULL)") })
				if before != want || after != want {
					t.Errorf("round %d: %d rows and then %d of one moment, want %d", round, before, after, want)
				}
			}
			if before, after := count(func() {}); before != 7 || after != 7 {
				t.Errorf("afterwards %d rows, then %d", before, after)
			}
			if len(b.bare.idle) != 1 {
				t.Errorf("%d connections are kept", len(b.bare.idle))
			}
		})
	}
}

// What is read in the middle of rows finds a connection as well, and closing the book in
// the middle closes them all.
func TestBareReadersWithinEachOther(t *testing.T) {
	b := mixedBook(t)
	var outer, inner *bareReader
	if outer, inner = b.bare.take(b), b.bare.take(b); outer == nil || inner == nil || outer == inner {
		t.Fatal("no two connections")
	}
	b.bare.end(inner)
	if again := b.bare.take(b); again != inner {
		t.Error("a connection that came back is not used again")
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	b.bare.end(outer)
	b.bare.end(inner)
	if len(b.bare.idle) != 0 {
		t.Error("a closed book keeps connections")
	}
	if b.bare.take(b) != nil {
		t.Error("a closed book is read")
	}
}

// Where another book lies in the place of the one that was opened, it is not read.
func TestBareReadersOfAnotherFile(t *testing.T) {
	b := mixedBook(t)
	b.bare.end(b.bare.take(b))
	other, err := Open(context.Background(), b.path+".other")
	if err != nil {
		t.Fatal(err)
	}
	other.Close()
	if err := os.Rename(b.path+".other", b.path); err != nil {
		t.Skip("a file that is open cannot be replaced here")
	}
	if b.bare.take(b) != nil {
		t.Error("a connection that was kept is used beside a book that may be the other")
	}
	if b.bare.take(b) != nil {
		t.Error("the other book is read")
	}
}

// Damage is called that, by whichever way it is met.
func TestDamageMetByBareReaders(t *testing.T) {
	b := mixedBook(t)
	writeTo(t, b, "INSERT INTO mixed VALUES (100, 'word', 0.5, zeroblob(500))")
	for range 11 {
		writeTo(t, b, "INSERT INTO mixed SELECT n + (SELECT max(n) FROM mixed), 'word', 0.5, zeroblob(500) FROM mixed WHERE n > 99")
	}
	writeTo(t, b, "PRAGMA wal_checkpoint(TRUNCATE)")
	info, err := os.Stat(b.path)
	if err != nil {
		t.Fatal(err)
	}
	file, err := os.OpenFile(b.path, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	const page = 4096
	rubbish := bytes.Repeat([]byte{0xff}, page)
	for at := info.Size() / page / 2; at < info.Size()/page; at++ {
		if _, err := file.WriteAt(rubbish, at*page); err != nil {
			t.Fatal(err)
		}
	}
	file.Close()
	for _, way := range []string{"the driver", "a bare connection"} {
		b.bare.asked = 0
		if way != "the driver" {
			b.bare.asked = fewReadings
		}
		err := engine{b}.Snapshot(context.Background(), func(m sqlbook.Moment) error {
			_, _, err := gathered(m.Rows, always)
			return err
		})
		if err == nil || !strings.Contains(err.Error(), "is damaged") || fault.Hint(err) == "" {
			t.Errorf("by %s: %v", way, err)
		}
	}
	if len(b.bare.idle) != 1 {
		t.Error("no bare connection was used")
	}
}

// What is no error of SQLite has no code of it.
func TestCodeOfOtherErrors(t *testing.T) {
	for _, err := range []error{nil, errors.New("another"), os.ErrNotExist, context.Canceled} {
		if c := code(err); c != 0 {
			t.Errorf("%v has the code %d", err, c)
		}
	}
}
