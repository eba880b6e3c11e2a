package classes_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/record/sqlite"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/classes"
)

// ruled is a class of three with an assignment: two did it, one of them late, the third
// did nothing.
type ruled struct {
	*testing.T
	book  record.Store
	class scoring.Class
	due   time.Time
	who   map[string]scoring.Learner
	given scoring.Assignment
}

var ruledNoon = time.Date(2030, 3, 1, 12, 0, 0, 0, time.UTC)

func newRuled(t *testing.T, pass scoring.PassMark) *ruled {
	t.Helper()
	ctx := context.Background()
	book, err := sqlite.Open(ctx, t.TempDir()+"/book.db")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { book.Close() })
	r := &ruled{T: t, book: book, due: ruledNoon.Add(24 * time.Hour), who: map[string]scoring.Learner{}}
	if r.class, err = r.book.AddClass(ctx, scoring.Class{Name: "Spring", At: ruledNoon}); err != nil {
		t.Fatal(err)
	}
	lib, err := tabs.Load("natural")
	if err != nil {
		t.Fatal(err)
	}
	sheet := tabs.NewSheet(lib, nil)
	if err := r.book.PutSheet(ctx, sheet); err != nil {
		t.Fatal(err)
	}
	kind, _ := exercises.ByID(exercises.ValueFirst)
	if r.given, err = r.book.AddAssignment(ctx, scoring.Assignment{Class: r.class.ID, At: ruledNoon, Due: r.due, Pass: pass,
		Setup: exercises.Setup{Kind: kind.ID(), Version: kind.Version(), Seed: 5, Count: 8, Targets: exercises.NaturalTargets, Sheet: sheet}}); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"Ada", "Ben", "Cy", "Ida"} {
		role := scoring.RoleLearner
		if name == "Ida" {
			role = scoring.RoleInstructor
		}
		who, err := r.book.AddLearner(ctx, scoring.Learner{Name: name, Role: role, At: ruledNoon})
		if err != nil {
			t.Fatal(err)
		}
		if err := r.book.Enrol(ctx, r.class.ID, who.ID, ruledNoon); err != nil {
			t.Fatal(err)
		}
		r.who[name] = who
	}
	r.answer("Ada", observer.Observer{Noise: 1, BiasL: 2}, ruledNoon)
	r.answer("Ben", observer.Observer{Noise: 0.3}, r.due.Add(time.Minute))
	return r
}

// answer does the assignment from end to end.
func (r *ruled) answer(name string, o observer.Observer, at time.Time) {
	r.Helper()
	ctx := context.Background()
	d, err := record.Take(ctx, r.book, r.now().SetFor(r.who[name].ID), r.who[name], scoring.DisplayCheck{}, func() time.Time { at = at.Add(time.Second); return at })
	if err != nil {
		r.Fatal(err)
	}
	kind, _ := exercises.ByID(exercises.ValueFirst)
	rng := rand.New(rand.NewPCG(1, 2))
	for range 8 {
		trial, _ := d.Trial()
		if _, _, err := d.Answer(ctx, kind.Simulate(trial, d.Sitting().Setup, o, rng)); err != nil {
			r.Fatal(err)
		}
	}
	if err := d.End(ctx, false); err != nil {
		r.Fatal(err)
	}
}

func (r *ruled) now() scoring.Assignment {
	r.Helper()
	a, err := r.book.Assignment(context.Background(), r.given.Number)
	if err != nil {
		r.Fatal(err)
	}
	return a
}

func (r *ruled) rule(x scoring.Ruling) {
	r.Helper()
	x.At, x.By, x.Why = r.due.Add(time.Hour), r.who["Ida"].ID, "said so"
	if _, err := record.Rule(context.Background(), r.book, r.now(), x); err != nil {
		r.Fatal(err)
	}
}

// want holds what stands in the grades: result, late, answers.
func (r *ruled) want(what string, rows ...string) (medians []float64, notes string) {
	r.Helper()
	rep, err := classes.Grades(context.Background(), r.book, r.class, 0, r.due.Add(48*time.Hour), false)
	if err != nil {
		r.Fatal(err)
	}
	s := rep.Sections[0]
	var got []string
	for _, row := range s.Table.Rows {
		got = append(got, fmt.Sprintf("%v: %v, %v, %v", row[0], row[3], row[5], row[6]))
		if e, ok := row[7].(report.Estimated); ok {
			medians = append(medians, e.Value)
		}
	}
	if strings.Join(got, "\n") != strings.Join(rows, "\n") {
		r.Errorf("%s: grades\n%s\nwant\n%s", what, strings.Join(got, "\n"), strings.Join(rows, "\n"))
	}
	return medians, strings.Join(s.Notes, "\n")
}

