package transfer

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
)

// somebody answers three times in a book of their own, which is exported.
func somebody(t *testing.T, l scoring.Learner, minutes int) (scoring.Learner, string) {
	t.Helper()
	ctx, book := context.Background(), record.NewMemory()
	if l.At.IsZero() {
		l.At = noon
	}
	l, err := book.AddLearner(ctx, l)
	if err != nil {
		t.Fatal(err)
	}
	s := recordtest.Begin(t, book, l, minutes)
	for i := range 3 {
		if err := book.Append(ctx, recordtest.Plain(s, i)); err != nil {
			t.Fatal(err)
		}
	}
	if err := book.EndSitting(ctx, s.ID, noon.Add(time.Hour), false); err != nil {
		t.Fatal(err)
	}
	return l, string(export(t, book, JSONLines))
}

func takeIn(t *testing.T, book Target, file string, rules Rules) Imported {
	t.Helper()
	if rules.At.IsZero() {
		rules.At = noon.Add(2 * time.Hour)
	}
	done, err := Import(context.Background(), book, strings.NewReader(file), JSONLines, rules)
	if err != nil {
		t.Fatal(err)
	}
	return done
}

func answersOf(t *testing.T, book record.Book, id scoring.LearnerID) int {
	t.Helper()
	return len(recordtest.All(t, book, record.Filter{Learner: id}))
}

// Two identities of one person are joined; both old files come in again, twice, and
// add nothing; what is new in them comes to the one. The book of both comes into one
// that knows them as two.
func TestOldFilesOfJoinedPeople(t *testing.T) {
	ctx := context.Background()
	ada, first := somebody(t, scoring.Learner{Name: "Ada Finch"}, 0)
	adah, second := somebody(t, scoring.Learner{Name: "Adah Finch", Number: "7", Email: "ada@example.org"}, 5)
	book, apart := openSQLite(t), openSQLite(t)
	for _, file := range []string{first, second} {
		takeIn(t, book, file, Rules{})
		takeIn(t, apart, file, Rules{})
	}
	joined, err := book.JoinLearners(ctx, adah.ID, ada.ID, noon)
	if err != nil || joined.Number != "7" || joined.Email != "ada@example.org" {
		t.Fatal(joined, err)
	}
	for range 2 {
		for _, file := range []string{first, second} {
			if done := takeIn(t, book, file, Rules{}); done.Added != 0 || done.Known != 3 || done.Learners != 0 {
				t.Errorf("an old file again: %+v", done)
			}
		}
	}
	// The same person goes on in the old book.
	later := strings.NewReplacer(string(recordtest.All(t, apart, record.Filter{Learner: adah.ID})[0].Sitting), string(record.NewSittingID(noon.Add(99*time.Minute)))).Replace(earlier(second))
	if done := takeIn(t, book, later, Rules{}); done.Added != 3 || done.Learners != 0 {
		t.Errorf("a later file under the identity that was given up: %+v", done)
	}
	if n := answersOf(t, book, ada.ID); n != 9 {
		t.Errorf("%d answers, want 9", n)
	}
	if done := takeIn(t, apart, string(export(t, book, JSONLines)), Rules{}); done.Added != 3 || done.Known != 6 {
		t.Errorf("the book of the one into that of the two: %+v", done)
	}
	for _, b := range []interface {
		record.Store
	}{book, apart} {
		if found, err := record.Verify(ctx, b, nil); err != nil || !found.Sound() {
			t.Errorf("not sound: %v, %v", found.Findings, err)
		}
	}
}

// An old file does not bring back who was erased, and says so; the others in it come in.
func TestAnOldFileAfterAnErasure(t *testing.T) {
	ctx := context.Background()
	ada, first := somebody(t, scoring.Learner{Name: "Ada Finch"}, 0)
	ben, second := somebody(t, scoring.Learner{Name: "Ben Moor"}, 5)
	book, other := openSQLite(t), record.NewMemory()
	for _, file := range []string{first, second} {
		takeIn(t, book, file, Rules{})
		takeIn(t, other, file, Rules{})
	}
	class, err := other.AddClass(ctx, scoring.Class{Name: "Monday", At: noon})
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range []scoring.LearnerID{ada.ID, ben.ID} {
		if err := other.Enrol(ctx, class.ID, id, noon); err != nil {
			t.Fatal(err)
		}
	}
	file := exportClass(t, other, "Monday", true)
	if err := book.EraseLearner(ctx, ada.ID, noon); err != nil {
		t.Fatal(err)
	}
	for _, format := range []Format{JSONLines, CSV} {
		done, err := Import(ctx, book, bytes.NewReader(export(t, other, format)), format, Rules{At: noon})
		if err != nil || done.Left != 3 || done.Erased != 1 || done.Known != 3 || done.Learners != 0 {
			t.Errorf("%s: %+v, %v", format, done, err)
		}
	}
	if done := takeIn(t, book, file, Rules{}); done.Left != 3 || done.Erased != 1 || done.Classes[0].Enrolled != 1 {
		t.Errorf("a class with the erased one: %+v", done)
	}
	if people, err := book.Learners(ctx); err != nil || len(people) != 1 || people[0].ID != ben.ID {
		t.Errorf("in the book: %v, %v", people, err)
	}
}

