package sqlite_test

import (
	"bufio"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/record/sqlite"
)

// furnished is a closed book with something of everything in it, and so many answers that
// tables lie on many pages.
func furnished(t *testing.T) string { return furnishedWith(t, 60) }

// slight is the same with as few sittings as do where rows are what is changed.
func slight(t *testing.T) string { return furnishedWith(t, 10) }

// furnishedBooks are the bytes of closed books by their number of sittings: each is made
// once, and every test gets a copy.
var furnishedBooks = map[int][]byte{}

func furnishedWith(t *testing.T, sittings int) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "book.db")
	if whole, made := furnishedBooks[sittings]; made {
		if err := os.WriteFile(path, whole, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	furnish(t, path, sittings)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	furnishedBooks[sittings] = whole
	return path
}

func furnish(t *testing.T, path string, sittings int) {
	t.Helper()
	book := open(t, path)
	rng := rand.New(rand.NewPCG(4, 4))
	sheet := recordtest.Sheet(t)
	must := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
	}
	must(book.PutSheet(ctx, sheet))
	people := []scoring.Learner{recordtest.Person(t, book, "Ada Finch"), recordtest.Person(t, book, "Ben Moor")}
	class := recordtest.Class(t, book, "Spring", people...)
	a := recordtest.RandomAssignment(class.ID, rng)
	a.Setup.Sheet = sheet
	_, err := book.AddAssignment(ctx, a)
	must(err)
	_, err = book.AddPanel(ctx, record.Panel{Name: "Weekly", At: recordtest.Noon, By: people[0].ID,
		Setup: exercises.Setup{Kind: exercises.ValueFirst, Seed: 5, Count: 4, Repeats: 2, Silent: true, Sheet: sheet}})
	must(err)
	form := recordtest.Form(t, "spring", 1, 4, sheet, exercises.ValueFirst)
	_, err = record.LayDown(ctx, book, form)
	must(err)
	form.Class, form.Name = class.ID, "of-spring"
	_, err = book.AddForm(ctx, form)
	must(err)
	must(book.EraseLearner(ctx, recordtest.Person(t, book, "Cy Vale").ID, recordtest.Noon))
	_, err = book.JoinLearners(ctx, recordtest.Person(t, book, "Ada F.").ID, people[0].ID, recordtest.Noon)
	must(err)
	must(book.Merge(ctx, func(m record.Book) error {
		for i := range sittings {
			s := recordtest.RandomSitting(people[i%2].ID, scoring.SittingID(fmt.Sprintf("S%02d", i)), rng)
			s.Setup.Sheet, s.Started, s.Setup.Adaptive = sheet, recordtest.Noon.Add(time.Duration(i)*time.Hour), false
			must(m.StartSitting(ctx, s))
			for j := range 30 {
				must(m.Append(ctx, recordtest.Plain(s, j)))
			}
			if i > 0 {
				must(m.EndSitting(ctx, s.ID, s.Started.Add(time.Hour), false))
			}
		}
		return nil
	}))
	must(book.Close())
}

func check(t *testing.T, path string) record.Inventory {
	t.Helper()
	found, _, err := sqlite.Check(ctx, path, nil)
	if err != nil {
		t.Fatal(err)
	}
	return found
}

func TestSoundBookIsFoundSound(t *testing.T) {
	path := furnished(t)
	told := 0
	found, form, err := sqlite.Check(ctx, path, func(n int) { told = n })
	if err != nil || !found.Sound() || form < 4 {
		t.Fatalf("form %d, findings %q, error %v", form, found.Findings, err)
	}
	if found.People != 2 || found.Sittings != 60 || found.Answers != 1800 || found.Sheets != 1 || found.Classes != 1 || found.Assignments != 1 || found.Unfinished != 1 || told != 1800 {
		t.Errorf("inventory %+v, told %d", found, told)
	}
	if found := check(t, formOne(t)); !found.Sound() || found.Answers != 2 {
		t.Errorf("a book of the first form: %+v", found)
	}
}

