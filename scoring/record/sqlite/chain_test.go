package sqlite_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
)

// What somebody does to a book with a database browser is named by book check, by
// the verification of the sitting, and mended by nothing that the program does.
func TestWhatIsAlteredInTheFileIsNamed(t *testing.T) {
	whole, err := os.ReadFile(slight(t))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "book.db")
	for _, c := range []struct{ statement, says string }{
		{"UPDATE attempt SET answer = answer + 1 WHERE sitting = 8 AND ordinal = 3", "sitting S07: answer 4 is not as it was given"},
		{"UPDATE attempt SET at = at + 1 WHERE sitting = 8 AND ordinal = 3", "sitting S07: answer 4 is not as it was given"},
		{"DELETE FROM attempt WHERE sitting = 8 AND ordinal = 3", "sitting S07: 1 answer is missing"},
		{"DELETE FROM attempt WHERE sitting = 8 AND ordinal = 29", "sitting S07: 1 answer is missing"},
		{"INSERT INTO attempt SELECT sitting, 30, at, kind, version, scene, part, item, level, target, key, answer, tab, neighbour, value_group, choice, first, total, looks, timed_out, more, link, chance FROM attempt WHERE sitting = 8 AND ordinal = 29", "sitting S07: answer 31 is not as it was given"},
		{"UPDATE attempt SET sitting = 9, ordinal = 30 WHERE sitting = 8 AND ordinal = 29", "sitting S08: answer 31 is not as it was given"},
		{"UPDATE sitting SET setup = json_set(setup, '$.seed', 1) WHERE ulid = 'S07'", "sitting S07: its setup, person, time or origin"},
		{"UPDATE sitting SET learner = 1 WHERE ulid = 'S07'", "sitting S07: its setup, person, time or origin"},
		{"UPDATE sitting SET road = 'server' WHERE ulid = 'S07'", "sitting S07: its setup, person, time or origin"},
		{"UPDATE sitting SET simulated = 1 - simulated WHERE ulid = 'S07'", "sitting S07: its setup, person, time or origin"},
		{"UPDATE sitting SET left_early = 1 WHERE ulid = 'S07'", "sitting S07: its end was changed"},
		{"UPDATE sitting SET ended = NULL WHERE ulid = 'S07'", "sitting S07: whether it has ended was changed"},
		{"UPDATE word SET text = 'L75' WHERE text = 'L74'", "answer 1 is not as it was given"},
		{"DELETE FROM chain WHERE sitting = 8", "sitting S07: it has no chain"},
		{"UPDATE learner SET name = 'ADA finch' WHERE name = 'Ada Finch'", `"ADA finch" in the table learner was changed without the program`},
		{"UPDATE learner SET role = 'instructor' WHERE name = 'Ada Finch'", `"Ada Finch" in the table learner was changed without the program`},
		{"UPDATE class SET at = at + 1", `"Spring" in the table class was changed without the program`},
		{"UPDATE enrolment SET off = 1", `"somebody on a roster" in the table enrolment was changed without the program`},
		{"UPDATE book SET ulid = 'another'", `"the name of the book" in the table book was changed without the program`},
	} {
		if err := os.WriteFile(path, whole, 0o600); err != nil {
			t.Fatal(err)
		}
		execute(t, path, c.statement)
		if all := strings.Join(check(t, path).Findings, "\n"); !strings.Contains(all, c.says) {
			t.Errorf("%s:\n%s\nwant %q", c.statement, all, c.says)
		}
		book := open(t, path)
		if err := book.Whole(ctx, record.Filter{}); err == nil {
			t.Errorf("%s: the book calls itself whole", c.statement)
		}
		// More answers, ends, people and roles do not mend it.
		s, err := book.Sitting(ctx, "S00")
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range []int{50, 40} {
			if err := book.Append(ctx, recordtest.Plain(s, n)); err != nil {
				t.Errorf("%s: the book takes no answer any more: %v", c.statement, err)
			}
		}
		recordtest.Person(t, book, "Cy Vale")
		book.EndSitting(ctx, "S07", recordtest.Noon, false)
		if err := book.Close(); err != nil {
			t.Fatal(err)
		}
		if found := check(t, path); found.Sound() {
			t.Errorf("%s: mended by going on", c.statement)
		}
	}
}

// An answer put into the middle of a sitting whose chain does not hold leaves it so.
func TestAnAnswerBetweenOthersMendsNoChain(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	book := open(t, path)
	s := recordtest.Begin(t, book, recordtest.Person(t, book, "Ada Finch"), 0)
	for _, n := range []int{0, 1, 2, 5} {
		if err := book.Append(ctx, recordtest.Plain(s, n)); err != nil {
			t.Fatal(err)
		}
	}
	book.Close()
	execute(t, path, "UPDATE attempt SET looks = 9 WHERE ordinal = 1")
	book = open(t, path)
	if err := book.Append(ctx, recordtest.Plain(s, 4)); err != nil {
		t.Fatal(err)
	}
	if n := len(recordtest.All(t, book, record.Filter{})); n != 5 {
		t.Errorf("%d answers", n)
	}
	book.Close()
	if all := strings.Join(check(t, path).Findings, "\n"); !strings.Contains(all, "answer 2 is not as it was given") {
		t.Errorf("findings %q", all)
	}
}

// Chains of a book of an older form are begun when it is taken over, and say so.
func TestChainsOfAnOlderBookAreBegunAtTakeover(t *testing.T) {
	path := formOne(t)
	book := open(t, path)
	chains := recordtest.Chains(t, book, record.Filter{})
	if len(chains) != 1 || chains[0].Begun.IsZero() || chains[0].Why != record.WhyOlderForm || chains[0].Count != 2 {
		t.Errorf("chains %+v", chains)
	}
	s, err := book.Sitting(ctx, "S1")
	if err != nil || s.Origin != (scoring.Origin{Road: scoring.RoadUnknown}) {
		t.Errorf("origin %+v, %v", s.Origin, err)
	}
	if err := book.Append(ctx, recordtest.Plain(s, 2)); err != nil {
		t.Fatal(err)
	}
	if c := recordtest.Chains(t, book, record.Filter{}); c[0].Begun != chains[0].Begun || c[0].Count != 3 {
		t.Errorf("after an answer: %+v", c)
	}
	book.Close()
	found := check(t, path)
	if !found.Sound() || len(found.Begun) != 1 {
		t.Errorf("%+v", found)
	}
	execute(t, path, "UPDATE attempt SET looks = 9 WHERE ordinal = 1")
	if found := check(t, path); found.Sound() {
		t.Error("an answer was changed and nothing found")
	}
}
