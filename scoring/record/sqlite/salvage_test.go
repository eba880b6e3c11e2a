package sqlite_test

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/record/sqlite"
)

// Of a whole book everything is saved; with one page zeroed, whichever it is, what can
// be read, and nothing that differs from what was given. SHADEDRILL_HEAVY=1 tries 60 pages.
func TestSalvage(t *testing.T) {
	source := furnished(t)
	whole, err := os.ReadFile(source)
	if err != nil {
		t.Fatal(err)
	}
	original := map[string]bool{}
	book := open(t, source)
	for _, a := range recordtest.All(t, book, record.Filter{}) {
		l := record.Link{}.Next(a)
		original[string(l[:])] = true
	}
	book.Close()
	rng := rand.New(rand.NewPCG(5, 5))
	pages := len(whole) / 4096
	least := 1 << 30
	trials := 9 // the whole book, its first page, and drawn ones
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		trials = 61
	}
	for trial := range trials {
		bad := append([]byte(nil), whole...)
		page := -1
		if trial > 0 {
			if page = rng.IntN(pages); trial == 1 {
				page = 0
			}
			clear(bad[page*4096 : (page+1)*4096])
		}
		folder := t.TempDir()
		path, to := filepath.Join(folder, "bad.db"), filepath.Join(folder, "new.db")
		if err := os.WriteFile(path, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		done, err := sqlite.Salvage(ctx, path, to, recordtest.Noon)
		if err != nil {
			t.Errorf("page %d of %d: %v", page, pages, err)
			continue
		}
		saved := open(t, to)
		n := 0
		for _, a := range recordtest.All(t, saved, record.Filter{}) {
			n++
			if l := (record.Link{}).Next(a); !original[string(l[:])] {
				t.Errorf("page %d: answer %s is none that was given", page, a.ID())
			}
		}
		everySetIsSavedOrNamed(t, page, saved, done)
		saved.Close()
		if found := check(t, to); len(found.Findings) > done.Broken {
			t.Errorf("page %d: the new book is not sound: %q", page, found.Findings)
		}
		if n != done.Answers || trial == 0 && (n != 1800 || done.Broken > 0 || done.Whole != 60) {
			t.Errorf("page %d: %d answers in the new book, told %+v", page, n, done)
		}
		if trial > 0 {
			if n < 1000 {
				t.Errorf("page %d: only %d answers saved", page, n)
			}
			least = min(least, n)
		}
	}
	t.Logf("%d pages; of 1,800 answers at least %d were saved", pages, least)
}

// everySetIsSavedOrNamed holds what furnished laid down against a salvaged book.
func everySetIsSavedOrNamed(t *testing.T, page int, saved record.Store, done sqlite.Salvaged) {
	t.Helper()
	told := strings.Join(done.Lines, "\n")
	lost := func(what, said string, there bool) {
		if !there && !strings.Contains(told, said) {
			t.Errorf("page %d: %s is neither saved nor named:\n%s", page, what, told)
		}
	}
	classes, err := saved.Classes(ctx)
	if err != nil {
		t.Fatal(err)
	}
	members := 0
	for _, c := range classes {
		roster, err := saved.Roster(ctx, c.ID)
		if err != nil {
			t.Fatal(err)
		}
		members += len(roster)
	}
	given, err := saved.Assignments(ctx, "")
	if err != nil {
		t.Fatal(err)
	}
	panels, err := saved.Panels(ctx)
	if err != nil {
		t.Fatal(err)
	}
	forms, err := saved.Forms(ctx)
	if err != nil {
		t.Fatal(err)
	}
	lost("the class", "class", len(classes) == 1 && classes[0].Name == "Spring")
	lost("the roster", "roster", members == 2)
	lost("the assignment", "assignment", len(given) == 1)
	lost("the calibration session", "calibration session", len(panels) == 1)
	lost("a form", "form", len(forms) == 2)
	_, err = saved.LearnerByName(ctx, "Ada Finch")
	lost("Ada Finch", "people", err == nil)
	if page < 0 && (len(classes) != 1 || members != 2 || len(given) != 1 || len(panels) != 1 || len(forms) != 2 || done.Sets != 5 || len(done.Lines) > 0) {
		t.Errorf("of a whole book: %+v", done)
	}
}

