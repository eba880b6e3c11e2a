package sqlite_test

import (
	"database/sql"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record/recordtest"
)

// Every row of every table that has a place for a seal is sealed, and what was decided
// about an assignment cannot be changed in the file without being named.
func TestEverySealIsPutAndHeldAgainst(t *testing.T) {
	path := slight(t)
	book := open(t, path)
	a, err := book.Assignment(ctx, 1)
	if err != nil {
		t.Fatal(err)
	}
	ada, err := book.LearnerByName(ctx, "Ada Finch")
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range []scoring.Ruling{
		{What: scoring.Extended, Learner: ada.ID, Until: a.Due.Add(time.Hour)}, {What: scoring.Dropped, Item: 2, Why: "its picture was torn", By: ada.ID},
		{What: scoring.Excused, Learner: ada.ID},
	} {
		r.At = recordtest.Noon
		if err := book.PutRuling(ctx, a.ID, r); err != nil {
			t.Fatal(err)
		}
	}
	if err := book.Close(); err != nil {
		t.Fatal(err)
	}
	if found := check(t, path); !found.Sound() {
		t.Fatalf("as it was written: %q", found.Findings)
	}
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	tables := []string{}
	rows, err := db.Query("SELECT t.name FROM sqlite_schema t, pragma_table_info(t.name) c WHERE t.type = 'table' AND c.name = 'seal' ORDER BY t.name")
	if err != nil {
		t.Fatal(err)
	}
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		tables = append(tables, name)
	}
	if err := rows.Err(); err != nil || len(tables) < 9 {
		t.Fatalf("tables %v, %v", tables, err)
	}
	for _, name := range tables {
		var all, unsealed int
		if err := db.QueryRow("SELECT count(*), count(*) FILTER (WHERE seal IS NULL) FROM "+name).Scan(&all, &unsealed); err != nil {
			t.Fatal(err)
		}
		if all == 0 || unsealed > 0 {
			t.Errorf("table %s: %d rows, %d of them without a seal", name, all, unsealed)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	forged := filepath.Join(t.TempDir(), "forged.db")
	for _, statement := range []string{
		"UPDATE ruling SET until = until + 3600000 WHERE what = 'extended'", "UPDATE ruling SET learner = 2 WHERE what = 'extended'",
		"UPDATE ruling SET item = 1 WHERE what = 'dropped'", "UPDATE ruling SET why = 'too hard' WHERE what = 'dropped'",
		"UPDATE ruling SET until = learner, learner = NULL WHERE what = 'excused'", // the same values in other columns
		"UPDATE ruling SET back = 1 WHERE what = 'dropped'", "UPDATE ruling SET decider = NULL WHERE what = 'dropped'",
	} {
		if err := os.WriteFile(forged, whole, 0o600); err != nil {
			t.Fatal(err)
		}
		execute(t, forged, statement)
		if all := strings.Join(check(t, forged).Findings, "\n"); !strings.Contains(all, `"what was decided about an assignment" in the table ruling was changed without the program`) {
			t.Errorf("%s: %q", statement, all)
		}
	}
}
