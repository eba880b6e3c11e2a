package transfer

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/record/sqlite"
)

// school is a book with two people who have answered things, one who has not, and
// one who went, in a class with three assignments, the second of another class's.
func school(t testing.TB) (*record.Memory, scoring.Class) {
	t.Helper()
	ctx := context.Background()
	book := filledFrom(t, 2, recordtest.Sheet(t))
	rng := rand.New(rand.NewPCG(5, 5))
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	class, err := book.AddClass(ctx, scoring.Class{Name: "Monday group", At: start})
	must(err)
	other, err := book.AddClass(ctx, scoring.Class{Name: "Tuesday group", At: start})
	must(err)
	for _, name := range []string{"Cy Vale", "Dee Hart"} {
		_, err := book.AddLearner(ctx, scoring.Learner{Name: name, At: start})
		must(err)
	}
	people, err := book.Learners(ctx)
	must(err)
	for _, p := range people {
		must(book.Enrol(ctx, class.ID, p.ID, start.Add(time.Minute)))
		switch p.Name {
		case "Ada":
			must(book.SetRole(ctx, p.ID, scoring.RoleInstructor, start.Add(time.Hour)))
		case "Dee Hart":
			must(book.Unenrol(ctx, class.ID, p.ID, start.Add(time.Hour)))
		}
	}
	sheet := recordtest.Sheet(t)
	var last scoring.Assignment
	for _, c := range []scoring.ClassID{class.ID, other.ID, class.ID, class.ID} {
		a := recordtest.RandomAssignment(c, rng)
		a.Setup.Sheet = sheet
		last, err = book.AddAssignment(ctx, a)
		must(err)
	}
	// Drills without an answer: one that was left, and one that can be gone on with.
	for i, name := range []string{"Cy Vale", "Ada"} {
		p, err := book.LearnerByName(ctx, name)
		must(err)
		id := scoring.SittingID(fmt.Sprintf("empty-%d", i))
		must(book.StartSitting(ctx, scoring.Sitting{ID: id, Learner: p.ID, Started: start.Add(2 * time.Hour), Setup: last.Setup, Within: last.Set().Ref.String()}))
		if i == 0 {
			must(book.EndSitting(ctx, id, start.Add(3*time.Hour), true))
		}
	}
	return book, class
}

