//go:build unix

package postgres_test

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres"
	"shadedrill/scoring/record/postgres/postgrestest"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/record/sqlbook"
)

// The two drivers keep books of the same forms: the numbers of their files end alike, and
// each table has the same columns. Whoever adds a form to one adds it to the other.
func TestFormsAreThoseOfAFile(t *testing.T) {
	last := func(folder string) string {
		files, err := filepath.Glob(filepath.Join(folder, "*.sql"))
		if err != nil || len(files) == 0 {
			t.Fatal(err, folder)
		}
		return filepath.Base(files[len(files)-1])[:4]
	}
	if file, database := last("../sqlite/schema"), last("schema"); file != database {
		t.Errorf("a file is of form %s and a database of form %s", file, database)
	}
}

func columns(t *testing.T, driver, source, query string) map[string][]string {
	t.Helper()
	db, err := sql.Open(driver, source)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.Query(query)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	list := map[string][]string{}
	for rows.Next() {
		var table, column string
		if err := rows.Scan(&table, &column); err != nil {
			t.Fatal(err)
		}
		list[table] = append(list[table], column)
	}
	for _, l := range list {
		slices.Sort(l)
	}
	return list
}

func TestTablesAreThoseOfAFile(t *testing.T) {
	address := postgrestest.Address(t)
	open(t, address)
	path := filepath.Join(t.TempDir(), "book.db")
	openFile(t, path)
	file := columns(t, "sqlite", path, `SELECT m.name, c.name FROM sqlite_schema m, pragma_table_info(m.name) c WHERE m.name NOT LIKE 'sqlite_%'`)
	database := columns(t, "pgx", address, `SELECT table_name, column_name FROM information_schema.columns WHERE table_schema = 'public' AND table_name NOT IN ('shadedrill', 'receipt')`)
	if d := cmp.Diff(file, database); d != "" {
		t.Errorf("(-file +database):\n%s", d)
	}
	// And every one of them is copied.
	delete(file, "answers") // a view
	tables := make([]string, 0, len(file))
	for name := range file {
		tables = append(tables, name)
	}
	slices.Sort(tables)
	if known := slices.Sorted(slices.Values(sqlbook.Tables)); !slices.Equal(tables, known) {
		t.Errorf("a copy has the tables %v, and the book %v", known, tables)
	}
}

// Eight servers find an empty database at once: one makes the book, all have it.
func TestManyBeginAtOnce(t *testing.T) {
	address := postgrestest.Address(t)
	ids := make([]string, 8)
	var all sync.WaitGroup
	for i := range ids {
		all.Go(func() {
			b, err := postgres.Open(ctx, address)
			if err != nil {
				t.Error(err)
				return
			}
			defer b.Close()
			ids[i] = b.ID()
		})
	}
	all.Wait()
	if len(slices.Compact(ids)) != 1 || ids[0] == "" {
		t.Errorf("they have the books %v", ids)
	}
}

// The server is killed while a book is being made: nothing of it is there afterwards, and
// the next one who opens it makes it.
func TestKilledWhileTheBookIsMade(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a server of its own")
	}
	s := postgrestest.New(t)
	address := s.Database(t)
	// Somebody else is about to make a table of the same name as one of the last: the
	// making waits for what becomes of that, in its middle.
	other, err := sql.Open("pgx", address)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	tx, err := other.Begin()
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback()
	if _, err := tx.Exec("CREATE TABLE signed_in (x INTEGER)"); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() {
		b, err := postgres.Open(ctx, address)
		if err == nil {
			b.Close()
		}
		ended <- err
	}()
	watch, err := sql.Open("pgx", address)
	if err != nil {
		t.Fatal(err)
	}
	defer watch.Close()
	for until := time.Now().Add(30 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		var waiting int
		if err := watch.QueryRow("SELECT count(*) FROM pg_stat_activity WHERE application_name = 'shadedrill' AND wait_event_type = 'Lock'").Scan(&waiting); err != nil {
			t.Fatal(err)
		}
		if waiting > 0 {
			break
		}
		if time.Now().After(until) {
			t.Fatal("the making does not wait")
		}
	}
	s.Kill()
	if err := <-ended; err == nil {
		t.Fatal("the book was made, on a server that is dead")
	}
	if err := s.Start(); err != nil {
		t.Fatal(err)
	}
	if n := len(columns(t, "pgx", address, "SELECT table_name, column_name FROM information_schema.columns WHERE table_schema = 'public'")); n != 0 {
		t.Errorf("%d tables of half a book are there", n)
	}
	b := open(t, address)
	recordtest.Person(t, b, "Ada Finch")
	if err := b.Whole(ctx, record.Filter{}); err != nil {
		t.Error(err)
	}
}

