package transfer_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/transfer"
)

type entries = []transfer.Entry

// Every file of testdata/rosters is read as what it says.
func TestRostersAsSchoolsHaveThem(t *testing.T) {
	const student = scoring.RoleLearner
	files := map[string]struct {
		want entries
		note string // that must be among the notes
		ask  transfer.RosterColumns
		skip int
	}{
		"plain.csv":                  {want: entries{{Name: "Ada Finch"}, {Name: "Ben Moor"}, {Name: "Cy Vale"}}, note: `names from the column "name"`},
		"semicolon.csv":              {want: entries{{"Ada Finch", "4711001", "ada.finch@example.org", ""}, {"Ben Moor", "4711002", "ben.moor@example.org", ""}}, note: `numbers from "Matrikelnummer", addresses from "E-Mail"`},
		"sep-line.csv":               {want: entries{{Name: "Ada Finch", Role: student}, {Name: "Ben Moor", Role: student}}},
		"tab.txt":                    {want: entries{{Name: "Ada Finch", Number: "S-1001"}, {Name: "Ben Moor", Number: "S-1002"}}, note: `names from the columns "First name" and "Last name"`},
		"utf8-bom.csv":               {want: entries{{Name: "José Ibáñez", Email: "jose@example.org"}, {Name: "Zoë Brontë", Email: "zoe@example.org"}}},
		"utf16-le.txt":               {want: entries{{Name: "Jörg Weiß", Number: "30021"}, {Name: "Güneş Yıldız", Number: "30022"}}},
		"utf16-be.txt":               {want: entries{{Name: "Ada Finch"}, {Name: "Ben Moor"}}},
		"utf16-unmarked.txt":         {want: entries{{Name: "Ada Finch", Email: "ada@example.org"}}},
		"latin1.csv":                 {want: entries{{Name: "Änne Müller", Number: "20001"}, {Name: "Jürgen Groß", Number: "20002"}, {Name: "Ben Moor", Number: "20003"}}, note: "read as Windows-1252: see whether these are right: Änne Müller, Jürgen Groß"},
		"windows1252.csv":            {want: entries{{Name: "Chloé Œuvray", Email: "chloe@example.org"}, {Name: "Noël D’Arc", Email: "noel@example.org"}}, note: "Chloé Œuvray, Noël D’Arc"},
		"surname-first.csv":          {want: entries{{"Ada Finch", "1001", "ada@example.org", ""}, {"Ben Moor", "1002", "ben@example.org", ""}, {"Cy van der Vale", "1003", "cy@example.org", ""}}, note: `"Finch, Ada" as "Ada Finch"`},
		"surname-first-unquoted.csv": {want: entries{{Name: "Ada Finch"}, {Name: "Ben Moor"}}},
		"quoted.csv":                 {want: entries{{"Ada Finch", "90001", "ada@example.org", ""}, {`Ben "Benno" Moor`, "90002", "ben@example.org", ""}}},
		"short-rows.csv":             {want: entries{{"Ada Finch", "1", "ada@example.org", ""}, {Name: "Ben Moor", Number: "2"}, {Name: "Cy Vale"}}},
		"trailing.csv":               {want: entries{{Name: "Ada Finch", Number: "1"}, {Name: "Ben Moor", Number: "2"}}},
		"duplicates.csv":             {want: entries{{Name: "Ada Finch", Number: "1"}, {Name: "Ben Moor", Number: "2"}, {Name: "Ben Moor", Number: "3"}, {Name: "Cy Vale"}}, ask: transfer.RosterColumns{Skip: true}, skip: 2},
		"spanish.csv":                {want: entries{{"Ada Pinzón Vera", "M10", "ada@example.org", ""}, {"Benito Mora", "M11", "benito@example.org", ""}}},
		"swedish.tsv":                {want: entries{{Name: "Åsa Öberg", Email: "asa@example.org"}}},
		"polish.csv":                 {want: entries{{Name: "Łucja Żak", Number: "88001"}, {Name: "Beniamin Moor", Number: "88002"}}},
		"japanese.csv":               {want: entries{{Name: "架空 花子", Number: "J0001"}, {Name: "架空 太郎", Number: "J0002"}}},
		"gradebook.csv":              {want: entries{{Name: "Ada Finch", Number: "S511"}, {Name: "Ben Moor", Number: "S512"}}, skip: 1},
		"odd-columns.csv":            {want: entries{{Name: "Ada Finch", Number: "K1"}, {Name: "Ben Moor", Number: "K2"}}, ask: transfer.RosterColumns{Name: []string{"given", "FAMILY"}, Number: "key"}},
	}
	there, err := filepath.Glob("testdata/rosters/*.[ct]*")
	if err != nil || len(there) != len(files) {
		t.Errorf("%d files, %d of them are told here (%v)", len(there), len(files), err)
	}
	for name, c := range files {
		r := rosterFile(t, name, c.ask)
		if d := cmp.Diff(c.want, r.Entries); d != "" {
			t.Errorf("%s (-want +got):\n%s", name, d)
		}
		if !strings.Contains(strings.Join(r.Notes, "\n"), c.note) {
			t.Errorf("%s: notes %q, want %q among them", name, r.Notes, c.note)
		}
		if len(r.Skipped) != c.skip {
			t.Errorf("%s: left out %q", name, r.Skipped)
		}
	}
}