func exportClass(t testing.TB, book ClassSource, name string, answers bool) string {
	t.Helper()
	class, err := book.(record.Classes).ClassByName(context.Background(), name)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := ExportClass(context.Background(), book, class, answers, &b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func take(t testing.TB, book Target, file string) Imported {
	t.Helper()
	done, err := Import(context.Background(), book, strings.NewReader(file), JSONLines, Rules{At: noon, Roles: true})
	if err != nil {
		t.Fatal(err)
	}
	return done
}

// classState is what a book holds of one class; numbers of assignments and names
// of others aside.
type classState struct {
	Class   scoring.Class
	Roster  []scoring.Learner
	Members []scoring.Membership
	Given   []scoring.Assignment
	Empty   []scoring.Sitting // left without an answer
}

func stateOf(t testing.TB, book record.Book, name string) (s classState) {
	t.Helper()
	ctx := context.Background()
	var errs [5]error
	s.Class, errs[0] = book.ClassByName(ctx, name)
	s.Roster, errs[1] = book.Roster(ctx, s.Class.ID)
	s.Members, errs[2] = book.Memberships(ctx, s.Class.ID)
	s.Given, errs[3] = book.Assignments(ctx, s.Class.ID)
	all, err := book.Sittings(ctx, record.Filter{})
	errs[4] = err
	for _, sitting := range all {
		if sitting.Left && len(recordtest.All(t, book, record.Filter{Sitting: sitting.ID})) == 0 {
			sitting.Origin = scoring.Origin{Book: sitting.Origin.Book} // by which road it came is each book's own
			s.Empty = append(s.Empty, sitting)
		}
	}
	if err := errors.Join(errs[:]...); err != nil {
		t.Fatal(err)
	}
	return s
}

// A class comes out as it went in, before its answers, after them or in one file
// with them, and a second time nothing changes.
func TestAClassComesOutAsItWentIn(t *testing.T) {
	from, _ := school(t)
	answers, class, both := string(export(t, from, JSONLines)), exportClass(t, from, "Monday group", false), exportClass(t, from, "Monday group", true)
	want := stateOf(t, from, "Monday group")
	// Dee went, and this book has never seen her.
	want.Members = want.Members[:3]
	for i, m := range stateOf(t, from, "Monday group").Members {
		if m.Off {
			want.Members = append(append([]scoring.Membership{}, stateOf(t, from, "Monday group").Members[:i]...), stateOf(t, from, "Monday group").Members[i+1:]...)
		}
	}
	if len(want.Empty) != 1 || !strings.Contains(class, "empty-0") || strings.Contains(both, "empty-1") {
		t.Error("the drill that was left is not in the file, or the one that was not is")
	}
	if strings.Contains(class, "Dee Hart") || strings.Contains(both, "Dee Hart") {
		t.Error("who went is named in the file")
	}
	for name, files := range map[string][]string{"class first": {class, answers}, "answers first": {answers, class}, "together": {both}, "one behind the other": {class + class + answers}} {
		t.Run(name, func(t *testing.T) {
			for _, book := range []record.Store{record.NewMemory(), openSQLite(t)} {
				for _, f := range files {
					take(t, book, f)
				}
				if d := cmp.Diff(want, stateOf(t, book, "Monday group")); d != "" {
					t.Errorf("%T: -there +here:\n%s", book, d)
				}
				if again := exportClass(t, book, "Monday group", true); without(again, `"record":"end"`) != without(without(both, `"off":true`), `"record":"end"`) {
					t.Errorf("%T: exported again, the file is\n%s\nwant\n%s", book, again, both)
				}
				for _, f := range files {
					done := take(t, book, f)
					if done.Added+done.Learners+len(done.Renamed)+len(done.Roles)+len(done.RolesKept)+len(done.Named) > 0 {
						t.Errorf("%T: the same file again: %+v", book, done)
					}
					for _, c := range done.Classes {
						if c.Changed() || c.Members < 4 || c.Assignments < 3 {
							t.Errorf("%T: the same file again: %+v", book, c)
						}
					}
				}
				if d := cmp.Diff(want, stateOf(t, book, "Monday group")); d != "" {
					t.Errorf("%T: importing twice changed the class:\n%s", book, d)
				}
				if found, err := record.Verify(context.Background(), book, nil); err != nil || !found.Sound() {
					t.Errorf("%T: not sound: %q, %v", book, found.Findings, err)
				}
			}
		})
	}
}

// without is a file without the lines that hold a text; the class tells of one
// member less.
func without(file, text string) string {
	var kept []string
	for _, line := range strings.SplitAfter(file, "\n") {
		if !strings.Contains(line, text) {
			kept = append(kept, strings.Replace(line, `"members":4`, `"members":3`, 1))
		}
	}
	return strings.Join(kept, "")
}

func openSQLite(t testing.TB) *sqlite.Book {
	t.Helper()
	book, err := sqlite.Open(context.Background(), filepath.Join(t.TempDir(), "book.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { book.Close() })
	return book
}

// People who come with answers bring the time of their role: an older class file
// does not take it from them.
func TestTheTimeOfARoleComesWithAnswers(t *testing.T) {
	ctx := context.Background()
	from, _ := school(t)
	class := exportClass(t, from, "Monday group", false)
	ada, err := from.LearnerByName(ctx, "Ada")
	if err != nil {
		t.Fatal(err)
	}
	if err := from.SetRole(ctx, ada.ID, scoring.RoleLead, start.Add(2*time.Hour)); err != nil {
		t.Fatal(err)
	}
	book := record.NewMemory()
	take(t, book, string(export(t, from, JSONLines)))
	take(t, book, class)
	if got, err := book.Learner(ctx, ada.ID); err != nil || got.Role != scoring.RoleLead || !got.RoleAt.Equal(start.Add(2*time.Hour)) {
		t.Errorf("%+v, %v", got, err)
	}
}

// Two books change one class, and then hear of each other: both end alike, with
// what was done last.
func TestWhatWasDoneLastStandsInBothBooks(t *testing.T) {
	ctx := context.Background()
	home, class := school(t)
	clinic := openSQLite(t)
	take(t, clinic, exportClass(t, home, "Monday group", false))
	who := func(name string) scoring.LearnerID {
		p, err := home.LearnerByName(ctx, name)
		if err != nil {
			t.Fatal(err)
		}
		return p.ID
	}
	at := func(h int) time.Time { return start.Add(time.Duration(h) * time.Hour) }
	sum := who("=SUM(A1:A9)")
	for _, err := range []error{
		// Cy goes at home; at the clinic the other goes, and comes back.
		home.Unenrol(ctx, class.ID, who("Cy Vale"), at(5)),
		clinic.Unenrol(ctx, class.ID, sum, at(4)), home.Unenrol(ctx, class.ID, sum, at(5)), clinic.Enrol(ctx, class.ID, sum, at(6)),
		// A role on both sides, later at the clinic.
		home.SetRole(ctx, sum, scoring.RoleLead, at(7)), clinic.SetRole(ctx, sum, scoring.RoleInstructor, at(8)),
		// And each has something that the other has not.
		home.SetRole(ctx, who("Ada"), scoring.RoleLearner, at(9)),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	flo, err := clinic.AddLearner(ctx, scoring.Learner{Name: "Flo Reed", At: at(3)})
	if err != nil {
		t.Fatal(err)
	}
	if err := clinic.Enrol(ctx, class.ID, flo.ID, at(3)); err != nil {
		t.Fatal(err)
	}
	if _, err := clinic.AddAssignment(ctx, recordtest.RandomAssignment(class.ID, rand.New(rand.NewPCG(1, 1)))); err != nil {
		t.Fatal(err)
	}

	fromHome, fromClinic := exportClass(t, home, "Monday group", false), exportClass(t, clinic, "Monday group", false)
	atClinic, atHome := take(t, clinic, fromHome), take(t, home, fromClinic)
	got, want := stateOf(t, clinic, "Monday group"), stateOf(t, home, "Monday group")
	var names []string
	for _, p := range want.Roster {
		names = append(names, fmt.Sprintf("%s %s", p.Name, p.Role))
	}
	if d := cmp.Diff([]string{"=SUM(A1:A9) instructor", "Ada learner", "Flo Reed learner"}, names); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff(want.Roster, got.Roster); d != "" {
		t.Errorf("rosters differ:\n%s", d)
	}
	if len(got.Given) != 4 || len(want.Given) != 4 {
		t.Errorf("%d and %d assignments", len(got.Given), len(want.Given))
	}
	if c := atClinic.Classes[0]; c.New || c.Enrolled != 0 || !cmp.Equal(c.Off, []string{"Cy Vale"}) || c.NewAssignments != 0 {
		t.Errorf("told at the clinic: %+v", c)
	}
	if c := atHome.Classes[0]; c.Enrolled != 2 || len(c.Off) != 0 || c.NewAssignments != 1 || atHome.Learners != 1 || !cmp.Equal(c.Kept, []string{"Cy Vale"}) {
		t.Errorf("told at home: %+v, %+v", atHome, c)
	}
	if !cmp.Equal(atClinic.Roles, []string{"Ada, learner"}) || len(atClinic.RolesKept) > 0 || !cmp.Equal(atHome.RolesKept, []string{"Ada, learner"}) || !cmp.Equal(atHome.Roles, []string{"=SUM(A1:A9), instructor"}) {
		t.Errorf("roles: %+v and %+v", atClinic, atHome)
	}
}

// Another class of that name, and other people of those names, stay others.
func TestNamesThatAreTakenAreNumbered(t *testing.T) {
	ctx := context.Background()
	from, _ := school(t)
	long := strings.Repeat("x", record.LongestName)
	x, err := from.AddLearner(ctx, scoring.Learner{Name: long, At: start})
	if err != nil {
		t.Fatal(err)
	}
	class, _ := from.ClassByName(ctx, "Monday group")
	if err := from.Enrol(ctx, class.ID, x.ID, start); err != nil {
		t.Fatal(err)
	}
	book := record.NewMemory()
	for _, name := range []string{"ADA", "Ada (2)", long} {
		if _, err := book.AddLearner(ctx, scoring.Learner{Name: name, At: start}); err != nil {
			t.Fatal(err)
		}
	}
	own, err := book.AddClass(ctx, scoring.Class{Name: "monday GROUP", At: start})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := book.AddAssignment(ctx, recordtest.RandomAssignment(own.ID, rand.New(rand.NewPCG(1, 1)))); err != nil {
		t.Fatal(err)
	}
	file := exportClass(t, from, "Monday group", false)
	done := take(t, book, file)
	c := done.Classes[0]
	if c.Name != "Monday group (2)" || c.Called != "Monday group" || !c.New {
		t.Errorf("the class: %+v", c)
	}
	if d := cmp.Diff([]Renumbered{{There: 1, Here: 2}}, c.Numbers); d != "" {
		t.Errorf("the first assignment (-want +got):\n%s", d)
	}
	shortened := strings.Repeat("x", record.LongestName-4) + " (2)"
	if len(done.Renamed) != 2 || !(done.Renamed[0] == "Ada (3)" || done.Renamed[1] == "Ada (3)") || !(done.Renamed[0] == shortened || done.Renamed[1] == shortened) {
		t.Errorf("renamed: %q", done.Renamed)
	}
	if list, _ := book.Roster(ctx, own.ID); len(list) != 0 {
		t.Errorf("the other class of the name has got %v", list)
	}
	// They are known again by their identifiers, and it is said who is who.
	done = take(t, book, file)
	if c := done.Classes[0]; c.Changed() || c.Name != "Monday group (2)" || len(done.Named) != 2 || done.Learners != 0 || len(done.Renamed) != 0 {
		t.Errorf("the second time: %+v", done)
	}
}

// Whatever a name holds, no screen and no spreadsheet is acted on by it.
func TestNamesInAClassAreData(t *testing.T) {
	from, _ := school(t)
	file := earlier(exportClass(t, from, "Monday group", false))
	file = strings.Replace(file, `"name":"Monday group"`, `"name":"Mon\u001b[31mday\u202e \u0007group\u200b"`, 1)
	file = strings.Replace(file, `"learner":"Cy Vale"`, `"learner":"\u001b]0;x\u0007Cy\u2066 \u0000Vale"`, 1)
	book := record.NewMemory()
	take(t, book, file)
	s := stateOf(t, book, "Monday group")
	if s.Class.Name != "Monday group" || len(s.Roster) != 3 || s.Roster[2].Name != "Cy Vale" {
		t.Errorf("%+v", s)
	}
}

// Nobody waits for a roster: a second or so for 1,000 people, most of them of names
// that are taken. On a machine that does other things a second is no measure: all of
// one name may take some times as long as all of different ones, and no more.
func TestAThousandMembers(t *testing.T) {
	ctx := context.Background()
	from := record.NewMemory()
	class, err := from.AddClass(ctx, scoring.Class{Name: "Everybody", At: start})
	if err != nil {
		t.Fatal(err)
	}
	into := openSQLite(t)
	for i := range 1000 {
		l, err := from.AddLearner(ctx, scoring.Learner{Name: fmt.Sprintf("Person %d", i), At: start})
		if err != nil {
			t.Fatal(err)
		}
		if err := from.Enrol(ctx, class.ID, l.ID, start); err != nil {
			t.Fatal(err)
		}
	}
	file := exportClass(t, from, "Everybody", false)
	var plain time.Duration
	for _, want := range []int{1000, 0} {
		began := time.Now()
		done := take(t, into, file)
		took := time.Since(began)
		t.Logf("%d people: %v", done.Classes[0].Members, took)
		if c := done.Classes[0]; c.Enrolled != want || c.Members != 1000 || took > 4*time.Minute {
			t.Errorf("%d enrolled of %d in %v", c.Enrolled, c.Members, took)
		}
		plain = max(plain, took)
	}
	// All of one name: a number is not looked for from the beginning each time.
	began := time.Now()
	renamed := take(t, openSQLite(t), strings.NewReplacer(`"learner":"Person `, `"learner":"Person","x":"`).Replace(earlier(file))).Renamed
	if took := time.Since(began); len(renamed) != 999 || took > 20*time.Second+6*plain {
		t.Errorf("%d renamed in %v", len(renamed), took)
	}
}