// A newer book is refused and left as it is, also by a server that had it open before.
func TestNewerIsRefused(t *testing.T) {
	address := postgrestest.Address(t)
	before := open(t, address)
	ada := recordtest.Person(t, before, "Ada Finch")
	execute(t, address, "UPDATE shadedrill SET form = form + 1; ALTER TABLE learner ADD COLUMN later BIGINT")
	if _, err := postgres.Open(ctx, address); !errors.Is(err, record.ErrNewer) || !strings.Contains(err.Error(), "form ") || fault.Hint(err) == "" {
		t.Errorf("a newer book: %v", err)
	}
	if err := before.SetRole(ctx, ada.ID, "lead", recordtest.Noon); !errors.Is(err, record.ErrNewer) {
		t.Errorf("writing into a book that is newer by now: %v", err)
	}
}

// A database that holds something else is not written into.
func TestOthersAreLeftAlone(t *testing.T) {
	address := postgrestest.Address(t)
	execute(t, address, "CREATE TABLE somebodys (x INTEGER)")
	if _, err := postgres.Open(ctx, address); err == nil || !strings.Contains(err.Error(), "something else") {
		t.Errorf("opened: %v", err)
	}
	// A schema of its own is another matter.
	execute(t, address, "CREATE SCHEMA drills")
	b := open(t, address+"&search_path=drills")
	recordtest.Person(t, b, "Ada Finch")
	if _, err := postgres.Open(ctx, address+"&search_path=nowhere"); err == nil || fault.Hint(err) == "" {
		t.Errorf("a schema that is not there: %v", err)
	}
	if got := columns(t, "pgx", address, "SELECT table_name, column_name FROM information_schema.columns WHERE table_schema = 'public'"); len(got) != 1 {
		t.Errorf("the other tables are %v now", got)
	}
}

func TestOpenThereMakesNoBook(t *testing.T) {
	address := postgrestest.Address(t)
	if _, err := postgres.OpenThere(ctx, address); err == nil || !strings.Contains(err.Error(), "no book") {
		t.Errorf("opened: %v", err)
	}
	if got := columns(t, "pgx", address, "SELECT table_name, column_name FROM information_schema.columns WHERE table_schema = 'public'"); len(got) != 0 {
		t.Errorf("asking has made %v", got)
	}
}

// Who runs a book whose database acknowledges too early is told.
func TestTooEarlyIsTold(t *testing.T) {
	address := postgrestest.Address(t)
	if n := open(t, address).Notes(); len(n) != 0 {
		t.Errorf("notes on a sound set-up: %q", n)
	}
	if n := open(t, address+"&synchronous_commit=off").Notes(); len(n) != 1 || !strings.Contains(n[0], "synchronous_commit") {
		t.Errorf("notes on one that acknowledges before it writes: %q", n)
	}
}

func execute(t *testing.T, address, text string) {
	t.Helper()
	if err := tryExecute(address, text); err != nil {
		t.Fatal(err)
	}
}

func tryExecute(address, text string) error {
	db, err := sql.Open("pgx", address+"&default_query_exec_mode=simple_protocol")
	if err != nil {
		return err
	}
	defer db.Close()
	_, err = db.ExecContext(context.Background(), text)
	return err
}

func heavy(t testing.TB) {
	t.Helper()
	if os.Getenv("SHADEDRILL_HEAVY") == "" {
		t.Skip("set SHADEDRILL_HEAVY=1")
	}
}
