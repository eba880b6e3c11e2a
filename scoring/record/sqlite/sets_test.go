package sqlite_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// A sitting of each kind of set, in a book of each form that there was before sets
// were one thing, is of the set that it was of: it counts for the assignment and the
// session that the book keeps, where its form kept them.
func TestSetsInBooksOfEveryFormAreRead(t *testing.T) {
	setup := `{"kind":"value-first","version":1,"seed":7,"count":20,"repeats":2,"viewing":{"gap":1,"surround":"#404040"},"silent":true%s}`
	plain, own := fmt.Sprintf(setup, ""), fmt.Sprintf(setup, `,"order_seed":99`)
	within := []struct {
		text, setup string
		want        scoring.SetRef
	}{
		{"exam:A:2", plain, scoring.SetRef{Kind: scoring.TestSet, Name: "A", Take: 2}},
		{"panel:Spring team", own, scoring.SetRef{Kind: scoring.PanelSet, Name: "Spring team"}},
		{"assignment:assignment-one", plain, scoring.SetRef{Kind: scoring.AssignmentSet, Name: "assignment-one"}},
		{"", plain, scoring.SetRef{}},
	}
	schemas := []string{"0001_record.sql", "0002_panel.sql", "0003_classes.sql", "0004_moving.sql"}
	for form := 1; form <= len(schemas); form++ {
		path := filepath.Join(t.TempDir(), "old.db")
		for _, name := range schemas[:form] {
			text, err := os.ReadFile(filepath.Join("schema", name))
			if err != nil {
				t.Fatal(err)
			}
			execute(t, path, string(text))
		}
		execute(t, path, `INSERT INTO learner (id, ulid, name, name_key, role, at, simulated) VALUES (1, 'L1', 'Ada Finch', 'ADA FINCH', 'learner', 1900000000123, 0);
			INSERT INTO word VALUES (1, 'value-first'), (2, 'L78 C16 h86')`)
		for i, w := range within {
			execute(t, path, fmt.Sprintf(`INSERT INTO sitting (id, ulid, learner, kind, within, started, left_early, setup, display) VALUES (%d, 'S%d', 1, 'value-first', '%s', %d, 0, '%s', '{}');
				INSERT INTO attempt VALUES (%d, 0, 1900000002000, 1, 1, 0, NULL, NULL, NULL, 13150336, NULL, 13085056, 2, NULL, NULL, NULL, 1000000000, 2000000000, 1, 0, NULL)`,
				i+1, i+1, w.text, 1900000001000+i, w.setup, i+1))
		}
		if form >= 2 {
			execute(t, path, `INSERT INTO panel (name, name_key, at, setup) VALUES ('Spring team', 'SPRING TEAM', 1900000000500, '`+plain+`')`)
		}
		if form >= 3 {
			execute(t, path, `INSERT INTO class (id, ulid, name, name_key, at) VALUES (1, 'class-one', 'Spring', 'SPRING', 1900000000500);
				INSERT INTO enrolment (class, learner) VALUES (1, 1);
				INSERT INTO assignment (ulid, class, at, due, setup, pass_rule, pass_value) VALUES ('assignment-one', 1, 1900000000600, 1900000007000, '`+plain+`', 'none', 0)`)
		}
		execute(t, path, fmt.Sprintf("PRAGMA user_version = %d; PRAGMA application_id = 1936221298", form))

		book := open(t, path)
		list, err := book.Sittings(ctx, record.Filter{})
		if err != nil || len(list) != len(within) {
			t.Fatalf("form %d: %d sittings, %v", form, len(list), err)
		}
		for i, s := range list {
			if s.Set() != within[i].want || s.Set().String() != within[i].text {
				t.Errorf("form %d: the sitting within %q is of %+v", form, within[i].text, s.Set())
			}
		}
		var sets []scoring.Set
		panels, err := book.Panels(ctx)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range panels {
			sets = append(sets, p.Set())
		}
		given, err := book.Assignments(ctx, "")
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range given {
			sets = append(sets, a.Set())
		}
		if want := max(0, form-1); len(sets) != min(want, 2) {
			t.Errorf("form %d: %d sets", form, len(sets))
		}
		for _, set := range sets {
			if p, err := record.ProgressOf(ctx, book, set, "L1"); err != nil || p.Given() != 1 || p.Over() || len(p.Others) != 0 {
				t.Errorf("form %d, %s: %+v, %v", form, set.Name(), p, err)
			}
		}
		if open, err := record.OpenSets(ctx, book, "L1"); err != nil || len(open) != len(sets) {
			t.Errorf("form %d: %d sets to go on with, %v", form, len(open), err)
		}
		if err := book.Close(); err != nil {
			t.Fatal(err)
		}
	}
}
