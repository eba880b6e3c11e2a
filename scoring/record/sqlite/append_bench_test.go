package sqlite_test

import (
	"database/sql"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/record/sqlite"
)

// BenchmarkAppend measures an answer on the disk beside its peer: the same row put into
// the same table by a plain INSERT in a transaction of its own, without a chain. They
// take turns, so that what else the machine does meets both.
func BenchmarkAppend(b *testing.B) {
	path := filepath.Join(b.TempDir(), "book.db")
	book, err := sqlite.Open(ctx, path)
	if err != nil {
		b.Fatal(err)
	}
	defer book.Close()
	s := recordtest.Begin(b, book, recordtest.Person(b, book, "Ada Finch"), 0)
	if err := book.Append(ctx, recordtest.Plain(s, 0)); err != nil {
		b.Fatal(err)
	}
	plain := plainBook(b)
	var own, peer timer
	i := 0
	for b.Loop() {
		i++
		own.time(func() {
			if err := book.Append(ctx, recordtest.Plain(s, i)); err != nil {
				b.Fatal(err)
			}
		})
		peer.time(func() { plain(i) })
	}
	b.ReportMetric(own.median()/1e3, "µs/append")
	b.ReportMetric(peer.median()/1e3, "µs/plain")
	b.ReportMetric(own.median()/peer.median(), "times-plain")
}

// plainBook puts answers into a book of its own, an INSERT and a commit each.
func plainBook(b *testing.B) func(i int) {
	path := filepath.Join(b.TempDir(), "plain.db")
	book, err := sqlite.Open(ctx, path)
	if err != nil {
		b.Fatal(err)
	}
	s := recordtest.Begin(b, book, recordtest.Person(b, book, "Ada Finch"), 0)
	if err := book.Append(ctx, recordtest.Plain(s, 0)); err != nil {
		b.Fatal(err)
	}
	list := recordtest.All(b, book, record.Filter{})
	if err := book.Close(); err != nil || len(list) != 1 {
		b.Fatal(err, len(list))
	}
	db, err := sql.Open("sqlite", "file:"+path+"?_txlock=immediate&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=foreign_keys(1)")
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { db.Close() })
	db.SetMaxOpenConns(1)
	rows, err := db.Query("SELECT * FROM attempt")
	if err != nil {
		b.Fatal(err)
	}
	names, err := rows.Columns()
	if err != nil || !rows.Next() {
		b.Fatal(err)
	}
	cells, pointers := make([]any, len(names)), make([]any, len(names))
	for i := range cells {
		pointers[i] = &cells[i]
	}
	if err := rows.Scan(pointers...); err != nil {
		b.Fatal(err)
	}
	rows.Close()
	insert := "INSERT INTO attempt VALUES (?" + strings.Repeat(", ?", len(names)-1) + ")"
	return func(i int) {
		tx, err := db.Begin()
		if err != nil {
			b.Fatal(err)
		}
		cells[1] = i
		if _, err := tx.Exec(insert, cells...); err != nil {
			b.Fatal(err)
		}
		if err := tx.Commit(); err != nil {
			b.Fatal(err)
		}
	}
}

// timer keeps what each of many runs took, in nanoseconds.
type timer []float64

func (t *timer) time(f func()) {
	at := time.Now()
	f()
	*t = append(*t, float64(time.Since(at)))
}

func (t timer) median() float64 {
	slices.Sort(t)
	return t[len(t)/2]
}