// Each of these is something that no program of ours writes.
func TestEveryDamageIsFoundAndNamed(t *testing.T) {
	whole, err := os.ReadFile(slight(t))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "book.db")
	for _, c := range []struct{ statement, says string }{
		{"UPDATE learner SET name_key = 'X' WHERE name = 'Ada Finch'", `the name "Ada Finch" in the table learner is filed under another one`},
		{"UPDATE learner SET role = 'queen' WHERE name = 'Ada Finch'", `unknown role "queen"`},
		{"UPDATE learner SET name = 'Ada' || char(27) || '[31m' WHERE name = 'Ada Finch'", "not in the form in which a book keeps people"},
		{"UPDATE class SET name = ' Spring'", "not in the form in which a book keeps classes"},
		{"UPDATE assignment SET pass_rule = 'share', pass_value = 80", "assignment 1: 80 is no pass mark"},
		{"UPDATE assignment SET due = due + 60000", "\"what a class is given\" in the table assignment was changed without the program"},
		{"UPDATE assignment SET setup = replace(setup, '\"seed\":', '\"seed\":1')", "\"what a class is given\" in the table assignment was changed"},
		{"UPDATE panel SET setup = replace(setup, '\"seed\":5', '\"seed\":4')", "\"Weekly\" in the table panel was changed without the program"},
		{"UPDATE panel SET closed = 1900000000000", "\"Weekly\" in the table panel was changed"},
		{"UPDATE panel SET lead = 2", "\"Weekly\" in the table panel was changed"},
		{"UPDATE form SET at = at + 1 WHERE name = 'spring'", "\"spring\" in the table form was changed"},
		{"UPDATE form SET levels = replace(levels, '0', '1') WHERE name = 'spring'", "the form \"spring\" is not what was laid down"},
		{"UPDATE former SET ulid = 'another' WHERE learner IS NULL", "\"who was joined or erased\" in the table former was changed"},
		{"UPDATE former SET learner = NULL", "\"who was joined or erased\" in the table former was changed"},
		{"UPDATE numbered SET ulid = 'another'", "assignment 1: its number is written down as another one's"},
		{"DELETE FROM numbered", "assignment 1: its number is written down as another one's"},
		{"UPDATE enrolment SET off = 7", "somebody on a roster is neither on it nor off it"},
		{"UPDATE enrolment SET at = -1e15", "class Spring: somebody in a class has the impossible year"},
		{"UPDATE learner SET role_at = -1e15", "the role of a learner has the impossible year"},
		{"UPDATE assignment SET setup = '{'", "the list of assignments cannot be read"},
		{"PRAGMA foreign_keys = 0; DELETE FROM class", "a row of the table enrolment points to a row of class that is not there"},
		{"PRAGMA foreign_keys = 0; DELETE FROM sitting WHERE ulid = 'S07'", "a row of the table attempt points to a row of sitting that is not there"},
		{"PRAGMA foreign_keys = 0; DELETE FROM sheet", "points to a row of sheet that is not there"},
		{"UPDATE sheet SET body = replace(body, '80', '81')", "damaged: its content has the fingerprint"},
		{"UPDATE sitting SET kind = 'thirds' WHERE ulid = 'S07'", "sitting S07: its columns contradict its setup"},
		{"UPDATE sitting SET setup = '{\"kind\"' WHERE ulid = 'S07'", "sitting S07: its setup cannot be read"},
		{"UPDATE sitting SET experience = x'00ff' WHERE ulid = 'S07'", "sitting S07: its earlier outcomes cannot be read"},
		{"UPDATE sitting SET ended = started - 1 WHERE ulid = 'S07'", "sitting S07: its end was changed"},
		{"UPDATE sitting SET within = char(27) || '[2J' WHERE ulid = 'S07'", "sitting S07: a sitting holds the unprintable text"},
		{"UPDATE attempt SET at = -1e15 WHERE ordinal = 3 AND sitting = 8", "answer S07-0003: an attempt has the impossible year"},
		{"UPDATE attempt SET more = '{' WHERE ordinal = 3 AND sitting = 8", "the answers of sitting S07 cannot be read on after number 2"},
		{"UPDATE attempt SET first = -5 WHERE ordinal = 3 AND sitting = 8", "answer S07-0003: an attempt took less than no time"},
		{"DELETE FROM word WHERE text = 'L74'", "the book's word"},
		{"PRAGMA writable_schema = 1; UPDATE sqlite_schema SET sql = replace(sql, 'UNIQUE', 'UNIQUEE') WHERE name = 'learner'", "malformed database schema"},
	} {
		if err := os.WriteFile(path, whole, 0o600); err != nil {
			t.Fatal(err)
		}
		execute(t, path, strings.ReplaceAll(c.statement, "-1e15", "-1000000000000000"))
		before, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		found, _, err := sqlite.Check(ctx, path, nil)
		if all := strings.Join(found.Findings, "\n"); err != nil || !strings.Contains(all, c.says) {
			t.Errorf("%s:\n%s (error %v)\nwant %q", c.statement, all, err, c.says)
		}
		if after, err := os.ReadFile(path); err != nil || string(after) != string(before) {
			t.Errorf("%s: checking has changed the book (%v)", c.statement, err)
		}
	}
}

