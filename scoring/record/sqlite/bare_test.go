package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

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
	return Hurried(b)
}

// Hurried has the rows of a book read by bare connections from its first question on.
func Hurried(b *Book) *Book {
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
	more, err = read(context.Background(), mixed, []any{-5, "no"}, func(row sqlbook.Row) (bool, error) {
		text := ""
		for i := range 4 {
			text += fmt.Sprintf("%#v %t", row.Value(i), row.Null(i))
			switch row.Value(i).(type) {
			case int64:
				text += fmt.Sprint(" ", row.Int(i))
			case float64:
				text += fmt.Sprint(" ", row.Float(i))
			case string:
				text += fmt.Sprintf(" %q", row.Text(i))
			case []byte:
				text += fmt.Sprintf(" %q", row.Blob(i))
			case nil:
				text += fmt.Sprint(" ", row.Int(i), row.Float(i), row.Text(i), row.Blob(i) == nil)
			}
			text += "; "
		}
		list = append(list, text)
		return take(), nil
	})
	return list, more, err
}

func always() bool { return true }

// byDriver reads in a transaction of the pool.
func byDriver(b *Book) sqlbook.Reading {
	return func(ctx context.Context, query string, args []any, take func(sqlbook.Row) (bool, error)) (more bool, err error) {
		err = engine{b}.Snapshot(ctx, func(m sqlbook.Moment) error {
			more, err = m.Rows(ctx, query, args, take)
			return err
		})
		return more, err
	}
}

// quick reads by a bare connection.
func quick(t *testing.T, b *Book) (sqlbook.Reading, func()) {
	t.Helper()
	read, end := engine{b}.Quick()
	if read == nil {
		t.Fatal("no bare connection")
	}
	return read, end
}

// A bare connection gives the rows that the driver gives, to the last bit of each cell.
func TestBareRows(t *testing.T) {
	b := mixedBook(t)
	want, _, err := gathered(byDriver(b), always)
	if err != nil {
		t.Fatal(err)
	}
	read, end := quick(t, b)
	got, more, err := gathered(read, always)
	if !slices.Equal(got, want) || len(got) != 2 || !more || err != nil {
		t.Errorf("%v, %v, %v\nnot %v", got, more, err, want)
	}
	// Left before its end, and asked once more.
	if got, more, err := gathered(read, func() bool { return false }); len(got) != 1 || more || err != nil {
		t.Errorf("left early: %v, %v, %v", got, more, err)
	}
	if got, _, err := gathered(read, always); !slices.Equal(got, want) || err != nil {
		t.Errorf("once more: %v, %v", got, err)
	}
	gone, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := read(gone, mixed, []any{0, ""}, func(sqlbook.Row) (bool, error) { return true, nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("called off: %v", err)
	}
	if _, err := read(context.Background(), "SELECT nothing", nil, nil); err == nil {
		t.Error("an answer to a question that is none")
	}
	if _, err := read(context.Background(), mixed, []any{0}, nil); err == nil {
		t.Error("a question asked with half of what it is about, the other half being that of the time before")
	}
	end()
	if len(b.bare.idle) != 1 {
		t.Errorf("%d connections are kept: one was lost", len(b.bare.idle))
	}
}

// What a row is scanned into takes what database/sql would put there, and refuses what it
// would refuse.
func TestScanOfRows(t *testing.T) {
	type name string
	type all struct {
		n      int64
		word   string
		part   float64
		truth  bool
		packed []byte
		none   []byte
		no     sql.NullInt64
		yes    sql.NullInt64
		small  int
		named  name
		any    any
	}
	places := func(a *all) []any {
		return []any{&a.n, &a.word, &a.part, &a.truth, &a.packed, &a.none, &a.no, &a.yes, &a.small, &a.named, &a.any}
	}
	b := mixedBook(t)
	const question = "SELECT 7, 'word', 2.5, 1, x'0102', NULL, NULL, 8, 9, 'named', NULL"
	var want all
	if err := b.read.QueryRow(question).Scan(places(&want)...); err != nil {
		t.Fatal(err)
	}
	bare, end := quick(t, b)
	defer end()
	for way, read := range map[string]sqlbook.Reading{"a bare connection": bare, "the driver": byDriver(b)} {
		got := all{none: []byte("before"), any: "before"}
		_, err := read(context.Background(), question, nil, func(row sqlbook.Row) (bool, error) {
			return true, row.Scan(places(&got)...)
		})
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("by %s: %+v, %v\nnot %+v", way, got, err, want)
		}
		var raw sql.RawBytes
		_, err = read(context.Background(), "SELECT x'03ff'", nil, func(row sqlbook.Row) (bool, error) { return true, row.Scan(&raw) })
		if err != nil || string(raw) != "\x03\xff" {
			t.Errorf("by %s: %x, %v", way, raw, err)
		}
		for what, to := range map[string]any{"SELECT NULL": new(string), "SELECT NULL + 1": new(int64), "SELECT 1": new(time.Time)} {
			_, err := read(context.Background(), what, nil, func(row sqlbook.Row) (bool, error) { return true, row.Scan(to) })
			if err == nil {
				t.Errorf("by %s: %s was taken as a %T", way, what, to)
			}
		}
	}
}

// What asks finds the same by either way, whatever kind its arguments are of.
func TestArgumentsOfBareRows(t *testing.T) {
	type name string
	b := mixedBook(t)
	bare, end := quick(t, b)
	defer end()
	for way, read := range map[string]sqlbook.Reading{"a bare connection": bare, "the driver": byDriver(b)} {
		var got [4]any
		_, err := read(context.Background(), "SELECT ?, ?, ?, ?", []any{7, name("named"), true, nil}, func(row sqlbook.Row) (bool, error) {
			return true, row.Scan(&got[0], &got[1], &got[2], &got[3])
		})
		if want := [4]any{int64(7), "named", int64(1), nil}; err != nil || got != want {
			t.Errorf("by %s: %#v, %v", way, got, err)
		}
	}
}

// Whatever is committed between two questions, by this program or another, does not come
// into the rows of a moment; and the next moment has it.
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
				read, end := quick(t, b)
				defer end()
				rows := func() int {
					list, _, err := gathered(read, always)
					if err != nil {
						t.Fatal(err)
					}
					return len(list)
				}
				before = rows()
				meanwhile()
				return before, rows()
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
		read := byDriver(b)
		if way != "the driver" {
			bare, end := quick(t, b)
			defer end()
			read = bare
		}
		_, _, err := gathered(read, always)
		err = b.Explain(err)
		if err == nil || !strings.Contains(err.Error(), "is damaged") || fault.Hint(err) == "" {
			t.Errorf("by %s: %v", way, err)
		}
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
