package sqlbook

import (
	"database/sql"
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "modernc.org/sqlite"

	"shadedrill/scoring/record"
)

// Somebody's sittings are listed from an index that holds every column of the list, in
// their order: a column that is added to the list belongs into the index as well.
func TestSittingsAreListedFromAnIndex(t *testing.T) {
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	files, err := filepath.Glob("../sqlite/schema/*.sql")
	if err != nil || len(files) < 13 {
		t.Fatalf("%d forms of the book, %v", len(files), err)
	}
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := db.Exec(string(text)); err != nil {
			t.Fatal(name, err)
		}
	}
	for _, f := range []record.Filter{{Learner: "L1"}, {Learner: "L1", Within: "panel:P1"}, {Learner: "L1", Unfinished: true}} {
		query, args := listing(f)
		rows, err := db.Query("EXPLAIN QUERY PLAN "+query, args...)
		if err != nil {
			t.Fatal(err)
		}
		var plan []string
		for rows.Next() {
			var id, parent, unused int
			var step string
			if err := rows.Scan(&id, &parent, &unused, &step); err != nil {
				t.Fatal(err)
			}
			plan = append(plan, step)
		}
		rows.Close()
		all := strings.Join(plan, "; ")
		if !strings.Contains(all, "SEARCH s USING COVERING INDEX sitting_listed") || strings.Contains(all, "B-TREE") {
			t.Errorf("%+v: %s", f, all)
		}
	}
}