// A page that was overwritten is found whichever it is; a file cut short too.
func TestDamagedFileIsFound(t *testing.T) {
	whole, err := os.ReadFile(furnished(t))
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(6, 6))
	pages := len(whole) / 4096
	path := filepath.Join(t.TempDir(), "bad.db")
	try := func(what string, content []byte) {
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
		found, _, err := sqlite.Check(ctx, path, nil)
		if err == nil && found.Sound() {
			t.Errorf("%s: nothing was found", what)
		}
		for _, f := range found.Findings {
			if strings.Contains(f, "\n") {
				t.Errorf("%s: a finding of several lines: %q", what, f)
			}
		}
	}
	for range 12 {
		page := rng.IntN(pages)
		bad := append([]byte(nil), whole...)
		for i := range 4096 {
			bad[page*4096+i] = byte(rng.Uint32())
		}
		try(fmt.Sprintf("page %d of %d overwritten", page, pages), bad)
	}
	for range 6 {
		n := 1 + rng.IntN(len(whole)-1)
		try(fmt.Sprintf("cut to %d bytes of %d", n, len(whole)), whole[:n])
	}
	try("not a database", []byte(strings.Repeat("name,role\nAda,lead\n", 1000)))
}

// While another program writes, each copy holds everything that was acknowledged
// before it was begun, and is a sound book.
func TestBackupOfABookInUse(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	c := child(t, path, "Ada", "")
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() { c.Process.Kill(); c.Wait() }()
	lines := bufio.NewScanner(out)
	acknowledged := 0
	for copies := range 5 {
		for range 40 {
			if !lines.Scan() || strings.HasPrefix(lines.Text(), "error:") {
				t.Fatalf("the writing program stopped: %s", lines.Text())
			}
			acknowledged++
		}
		to := filepath.Join(t.TempDir(), "copy.db")
		if err := sqlite.Backup(ctx, path, to, false); err != nil {
			t.Fatal(err)
		}
		if found := check(t, to); !found.Sound() || found.Answers < acknowledged || found.People != 1 {
			t.Errorf("copy %d: %d answers of at least %d, findings %q", copies, found.Answers, acknowledged, found.Findings)
		}
		if beside, _ := filepath.Glob(filepath.Join(filepath.Dir(to), ".shadedrill*")); len(beside) > 0 {
			t.Errorf("left behind: %v", beside)
		}
	}
}

func TestBackupOverwritesNothingUnasked(t *testing.T) {
	path := furnished(t)
	to := filepath.Join(t.TempDir(), "copy.db")
	if err := os.WriteFile(to, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	var p *fault.Error
	if err := sqlite.Backup(ctx, path, to, false); !errors.As(err, &p) || !strings.Contains(err.Error(), "there already") {
		t.Errorf("error %v", err)
	}
	if text, _ := os.ReadFile(to); string(text) != "mine" {
		t.Fatal("a file was overwritten without being told")
	}
	if err := sqlite.Backup(ctx, path, to, true); err != nil {
		t.Fatal(err)
	}
	if found := check(t, to); !found.Sound() || found.Answers != 1800 {
		t.Errorf("the copy: %+v", found)
	}
	if err := sqlite.Backup(ctx, path, path, true); err == nil || !strings.Contains(err.Error(), "the book itself") {
		t.Errorf("onto itself: error %v", err)
	}
	inUse := open(t, to)
	defer inUse.Close()
	recordtest.Person(t, inUse, "Cy Vale")
	if err := sqlite.Backup(ctx, path, to, true); err == nil || !strings.Contains(err.Error(), "in use") {
		t.Errorf("onto a book in use: error %v", err)
	}
	if err := sqlite.Backup(ctx, path, filepath.Join(t.TempDir(), "none", "copy.db"), false); err == nil {
		t.Error("into a folder that is not there")
	}
	if err := sqlite.Backup(ctx, filepath.Join(t.TempDir(), "none.db"), filepath.Join(t.TempDir(), "copy.db"), false); err == nil {
		t.Error("of a book that is not there")
	}
}

// What is declared of the tables is part of what is checked.
func TestCheckSeesAChangedLayout(t *testing.T) {
	for _, statement := range []string{
		"DROP INDEX " + anIndex(t),
		"CREATE TABLE further (a)",
		"CREATE TRIGGER gone AFTER INSERT ON attempt BEGIN DELETE FROM learner; END",
		"PRAGMA writable_schema = 1; UPDATE sqlite_schema SET sql = replace(sql, 'left_early', 'left_earli') WHERE name = 'sitting'",
	} {
		path := furnished(t)
		execute(t, path, statement)
		if found, _, err := sqlite.Check(ctx, path, nil); err == nil && found.Sound() {
			t.Errorf("%s: the book is called sound", statement)
		}
	}
}

// anIndex is the name of one that a book has.
func anIndex(t *testing.T) (name string) {
	t.Helper()
	db, err := sql.Open("sqlite", furnished(t))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if err := db.QueryRow("SELECT name FROM sqlite_schema WHERE type = 'index' AND sql IS NOT NULL").Scan(&name); err != nil {
		t.Fatal(err)
	}
	return name
}