// Nobody becomes a lead or an instructor by a file unless that was asked for; a file
// from the future is refused.
func TestRolesOfAFile(t *testing.T) {
	ctx := context.Background()
	eve, file := somebody(t, scoring.Learner{Name: "Eve Lund", Role: scoring.RoleInstructor}, 0)
	book := openSQLite(t)
	role := func() scoring.Role {
		l, err := book.Learner(ctx, eve.ID)
		if err != nil {
			t.Fatal(err)
		}
		return l.Role
	}
	if done := takeIn(t, book, file, Rules{}); role() != scoring.RoleLearner || !slices.Equal(done.RolesNot, []string{"Eve Lund, instructor"}) {
		t.Errorf("a new person: %s, %+v", role(), done)
	}
	other := record.NewMemory()
	takeIn(t, other, file, Rules{Roles: true})
	class, err := other.AddClass(ctx, scoring.Class{Name: "Monday", At: noon})
	if err != nil {
		t.Fatal(err)
	}
	if err := other.Enrol(ctx, class.ID, eve.ID, noon); err != nil {
		t.Fatal(err)
	}
	if err := other.SetRole(ctx, eve.ID, scoring.RoleInstructor, noon.Add(time.Minute)); err != nil {
		t.Fatal(err)
	}
	monday := exportClass(t, other, "Monday", false)
	if done := takeIn(t, book, monday, Rules{}); role() != scoring.RoleLearner || len(done.RolesNot) != 1 {
		t.Errorf("a known person: %s, %+v", role(), done)
	}
	if done := takeIn(t, book, monday, Rules{Roles: true}); role() != scoring.RoleInstructor || len(done.Roles) != 1 {
		t.Errorf("with roles: %s, %+v", role(), done)
	}
	for _, what := range []string{"role_at", "since", "made", "entered"} {
		_, rest, _ := strings.Cut(monday, `"`+what+`":"`)
		far := strings.Replace(monday, `"`+what+`":"`+rest[:4], `"`+what+`":"2099`, 1)
		_, err := Import(ctx, book, strings.NewReader(far), JSONLines, Rules{At: noon, Roles: true})
		if err == nil || !strings.Contains(err.Error(), what+" is 2099") {
			t.Errorf("%s in the year 2099: %v", what, err)
		}
	}
	far := strings.Replace(file, `"at":"2030`, `"at":"2031`, 1)
	if _, err := Import(ctx, book, strings.NewReader(far), JSONLines, Rules{At: noon}); err == nil {
		t.Error("an answer given next year is taken in")
	}
}

// Numbers and addresses travel; a number that is another's here is left out and told,
// and so is a name that only looks like another's.
func TestNumbersTravel(t *testing.T) {
	ctx := context.Background()
	ada, file := somebody(t, scoring.Learner{Name: "Ada Finch", Number: "4711", Email: "ada@example.org"}, 0)
	book := openSQLite(t)
	takeIn(t, book, file, Rules{})
	if l, err := book.LearnerByName(ctx, "4711"); err != nil || l.ID != ada.ID || l.Email != "ada@example.org" {
		t.Errorf("%+v, %v", l, err)
	}
	_, namesake := somebody(t, scoring.Learner{Name: "Ada Finch", Number: "4712"}, 3)
	if done := takeIn(t, book, namesake, Rules{}); len(done.Renamed)+len(done.NumbersNot) != 0 {
		t.Errorf("a namesake with another number: %+v", done)
	}
	_, twin := somebody(t, scoring.Learner{Name: "Аda Finch", Number: "4711"}, 6) // Cyrillic А
	done := takeIn(t, book, twin, Rules{})
	if len(done.NumbersNot) != 1 || len(done.Alike) != 1 || done.Added != 3 {
		t.Errorf("another's number, a name that looks like another's: %+v", done)
	}
}

// An export for research names nobody and no time, and is the same each time.
func TestPseudonyms(t *testing.T) {
	ctx := context.Background()
	ada, first := somebody(t, scoring.Learner{Name: "Ada Finch", Number: "4711", Email: "ada@example.org"}, 0)
	_, later := somebody(t, ada, 60*24*3+60*20)
	ben, second := somebody(t, scoring.Learner{Name: "Ben Moor", At: noon}, 7)
	book := openSQLite(t)
	for _, file := range []string{first, later, second} {
		takeIn(t, book, file, Rules{At: noon.Add(200 * time.Hour)})
	}
	var out [2]map[Format]string
	for i := range out {
		out[i] = map[Format]string{}
		for _, format := range []Format{CSV, JSONLines} {
			var b bytes.Buffer
			if err := ExportPseudonyms(ctx, book, record.Filter{}, &b, format); err != nil {
				t.Fatal(err)
			}
			out[i][format] = b.String()
			for _, secret := range []string{"Ada", "Finch", "Ben", "4711", "example.org", string(ada.ID), string(ben.ID), "2030", "T12:", "memory", book.ID()} {
				if strings.Contains(b.String(), secret) {
					t.Errorf("%s holds %q", format, secret)
				}
			}
			for _, s := range recordtest.All(t, book, record.Filter{}) {
				if strings.Contains(b.String(), string(s.Sitting)) {
					t.Errorf("%s holds a sitting's identifier, which tells the time", format)
				}
			}
		}
	}
	if fmt.Sprint(out[0]) != fmt.Sprint(out[1]) {
		t.Error("the labels differ from export to export")
	}
	lines, err := csv.NewReader(strings.NewReader(out[0][CSV])).ReadAll()
	if err != nil || len(lines) != 10 {
		t.Fatal(len(lines), err)
	}
	people, daysSeen := map[string]int{}, map[string]int{}
	for _, l := range lines[1:] {
		people[l[0]]++
		daysSeen[l[4]]++
	}
	if len(people) != 2 || daysSeen["0"] != 6 || daysSeen["3"] != 3 {
		t.Errorf("people %v, days %v", people, daysSeen)
	}
	if _, err := Import(ctx, record.NewMemory(), strings.NewReader(out[0][CSV]), CSV, Rules{At: noon}); err == nil {
		t.Error("it is taken in")
	}
}