func rosterFile(t *testing.T, name string, ask transfer.RosterColumns) transfer.Roster {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", "rosters", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, err := transfer.ReadRoster(f, ask)
	if err != nil {
		t.Errorf("%s: %v (%s)", name, err, fault.Hint(err))
	}
	return r
}

// Who stands there twice is named with the line where they stood first; two of one
// name are two people when their numbers differ.
func TestWhoStandsInARosterTwiceIsNamed(t *testing.T) {
	text, err := os.ReadFile("testdata/rosters/duplicates.csv")
	if err != nil {
		t.Fatal(err)
	}
	_, err = transfer.ReadRoster(strings.NewReader(string(text)), transfer.RosterColumns{})
	var faults *fault.List
	if !errors.As(err, &faults) || !slices.Equal(faults.Lines, []string{"line 4: the number 1 stands in line 2 already", "line 7: Cy Vale stands in line 6 already"}) {
		t.Errorf("%v", err)
	}
	if hint := fault.Hint(err); !strings.Contains(hint, "--skip") {
		t.Errorf("hint %q", hint)
	}
}

// A column that is asked for and is not there, or no known word at all, lists what is.
func TestColumnsThatAreNotThere(t *testing.T) {
	for _, ask := range []transfer.RosterColumns{{}, {Name: []string{"Given", "Nonesuch"}}, {Name: []string{"Given"}, Number: "Nonesuch"}} {
		f, err := os.Open("testdata/rosters/odd-columns.csv")
		if err != nil {
			t.Fatal(err)
		}
		_, err = transfer.ReadRoster(f, ask)
		f.Close()
		if err == nil || !strings.Contains(err.Error()+fault.Hint(err), "Given, Family, Key") {
			t.Errorf("%+v: %v (%s)", ask, err, fault.Hint(err))
		}
	}
}

// A line means whoever has its number, whatever they are called; two of one name are
// two people when their numbers differ; one without a number gets the roster's.
func TestNumbersDecideWhoIsMeant(t *testing.T) {
	ctx := context.Background()
	at := time.Date(2030, 3, 1, 12, 0, 0, 0, time.UTC)
	book := record.NewMemory()
	for _, l := range []scoring.Learner{{Name: "Ben Moor", Number: "2"}, {Name: "Ada Finch"}, {Name: "Cy Vale", Number: "5"}} {
		l.At = at
		if _, err := book.AddLearner(ctx, l); err != nil {
			t.Fatal(err)
		}
	}
	class, err := book.AddClass(ctx, scoring.Class{Name: "Spring", At: at})
	if err != nil {
		t.Fatal(err)
	}
	got, err := transfer.Enrol(ctx, book, class.ID, entries{{Name: "Ben Moor", Number: "3"}, {Name: "Ada Finch", Number: "1", Email: "ada@example.org"}, {Name: "Cyrus Vale", Number: "5"}}, at)
	if err != nil {
		t.Fatal(err)
	}
	want := transfer.Enrolled{New: []string{"Ben Moor"}, Added: 3, Changed: []string{"Ada Finch"}, Called: []string{"Cyrus Vale (5) is Cy Vale in the book"}}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("-want +got:\n%s", d)
	}
	if everybody, _ := book.Learners(ctx); len(everybody) != 4 {
		t.Errorf("%d people in the book, want 4", len(everybody))
	}
	if ada, err := book.LearnerByName(ctx, "1"); err != nil || ada.Name != "Ada Finch" || ada.Email != "ada@example.org" {
		t.Errorf("number 1 is %+v, %v", ada, err)
	}
}
