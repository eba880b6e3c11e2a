package sqlite_test

import (
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/record/sqlite"
)

// formOne makes a book of the first form, as a program that knew no classes
// left it: its schema, one person, one sitting, two answers, in plain SQL.
func formOne(t *testing.T) string {
	t.Helper()
	schema, err := os.ReadFile("schema/0001_record.sql")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "old.db")
	execute(t, path, string(schema)+`
		INSERT INTO learner VALUES (1, 'L1', 'Ada Finch', 'ADA FINCH', 'lead', 1900000000123, 0);
		INSERT INTO sitting VALUES (1, 'S1', 1, 'value-first', NULL, 'exam:A:1', 1900000001000, NULL, 0,
			'{"kind":"value-first","version":1,"seed":7,"count":20,"viewing":{"gap":1,"surround":"#404040"}}', '{}', NULL);
		INSERT INTO word VALUES (1, 'value-first'), (2, 'L78 C16 h86');
		INSERT INTO attempt VALUES (1, 0, 1900000002000, 1, 1, 0, NULL, NULL, NULL, 13150336, NULL, 13085056, 2, NULL, NULL, NULL, 1000000000, 2000000000, 1, 0, NULL);
		INSERT INTO attempt VALUES (1, 1, 1900000003000, 1, 1, 1, NULL, NULL, NULL, 13150337, NULL, 13085057, 2, NULL, NULL, NULL, 1000000000, 2000000000, 2, 1, NULL);
		PRAGMA user_version = 1; PRAGMA application_id = 1936221298;`)
	return path
}

func execute(t *testing.T, path, text string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(text); err != nil {
		t.Fatal(err)
	}
}

func TestOldBookIsBroughtUpToDateAndLosesNothing(t *testing.T) {
	path := formOne(t)
	for range 2 { // the second time it is up to date already
		book := open(t, path)
		people, err := book.Learners(ctx)
		if err != nil || len(people) != 1 {
			t.Fatal(people, err)
		}
		ada := people[0]
		if ada.ID != "L1" || ada.Name != "Ada Finch" || ada.Role != scoring.RoleLead || ada.At.UnixMilli() != 1900000000123 {
			t.Errorf("the person has changed: %+v", ada)
		}
		s, err := book.Sitting(ctx, "S1")
		if err != nil || s.Setup.Seed != 7 || s.Within != "exam:A:1" || !s.Ended.IsZero() {
			t.Errorf("the sitting has changed: %+v, %v", s, err)
		}
		list := recordtest.All(t, book, record.Filter{})
		if len(list) != 2 || list[0].Trial.Target.Hex() != "#c8a880" || list[1].Answer.Tab != "L78 C16 h86" || !list[1].Answer.TimedOut {
			t.Errorf("the answers have changed: %+v", list)
		}
		if _, err := book.ClassByName(ctx, "Spring"); errors.Is(err, record.ErrNotFound) {
			recordtest.Class(t, book, "Spring", ada)
		}
		class, err := book.ClassByName(ctx, "spring")
		if err != nil {
			t.Fatal(err)
		}
		if list, err := book.Roster(ctx, class.ID); err != nil || !cmp.Equal(list, people) {
			t.Errorf("roster %v, %v", list, err)
		}
		if err := book.Append(ctx, recordtest.Plain(s, 2)); err != nil {
			t.Errorf("the sitting cannot go on: %v", err)
		}
		if err := book.Close(); err != nil {
			t.Fatal(err)
		}
		execute(t, path, "DELETE FROM attempt WHERE ordinal = 2")
	}
}

// What the third form did not know is filled in: roles and rosters count as old
// as they can be, and no number of an assignment that is gone is given again.
func TestClassesOfTheThirdFormAreKept(t *testing.T) {
	path := formOne(t)
	for _, name := range []string{"schema/0002_panel.sql", "schema/0003_classes.sql"} {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		execute(t, path, string(text))
	}
	execute(t, path, `INSERT INTO class VALUES (1, 'class-one', 'Spring', 'SPRING', 1900000005000), (2, 'class-two', 'Autumn', 'AUTUMN', 1900000005000);
		INSERT INTO enrolment VALUES (1, 1);
		INSERT INTO assignment (ulid, class, at, due, setup, pass_rule, pass_value) VALUES
			('assignment-one', 2, 1900000006000, 1900000007000, '{"kind":"value-first"}', 'none', 0), ('assignment-two', 1, 1900000006000, 1900000007000, '{"kind":"value-first"}', 'none', 0),
			('assignment-three', 2, 1900000006000, 1900000007000, '{"kind":"value-first"}', 'none', 0);
		PRAGMA foreign_keys = 1; DELETE FROM class WHERE id = 2; PRAGMA user_version = 3`)
	book := open(t, path)
	defer book.Close()
	ada, err := book.Learner(ctx, "L1")
	if err != nil || ada.RoleAt.UnixMilli() != 1900000000123 {
		t.Errorf("the person: %+v, %v", ada, err)
	}
	if list, err := book.Roster(ctx, "class-one"); err != nil || !cmp.Equal(list, []scoring.Learner{ada}) {
		t.Errorf("roster %v, %v", list, err)
	}
	want := []scoring.Membership{{Learner: "L1", At: time.UnixMilli(1900000005000).UTC()}}
	if list, err := book.Memberships(ctx, "class-one"); err != nil || !cmp.Equal(list, want) {
		t.Errorf("members %v, %v, want %v", list, err, want)
	}
	given, err := book.Assignments(ctx, "")
	if err != nil || len(given) != 1 || given[0].Number != 2 || given[0].ID != "assignment-two" {
		t.Fatalf("assignments %+v, %v", given, err)
	}
	next := given[0]
	for _, c := range []struct{ wish, gets int }{{1, 4}, {3, 5}, {9, 9}} {
		next.ID, next.Number = "", c.wish
		if got, err := book.AddAssignment(ctx, next); err != nil || got.Number != c.gets {
			t.Errorf("with %d wished for it is assignment %d, want %d; %v", c.wish, got.Number, c.gets, err)
		}
	}
	if err := book.Close(); err != nil {
		t.Fatal(err)
	}
	if found := check(t, path); !found.Sound() || found.Assignments != 4 {
		t.Errorf("after it: %+v", found)
	}
}

func TestNewerBookIsRefusedUntouched(t *testing.T) {
	path := formOne(t)
	execute(t, path, "PRAGMA user_version = 9999")
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := sqlite.Open(ctx, path); !errors.Is(err, record.ErrNewer) {
		t.Errorf("error %v, want %v", err, record.ErrNewer)
	}
	after, err := os.ReadFile(path)
	if err != nil || string(before) != string(after) {
		t.Errorf("the book was touched (%v)", err)
	}
	if beside, _ := filepath.Glob(path + "-*"); len(beside) > 0 {
		t.Errorf("left beside it: %v", beside)
	}
}
