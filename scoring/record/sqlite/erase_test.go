package sqlite_test

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/record/sqlite"
)

// traces are the files of a book, its log among them, in which a text stands.
func traces(t *testing.T, path string, texts ...string) (found []string) {
	t.Helper()
	for _, end := range []string{"", "-wal", "-shm", "-journal"} {
		content, err := os.ReadFile(path + end)
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			t.Fatal(err)
		}
		for _, s := range texts {
			if bytes.Contains(content, []byte(s)) {
				found = append(found, s+" in book"+end)
			}
		}
	}
	return found
}

// spoken is somebody whose answers hold words that nobody else's do.
func spoken(t *testing.T, b *sqlite.Book, n int) (scoring.Learner, scoring.Sitting) {
	t.Helper()
	l, err := b.AddLearner(ctx, scoring.Learner{Name: "Quilla Zandvoort", Number: "zz-4711", Email: "quilla@example.org", At: recordtest.Noon})
	if err != nil {
		t.Fatal(err)
	}
	s := scoring.Sitting{ID: record.NewSittingID(recordtest.Noon), Learner: l.ID, Started: recordtest.Noon, Within: "panel:quilla-round",
		Setup:   exercises.Setup{Kind: exercises.ValueFirst, Count: n, Options: map[string]string{"quilla": "option"}},
		Display: scoring.DisplayCheck{Terminal: "quilla-terminal"}}
	if err := b.StartSitting(ctx, s); err != nil {
		t.Fatal(err)
	}
	for i := range n {
		a := recordtest.Plain(s, i)
		a.Answer.Choice, a.Trial.Item = "quilla-choice", fmt.Sprintf("quilla-item-%d", i)
		a.Trial.Patches = []exercises.Patch{{Role: "quilla-role"}}
		if err := b.Append(ctx, a); err != nil {
			t.Fatal(err)
		}
	}
	return l, s
}

var quilla = []string{"Quilla", "quilla", "QUILLA", "Zandvoort", "zandvoort", "zz-4711"}

// After an erasure no byte of the name or of the answers is left in the file or
// beside it, while another program has the book open; the others' chains hold, and
// what that program enters next is whole.
func TestErasureLeavesNoByte(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	book, beside := open(t, path), open(t, path)
	defer book.Close()
	other := recordtest.Person(t, book, "Ben Moor")
	theirs := recordtest.Begin(t, book, other, 1)
	quill, sitting := spoken(t, book, 300)
	for i := range 50 {
		if err := book.Append(ctx, recordtest.Plain(theirs, i)); err != nil {
			t.Fatal(err)
		}
	}
	texts := append([]string{string(sitting.ID)}, quilla...)
	if len(traces(t, path, texts...)) < 5 {
		t.Fatal("the test looks for what is not there before either")
	}
	recordtest.All(t, beside, record.Filter{}) // it knows the words now
	if err := beside.Append(ctx, recordtest.Plain(theirs, 50)); err != nil {
		t.Fatal(err)
	}
	if err := book.EraseLearner(ctx, quill.ID, recordtest.Noon); err != nil {
		t.Fatal(err)
	}
	if err := book.Wipe(ctx); err != nil {
		t.Fatal(err)
	}
	if left := traces(t, path, texts...); len(left) > 0 {
		t.Errorf("left: %v", left)
	}
	if len(traces(t, path, string(quill.ID))) == 0 {
		t.Error("the identifier is forgotten: an old file would bring them back")
	}
	// A word that is gone comes anew, under a number of its own.
	late := recordtest.Plain(theirs, 51)
	late.Answer.Choice = "quilla-choice"
	if err := beside.Append(ctx, late); err != nil {
		t.Fatal(err)
	}
	list := recordtest.All(t, book, record.Filter{})
	if len(list) != 52 || list[51].Answer.Choice != "quilla-choice" || list[50].Answer.Tab != late.Answer.Tab {
		t.Errorf("%d answers, the last %+v", len(list), list[len(list)-1])
	}
	if err := beside.Close(); err != nil {
		t.Fatal(err)
	}
	if found := check(t, path); !found.Sound() || found.People != 1 {
		t.Errorf("after it: %+v", found)
	}
}

