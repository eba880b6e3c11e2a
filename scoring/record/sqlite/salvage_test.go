package sqlite_test

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

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
		saved.Close()
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