func (r *ruled) points() []string {
	r.Helper()
	rep, err := classes.WideGrades(context.Background(), r.book, r.class, 10, r.due.Add(48*time.Hour), false)
	if err != nil {
		r.Fatal(err)
	}
	var list []string
	for _, row := range rep.Sections[0].Table.Rows {
		list = append(list, fmt.Sprint(row[3]))
	}
	return list
}

// What an instructor decides changes the grades and nothing else: answers, chains and
// what was asked stay.
func TestGradesFollowWhatIsDecided(t *testing.T) {
	r := newRuled(t, scoring.PassMark{Rule: scoring.PassMedian, Value: 2})
	ctx := context.Background()
	before := fmt.Sprint(r.sittings())
	base, _ := r.want("as given", "Ada: not passed, false, 8", "Ben: passed, true, 8", "Cy: missing, {}, {}")

	// Extended after the fact: who was late is in time, and only they.
	r.rule(scoring.Ruling{What: scoring.Extended, Learner: r.who["Ben"].ID, Until: r.due.Add(2 * time.Hour)})
	_, notes := r.want("extended after the fact", "Ada: not passed, false, 8", "Ben: passed, false, 8", "Cy: missing, {}, {}")
	if !strings.Contains(notes, "by Ida: Ben has until 2030-03-02 14:00") || !strings.Contains(notes, "(said so)") {
		t.Errorf("the notes do not say who decided what: %s", notes)
	}
	// The class has longer than that: not missing any more.
	r.rule(scoring.Ruling{What: scoring.DueMoved, Until: r.due.Add(72 * time.Hour)})
	r.want("due date moved", "Ada: not passed, false, 8", "Ben: passed, false, 8", "Cy: open, {}, {}")
	r.rule(scoring.Ruling{What: scoring.DueMoved, Until: r.due.Add(time.Second)})
	r.want("moved back", "Ada: not passed, false, 8", "Ben: passed, false, 8", "Cy: missing, {}, {}")

	// Excused: not missing, and who answers all the same is not graded by it.
	r.rule(scoring.Ruling{What: scoring.Excused, Learner: r.who["Cy"].ID})
	r.want("excused", "Ada: not passed, false, 8", "Ben: passed, false, 8", "Cy: excused, {}, {}")
	if open, err := record.OpenSets(ctx, r.book, r.who["Cy"].ID); err != nil || len(open) != 0 {
		t.Errorf("the menu still asks whoever is excused: %v, %v", open, err)
	}
	r.answer("Cy", observer.Observer{Noise: 0.3}, r.due.Add(10*time.Hour))
	r.want("excused, and answered", "Ada: not passed, false, 8", "Ben: passed, false, 8", "Cy: excused, false, 8")
	if got := r.points(); got[2] != fmt.Sprint(report.Empty{}) {
		t.Errorf("an excused person gets the points %v", got)
	}
	r.rule(scoring.Ruling{What: scoring.Excused, Learner: r.who["Cy"].ID, Back: true})
	r.want("not excused any more", "Ada: not passed, false, 8", "Ben: passed, false, 8", "Cy: passed, true, 8")

	// Items: the grade is that of the others, and the last one stays.
	points := r.points()
	for item := 1; item <= 7; item++ {
		r.rule(scoring.Ruling{What: scoring.Dropped, Item: item})
	}
	left, _ := r.want("seven of eight dropped", "Ada: "+r.result(t, "Ada")+", false, 1", "Ben: passed, false, 1", "Cy: passed, true, 1")
	if left[0] == base[0] {
		t.Errorf("the median %v is that of all items", left[0])
	}
	if got := fmt.Sprint(r.points()); got == fmt.Sprint(points) {
		t.Error("the points are those of all items")
	}
	if _, err := record.Rule(ctx, r.book, r.now(), scoring.Ruling{What: scoring.Dropped, Item: 8, At: r.due, Why: "all", By: r.who["Ida"].ID}); err == nil {
		t.Error("the last item that counts was dropped")
	}
	// Two machines can drop all between them: then nothing can be marked, and nobody fails.
	if err := r.book.PutRuling(ctx, r.given.ID, scoring.Ruling{What: scoring.Dropped, Item: 8, At: r.due}); err != nil {
		t.Fatal(err)
	}
	r.want("every item dropped", "Ada: unmarked, false, 0", "Ben: unmarked, false, 0", "Cy: unmarked, true, 0")
	for _, p := range r.points() {
		if p != fmt.Sprint(report.Empty{}) {
			t.Errorf("points without an item: %v", p)
		}
	}

	// Taken back with answers: no grade, nobody begins it, the answers are there.
	r.rule(scoring.Ruling{What: scoring.Removed})
	_, notes = r.want("taken back")
	if !strings.Contains(notes, "by Ida: it was taken back") {
		t.Errorf("the notes do not say that it was taken back: %s", notes)
	}
	ada, err := r.book.AddLearner(ctx, scoring.Learner{Name: "Eve", At: ruledNoon})
	if err != nil {
		t.Fatal(err)
	}
	if err := r.book.Enrol(ctx, r.class.ID, ada.ID, ruledNoon); err != nil {
		t.Fatal(err)
	}
	if _, err := record.Take(ctx, r.book, r.now().Set(), ada, scoring.DisplayCheck{}, func() time.Time { return r.due }); err == nil {
		t.Error("what was taken back was begun")
	}
	r.rule(scoring.Ruling{What: scoring.Removed, Back: true})
	for item := 1; item <= 8; item++ {
		r.rule(scoring.Ruling{What: scoring.Dropped, Item: item, Back: true})
	}
	back, _ := r.want("given again", "Ada: not passed, false, 8", "Ben: passed, false, 8", "Cy: passed, true, 8", "Eve: missing, {}, {}")
	if back[0] != base[0] {
		t.Errorf("the median %v is not what it was, %v", back[0], base[0])
	}
	after := fmt.Sprint(r.sittings())
	if !strings.HasPrefix(after, strings.TrimSuffix(before, "]")) {
		t.Errorf("sittings or answers have changed:\n%s\n%s", before, after)
	}
	if err := r.book.Whole(ctx, record.Filter{}); err != nil {
		t.Errorf("the book is not whole: %v", err)
	}
	if found, err := record.Verify(ctx, r.book, nil); err != nil || !found.Sound() {
		t.Errorf("the book is not sound: %v, %v", found.Findings, err)
	}
}