// A pseudonym leaves nothing of the name and everything of the answers.
func TestPseudonymLeavesNoByteOfTheName(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	book := open(t, path)
	defer book.Close()
	quill, _ := spoken(t, book, 20)
	quill.Name, quill.Number, quill.Email, quill.Pseudonym = "Person k2", "", "", true
	if _, err := book.ChangeLearner(ctx, quill, recordtest.Noon); err != nil {
		t.Fatal(err)
	}
	if err := book.Wipe(ctx); err != nil {
		t.Fatal(err)
	}
	if left := traces(t, path, "Quilla", "Zandvoort", "zandvoort", "zz-4711", "quilla@"); len(left) > 0 {
		t.Errorf("left: %v", left)
	}
	if n := len(recordtest.All(t, book, record.Filter{Learner: quill.ID})); n != 20 {
		t.Errorf("%d answers, want 20", n)
	}
	if found := check(t, path); !found.Sound() {
		t.Errorf("after it: %+v", found)
	}
}

// As long as somebody reads what was there, the log cannot be emptied: that is said,
// nothing is called done, and the next try does it.
func TestWipingWaitsForReaders(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	book, beside := open(t, path), open(t, path)
	defer book.Close()
	defer beside.Close()
	quill, _ := spoken(t, book, 30)
	for _, err := range beside.Attempts(ctx, record.Filter{}) {
		if err != nil {
			t.Fatal(err)
		}
		if err := book.EraseLearner(ctx, quill.ID, recordtest.Noon); err != nil {
			t.Fatal(err)
		}
		if err := book.Wipe(ctx); err == nil || !strings.Contains(err.Error(), "still lies in its log") {
			t.Fatalf("wiped while it is read: %v", err)
		}
		if deeds, err := book.Deeds(ctx); err != nil || len(deeds) != 1 || deeds[0].Wiped {
			t.Errorf("written down: %+v, %v", deeds, err)
		}
		break
	}
	if err := book.Wipe(ctx); err != nil {
		t.Fatal(err)
	}
	if left := traces(t, path, quilla...); len(left) > 0 {
		t.Errorf("left: %v", left)
	}
}

// People of an older book whose names read alike now keep their answers; the one
// entered later gets a number behind the name, and that is written down.
func TestNamesOfAnOlderBookThatReadAlike(t *testing.T) {
	path := formOne(t)
	execute(t, path, `INSERT INTO learner VALUES (2, 'L2', 'José', 'JOSÉ', 'learner', 1900000000123, 0), (3, 'L3', 'Jose'||char(769), 'JOSE'||char(769), 'learner', 1900000000124, 0),
		(4, 'L4', 'José (2)', 'JOSÉ (2)', 'learner', 1900000000125, 0), (5, 'L5', 'ﬁnch', 'ﬁNCH', 'learner', 1900000000126, 0), (6, 'L6', 'Finch', 'FINCH', 'learner', 1800000000000, 0);
		UPDATE sitting SET learner = 3`)
	book := open(t, path)
	want := map[scoring.LearnerID]string{"L1": "Ada Finch", "L2": "José", "L3": "Jose\u0301 (3)", "L4": "José (2)", "L5": "ﬁnch (2)", "L6": "Finch"}
	people, err := book.Learners(ctx)
	if err != nil || len(people) != len(want) {
		t.Fatal(people, err)
	}
	for _, p := range people {
		if p.Name != want[p.ID] {
			t.Errorf("%s is called %+q, want %+q", p.ID, p.Name, want[p.ID])
		}
		if l, err := book.LearnerByName(ctx, p.Name); err != nil || l.ID != p.ID {
			t.Errorf("%+q finds %v, %v", p.Name, l, err)
		}
	}
	if deeds, err := book.Deeds(ctx); err != nil || len(deeds) != 2 || deeds[0].What != record.DeedNumbered || deeds[0].Learner != "L3" || deeds[1].Learner != "L5" {
		t.Errorf("written down: %+v, %v", deeds, err)
	}
	if n := len(recordtest.All(t, book, record.Filter{Learner: "L3"})); n != 2 {
		t.Errorf("%d answers, want 2", n)
	}
	if err := book.Close(); err != nil {
		t.Fatal(err)
	}
	if found := check(t, path); !found.Sound() {
		t.Errorf("after it: %+v", found)
	}
}
