//go:build unix

package postgres_test

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	_ "modernc.org/sqlite"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres/postgrestest"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/record/sqlbook"
	"shadedrill/scoring/record/sqlite"
)

// rowsIn are all rows of a file, as text, by table.
func rowsIn(t *testing.T, path string) map[string][]string {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	all := map[string][]string{}
	for _, table := range sqlbook.Tables {
		rows, err := db.Query("SELECT * FROM " + table)
		if err != nil {
			t.Fatal(err)
		}
		names, err := rows.Columns()
		if err != nil {
			t.Fatal(err)
		}
		for rows.Next() {
			cells, pointers := make([]any, len(names)), make([]any, len(names))
			for i := range cells {
				pointers[i] = &cells[i]
			}
			if err := rows.Scan(pointers...); err != nil {
				t.Fatal(err)
			}
			var line bytes.Buffer
			for i, v := range cells {
				fmt.Fprintf(&line, "%s=%T:%v ", names[i], v, v)
			}
			all[table] = append(all[table], line.String())
		}
		if err := rows.Close(); err != nil {
			t.Fatal(err)
		}
		slices.Sort(all[table])
	}
	return all
}

// everything is a book with a row in every table, and some that were changed since.
func everything(t *testing.T, book record.Store) {
	t.Helper()
	check := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	rng := rand.New(rand.NewPCG(1, 2))
	ada, bo, cy := recordtest.Person(t, book, "Ada Finch"), recordtest.Person(t, book, "Bo Größe"), recordtest.Person(t, book, "Cy 色合")
	class := recordtest.Class(t, book, "Autumn", ada, bo, cy)
	sheet := recordtest.Sheet(t)
	check(book.PutSheet(ctx, sheet))
	for i, who := range []scoring.Learner{ada, bo, cy} {
		s := recordtest.RandomSitting(who.ID, scoring.SittingID(fmt.Sprint("sitting-", i)), rng)
		check(book.StartSitting(ctx, s))
		for n := range 50 {
			check(book.Append(ctx, recordtest.RandomAttempt(s, n, rng)))
		}
		check(book.EndSitting(ctx, s.ID, recordtest.RandomTime(rng), i == 0))
	}
	recordtest.Begin(t, book, ada, 5)
	as := recordtest.RandomAssignment(class.ID, rng)
	as.Setup.SheetID = ""
	given, err := book.AddAssignment(ctx, as)
	check(err)
	check(book.PutRuling(ctx, given.ID, scoring.Ruling{What: scoring.Excused, Learner: ada.ID, Why: "ill", By: bo.ID, At: recordtest.Noon}))
	_, err = record.LayDown(ctx, book, recordtest.Form(t, "spring", 1, 4, sheet, "value-first"))
	check(err)
	_, err = book.AddPanel(ctx, record.Panel{Name: "Morning", By: bo.ID, At: recordtest.Noon, Setup: exercises.Setup{Kind: exercises.ValueFirst, Seed: 1, Count: 1, Repeats: 1}})
	check(err)
	check(book.PutAccount(ctx, record.Account{Learner: ada.ID, Hash: "h", At: recordtest.Noon}))
	check(book.PutTicket(ctx, record.Ticket{ID: "t", Hash: "h", Kind: record.TicketClass, Class: class.ID, At: recordtest.Noon, Until: recordtest.Noon, Uses: 3}))
	check(book.PutSignedIn(ctx, record.SignedIn{ID: "s", Hash: "h", Learner: ada.ID, At: recordtest.Noon, Seen: recordtest.Noon}))
	check(book.WriteServed(ctx, record.Served{At: recordtest.Noon, What: "something", Class: class.ID}))
	_, err = book.JoinLearners(ctx, bo.ID, cy.ID, recordtest.Noon)
	check(err)
}

// A book that goes from a file into a database and from there into another file is the
// same, row by row, value by value, whatever is in it.
func TestCopiedThereAndBackIsTheSame(t *testing.T) {
	address := postgrestest.Address(t)
	folder := t.TempDir()
	first, err := sqlite.Open(ctx, filepath.Join(folder, "first.db"))
	if err != nil {
		t.Fatal(err)
	}
	everything(t, first)
	into := open(t, address)
	told, of := 0, 0
	if err := into.CopyFrom(ctx, first.Book, func(n, total int) { told, of = n, total }); err != nil {
		t.Fatal(err)
	}
	if told != of || told < 150 {
		t.Errorf("progress ended at %d of %d", told, of)
	}
	if into.ID() != first.ID() {
		t.Error("the copy is another book")
	}
	if found, _, err := into.Check(ctx, func(int) {}); err != nil || !found.Sound() {
		t.Errorf("the copy is not sound: %v %v", err, found.Findings)
	}
	if err := sqlite.CopyOf(ctx, into.Book, filepath.Join(folder, "second.db"), false, func(int, int) {}); err != nil {
		t.Fatal(err)
	}
	if err := first.Close(); err != nil {
		t.Fatal(err)
	}
	want, got := rowsIn(t, filepath.Join(folder, "first.db")), rowsIn(t, filepath.Join(folder, "second.db"))
	for _, table := range sqlbook.Tables {
		if len(want[table]) == 0 {
			t.Errorf("the test has no row of the table %s", table)
		}
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-first +second):\n%s", d)
	}
	// What is entered next fits in.
	recordtest.Begin(t, into, recordtest.Person(t, into, "Di Later"), 9)
	if err := into.Whole(ctx, record.Filter{}); err != nil {
		t.Error(err)
	}
	// A second copy into the same place is refused, and changes nothing.
	if err := into.CopyFrom(ctx, into.Book, func(int, int) {}); err == nil || !strings.Contains(err.Error(), "already") {
		t.Errorf("a copy over a book: %v", err)
	}
}

// A copy that breaks off leaves nothing behind.
func TestCopyBrokenOffLeavesNothing(t *testing.T) {
	address := postgrestest.Address(t)
	first, err := sqlite.Open(ctx, filepath.Join(t.TempDir(), "first.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer first.Close()
	everything(t, first)
	into := open(t, address)
	short, stop := context.WithCancel(ctx)
	defer stop()
	if err := into.CopyFrom(short, first.Book, func(n, of int) {
		if n > of/2 {
			stop()
		}
	}); err == nil {
		t.Fatal("it was not broken off")
	}
	if people, err := into.Learners(ctx); err != nil || len(people) != 0 {
		t.Errorf("%d people are there, %v", len(people), err)
	}
	if err := into.CopyFrom(ctx, first.Book, func(int, int) {}); err != nil {
		t.Errorf("the second try: %v", err)
	}
}

func openFile(t *testing.T, path string) *sqlite.Book {
	t.Helper()
	b, err := sqlite.Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}