// result is what the grades say of one person.
func (r *ruled) result(t *testing.T, name string) string {
	t.Helper()
	rep, err := classes.Grades(context.Background(), r.book, r.class, 0, r.due.Add(48*time.Hour), false)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rep.Sections[0].Table.Rows {
		if fmt.Sprint(row[0]) == name {
			return fmt.Sprint(row[3])
		}
	}
	return ""
}

func (r *ruled) sittings() (list []string) {
	r.Helper()
	for _, a := range recordtest.All(r, r.book, record.Filter{}) {
		list = append(list, fmt.Sprint(a.ID(), a.At, a.Answer.Tab))
	}
	return list
}

// A share right is that of the items that count.
func TestShareRightOfTheItemsThatCount(t *testing.T) {
	r := newRuled(t, scoring.PassMark{Rule: scoring.PassShare, Value: 0.5})
	points := r.points()
	var right, wrong int
	sheet, err := r.book.Sheet(context.Background(), r.given.Setup.SheetID)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range recordtest.All(t, r.book, record.Filter{Learner: r.who["Ada"].ID}) {
		ok, known := scoring.MarkOf(a, sheet).Right()
		switch {
		case known && ok:
			right++
		case known:
			wrong++
			r.rule(scoring.Ruling{What: scoring.Dropped, Item: a.Trial.Ordinal + 1})
		}
	}
	if right == 0 || wrong == 0 {
		t.Fatalf("%d right, %d wrong: nothing can be told", right, wrong)
	}
	if got := fmt.Sprint(r.points()[0]); got == points[0] || got != fmt.Sprint(report.Number{Value: 10, Decimals: 1}) {
		t.Errorf("all that she has wrong is dropped, and she gets %v, before %v", got, points[0])
	}
}
