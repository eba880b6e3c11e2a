package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"path/filepath"
	"testing"
)

// What is kept compiled gives the rows that asking anew would give: asked once more while
// it is being answered, left before its end, after a failure, after the tables were
// changed by somebody else, and when more was asked than is kept.
func TestCompiledQuestions(t *testing.T) {
	path := filepath.Join(t.TempDir(), "numbers")
	write, err := sql.Open("sqlite", source(path, "mode=rwc"))
	if err != nil {
		t.Fatal(err)
	}
	defer write.Close()
	do := func(what string) {
		t.Helper()
		if _, err := write.Exec(what); err != nil {
			t.Fatal(err)
		}
	}
	do("CREATE TABLE n (v INTEGER); INSERT INTO n VALUES (1), (2), (3)")
	read, err := readers(source(path, "mode=ro"))
	if err != nil {
		t.Fatal(err)
	}
	defer read.Close()
	ctx := context.Background()
	conn, err := read.Conn(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	const beyond = "SELECT v FROM n WHERE v > ? ORDER BY v"
	sum := func(query string, args ...any) (s int, err error) {
		rows, err := conn.QueryContext(ctx, query, args...)
		if err != nil {
			return 0, err
		}
		defer rows.Close()
		for rows.Next() {
			var v int
			if err := rows.Scan(&v); err != nil {
				return 0, err
			}
			s += v
		}
		return s, rows.Err()
	}
	is := func(want int, query string, args ...any) {
		t.Helper()
		if got, err := sum(query, args...); err != nil || got != want {
			t.Errorf("%s with %v: %d instead of %d, %v", query, args, got, want, err)
		}
	}
	is(5, beyond, 1)
	is(3, beyond, 2)
	rows, err := conn.QueryContext(ctx, beyond, 0)
	if err != nil {
		t.Fatal(err)
	}
	for n := 1; rows.Next(); n++ {
		var v int
		if rows.Scan(&v); v != n {
			t.Errorf("row %d is %d after the same was asked", n, v)
		}
		is(3, beyond, 2)
	}
	rows.Close()
	if rows, err = conn.QueryContext(ctx, beyond, 0); err == nil {
		rows.Next()
		rows.Close() // two are left
	}
	is(6, beyond, 0)
	for range 2 {
		if _, err := sum("SELECT abs(v - 9223372036854775807 - 2) FROM n"); err == nil {
			t.Error("a number too large for its column was read")
		}
	}
	do("ALTER TABLE n ADD COLUMN w; DELETE FROM n WHERE v = 3; CREATE INDEX by_v ON n (v)")
	is(2, beyond, 1)
	do("DROP TABLE n")
	if _, err := sum(beyond, 1); err == nil {
		t.Error("a table that is gone was read")
	}
	do("CREATE TABLE n (v INTEGER); INSERT INTO n VALUES (7)")
	is(7, beyond, 1)
	for i := range 2 * mostCompiled {
		is(i, fmt.Sprintf("SELECT %d", i))
	}
	if err := conn.Raw(func(c any) error {
		if n := len(c.(*reader).compiled); n != mostCompiled {
			t.Errorf("%d questions are kept", n)
		}
		return nil
	}); err != nil {
		t.Error(err)
	}
}