// What was changed without the program is not saved as what people are asked, and
// nobody gets a higher role by it.
func TestSalvageTrustsNoBrokenSeal(t *testing.T) {
	whole, err := os.ReadFile(slight(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ statement, says string }{
		{"UPDATE panel SET setup = replace(setup, '\"seed\":5', '\"seed\":4')", `calibration session "Weekly": what it asks was changed`},
		{"UPDATE form SET levels = replace(levels, '0.', '0.1') WHERE name = 'spring'", `form "spring": what it asks was changed`},
		{"UPDATE assignment SET pass_value = pass_value + 1", "assignment 1: what it asks was changed"},
		{"UPDATE enrolment SET learner = 3 WHERE learner = 2", "somebody on a roster"},
		{"UPDATE learner SET role = 'instructor' WHERE name = 'Ben Moor'", `"Ben Moor": name, number, address or role was changed`},
		{"UPDATE learner SET name = 'Ada' || char(27) || '[31m' WHERE name = 'Ada Finch'", `name, number, address or role was changed`},
		{"UPDATE former SET ulid = 'another' WHERE learner IS NULL", "an identifier of somebody who was joined or erased"},
		{"PRAGMA foreign_keys = 0; DELETE FROM class", "a class whose name could not be read"},
		{"PRAGMA foreign_keys = 0; DELETE FROM learner WHERE name = 'Ada Finch'", "somebody whose name could not be read"},
		{"PRAGMA foreign_keys = 0; DELETE FROM sheet", "the library that it was taken with cannot be read"},
		{"UPDATE sitting SET setup = '{' WHERE ulid = 'S07'", "sitting whose own row is gone (S07): 30 answers saved"},
		{"UPDATE attempt SET more = '{' WHERE ordinal = 3 AND sitting = 8", "sitting S07: 28 answers saved, 1 that could be read is not proved"},
		{"DELETE FROM word WHERE text = 'L74'", "sitting S07"},
	} {
		folder := t.TempDir()
		path, to := filepath.Join(folder, "book.db"), filepath.Join(folder, "new.db")
		if err := os.WriteFile(path, whole, 0o600); err != nil {
			t.Fatal(err)
		}
		execute(t, path, c.statement)
		done, err := sqlite.Salvage(ctx, path, to, recordtest.Noon)
		if told := strings.Join(done.Lines, "\n"); err != nil || !strings.Contains(told, c.says) {
			t.Errorf("%s: %v, told\n%s\nwant %q", c.statement, err, told, c.says)
			continue
		}
		if found := check(t, to); len(found.Findings) > done.Broken {
			t.Errorf("%s: the new book is not sound: %q", c.statement, found.Findings)
		}
		saved := open(t, to)
		people, err := saved.Learners(ctx)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range people {
			if l.Role != scoring.RoleLearner {
				t.Errorf("%s: %s is %s", c.statement, l.Name, l.Role)
			}
		}
		saved.Close()
	}
}

// A book of an older form is rebuilt in that form, and brought up to date.
func TestSalvageOfAnOlderForm(t *testing.T) {
	path := formOne(t)
	to := filepath.Join(t.TempDir(), "new.db")
	done, err := sqlite.Salvage(ctx, path, to, recordtest.Noon)
	if err != nil || done.Answers != 2 || done.Broken > 0 || len(done.Lines) > 0 {
		t.Errorf("saved %+v, %v", done, err)
	}
	if found := check(t, to); !found.Sound() || found.Answers != 2 || len(found.Begun) != 1 {
		t.Errorf("the new book: %+v", found)
	} else {
		for b := range found.Begun {
			if b.Why != record.WhyOlderForm {
				t.Errorf("the chain was begun because %s", b.Why)
			}
		}
	}
}

// A log whose book is gone holds whole pages: what was written since it was begun is
// saved out of it.
func TestALogAloneIsSalvaged(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	book := open(t, path)
	defer book.Close()
	s := recordtest.Begin(t, book, recordtest.Person(t, book, "Ada Finch"), 0)
	for i := range 40 {
		if err := book.Append(ctx, recordtest.Plain(s, i)); err != nil {
			t.Fatal(err)
		}
	}
	log, err := os.ReadFile(path + "-wal")
	if err != nil {
		t.Fatal(err)
	}
	gone := filepath.Join(t.TempDir(), "gone.db")
	if err := os.WriteFile(gone+"-wal", log, 0o600); err != nil {
		t.Fatal(err)
	}
	done, err := sqlite.Salvage(ctx, gone, gone+".new", recordtest.Noon)
	if err != nil || done.People != 1 || done.Whole != 1 || done.Answers != 40 {
		t.Errorf("saved %+v, %v", done, err)
	}
}
