package trainer_test

import (
	"context"
	"errors"
	"regexp"
	"strings"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/simulate"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// teaching is a simulated class and its instructor before the screen.
func teaching(t *testing.T, role scoring.Role) trainer.Config {
	t.Helper()
	ctx := context.Background()
	// A draft that is given up is a copy of its book.
	var book record.Store
	given := errors.New("given up")
	err := taught(t).Merge(ctx, func(draft record.Book) error { book = draft.(record.Store); return given })
	if !errors.Is(err, given) {
		t.Fatal(err)
	}
	if _, err := book.AddLearner(ctx, scoring.Learner{Name: "Ada Invented", Role: role, At: trainertest.Start}); err != nil {
		t.Fatal(err)
	}
	return trainer.Config{Libraries: []*tabs.Library{library(t)}, Book: book, Seed: &seed, Learner: "Ada Invented", SkipWelcome: true, SkipDisplay: true}
}

// taught is the book of a simulated class, which is filled once; nobody writes to it.
func taught(t *testing.T) *record.Memory {
	t.Helper()
	if classBook != nil {
		return classBook
	}
	ctx := context.Background()
	book := record.NewMemory()
	sheet := tabs.NewSheet(library(t), nil)
	form := recordtest.Form(t, "A", 1, 8, sheet, exercises.ValueFirst)
	plan := simulate.Plan{Learners: 10, Sittings: 7, Items: 8, Seed: 1, From: time.Date(2029, 11, 5, 0, 0, 0, 0, time.UTC),
		Setup: exercises.Setup{Kind: exercises.ValueFirst, Targets: exercises.NaturalTargets, Sheet: sheet},
		Class: &simulate.Class{Name: "Monday group", Test: form, Pass: scoring.PassMark{Rule: scoring.PassMedian, Value: 2}}}
	if err := book.Merge(ctx, func(m record.Book) error { return plan.Fill(ctx, m, plan.Invent(), nil) }); err != nil {
		t.Fatal(err)
	}
	classBook = book
	return book
}

var classBook *record.Memory

// classReview opens the review from the menu.
func classReview(t *testing.T, o trainertest.Options) *trainertest.Trainer {
	t.Helper()
	tt := trainertest.Run(t, teaching(t, scoring.RoleInstructor), o)
	if m := classLine.FindStringSubmatch(tt.Text()); m != nil {
		return tt.Press(m[1]).Advance(time.Millisecond)
	}
	t.Fatalf("the menu has no class review:\n%s", tt.Text())
	return nil
}

var classLine = regexp.MustCompile(`([0-9a-z]) +Class review`)

var simulated = regexp.MustCompile(`Simulated [0-9]+`)

func lineFrom(text, mark string) string {
	for line := range strings.Lines(text) {
		if i := strings.Index(line, mark); i >= 0 {
			return line[i:]
		}
	}
	return ""
}

func TestClassScreens(t *testing.T) {
	golden(t, classReview(t, trainertest.Options{Width: 80, Height: 24}), "class-80x24", nil)
	tt := classReview(t, trainertest.Options{Width: 200, Height: 60})
	golden(t, tt, "class-200x60", nil)
	golden(t, tt.Press("down", "right", "right", "right"), "class-sorted-200x60", nil)
}

// A row opens that learner's tables and comes back to the row.
func TestClassRowOpensProgress(t *testing.T) {
	tt := classReview(t, trainertest.Options{})
	tt.Press("down")
	row := lineFrom(tt.Text(), "▸")
	tt.Press("enter")
	if name := simulated.FindString(row); !strings.Contains(tt.Text(), "Progress") || !strings.Contains(tt.Text(), name) {
		t.Errorf("after enter on %q:\n%s", row, tt.Text())
	}
	tt.Press("backspace")
	if again := lineFrom(tt.Text(), "▸"); again != row {
		t.Errorf("back on %q, not on %q", again, row)
	}
}

// The chosen learner stays chosen while the rows are sorted, and the order is
// said.
func TestClassSortsByKeys(t *testing.T) {
	tt := classReview(t, trainertest.Options{Width: 132, Height: 40})
	tt.Press("end")
	chosen := simulated.FindString(lineFrom(tt.Text(), "▸"))
	for _, c := range []struct{ key, words string }{
		{"right", "fewest sittings first"}, {"right", "longest away first"}, {"right", "largest error first"}, {"r", "largest error first, turned round"},
		{"left", "longest away first"}, {"left", "fewest sittings first"}, {"left", "by name"}, {"left", "fewest right in the proficiency test first"}, {"f", "flagged first"},
	} {
		tt.Press(c.key)
		if !strings.Contains(tt.Text(), c.words) {
			t.Errorf("after %s nothing says %q:\n%s", c.key, c.words, tt.Text())
		}
		if line := lineFrom(tt.Text(), "▸"); !strings.Contains(line, chosen) {
			t.Errorf("after %s %q is chosen, not %s", c.key, line, chosen)
		}
	}
	for range 12 {
		tt.Press("up")
	}
	if !strings.Contains(tt.Text(), "This is the first row.") {
		t.Error("nothing says that there is no row above the first")
	}
}

// A learner does not see what others do.
func TestClassIsNotForLearners(t *testing.T) {
	if tt := trainertest.Run(t, teaching(t, scoring.RoleLearner), trainertest.Options{}); strings.Contains(tt.Text(), "Class review") {
		t.Errorf("a learner is offered the class:\n%s", tt.Text())
	}
}

// What else there is of a class stands behind keys, and comes back to the class.
func TestClassPageLeadsToEffectGradesAndNow(t *testing.T) {
	tt := classReview(t, trainertest.Options{Width: 132, Height: 40})
	for _, c := range []struct{ key, words string }{{"e", "Did it work?"}, {"g", "Grades of class Monday group"}, {"n", "0 of 10 are at a drill"}, {"w", "Who needs a look, and why"}} {
		tt.Press(c.key)
		if !strings.Contains(tt.Text(), c.words) {
			t.Errorf("after %s nothing says %q:\n%s", c.key, c.words, tt.Text())
		}
		tt.Press("backspace").Expect("Class review: Monday group")
	}
}

// What an instructor decides about an assignment is reached by keys, written down with
// their name, and what makes no sense is said where it was typed.
func TestInstructorDecidesByKeys(t *testing.T) {
	cfg := teaching(t, scoring.RoleInstructor)
	ctx := context.Background()
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Press(classLine.FindStringSubmatch(tt.Text())[1]).Advance(time.Millisecond)
	me, err := cfg.Book.LearnerByName(ctx, "Ada Invented")
	if err != nil {
		t.Fatal(err)
	}
	who, err := cfg.Book.LearnerByName(ctx, "Simulated 01")
	if err != nil {
		t.Fatal(err)
	}
	now := func() scoring.Assignment {
		a, err := cfg.Book.Assignment(ctx, 1)
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	// to goes from the class to what can be decided, and chooses a line of it.
	to := func(line string) { tt.Press("a").Expect("Assignments of Monday group").Press("1").Press(line) }
	write := func(text string) { tt.Type(text).Press("enter") }

	to("1")
	tt.Expect("Until when is it in time?")
	write("tomorrow")
	tt.Expect("neither a day nor a day and a time")
	for range "tomorrow" {
		tt.Press("backspace")
	}
	write("2030-06-01 17:00")
	tt.Expect("the due date was moved to 2030-06-01 17:00", "Class review: Monday group")
	if r, ok := now().Standing(scoring.Ruling{What: scoring.DueMoved}); !ok || r.By != me.ID || r.At.IsZero() {
		t.Errorf("written down is %+v", r)
	}

	to("2")
	tt.Expect("Who has more time?", "Simulated 01").Press("1")
	write("2030-05-01")
	tt.Expect("that is no longer than the class has")
	tt.Press("escape", "backspace", "backspace", "backspace").Expect("Class review: Monday group")
	to("2")
	tt.Press("1")
	write("2030-07-01")
	tt.Expect("Simulated 01 has until 2030-07-01 23:59")
	if got := now().DueFor(who.ID); !got.After(now().DueNow()) {
		t.Errorf("she has until %v", got)
	}

	to("3")
	tt.Expect("Who need not do it?").Press("1").Expect("Simulated 01 is excused")
	to("3")
	tt.Expect("is excused; choose to take that back").Press("1").Expect("Simulated 01 is not excused any more")
	if now().Excuses(who.ID) {
		t.Error("she is excused still")
	}

	to("4")
	tt.Expect("Which item is left out?")
	write("99")
	write("unfair")
	tt.Expect("assignment 1 has no item 99").Press("escape", "escape", "backspace", "backspace")
	to("4")
	write("2")
	tt.Expect("Why does item 2 not count?").Press("enter").Expect("for a reason")
	write("two tabs fit")
	tt.Expect("item 2 is left out of the grade")
	if r, _ := now().Standing(scoring.Ruling{What: scoring.Dropped, Item: 2}); r.Why != "two tabs fit" || r.By != me.ID {
		t.Errorf("written down is %+v", r)
	}
	tt.Press("g").Expect("Grades of class Monday group").Press("backspace")

	to("5")
	tt.Expect("Answers stay in the book").Press("1").Expect("take the assignment back").Press("5", "2").Expect("it was taken back")
	if now().Gone().IsZero() {
		t.Error("it is there still")
	}
	tt.Press("a").Expect("taken back").Press("1").Expect("give it again").Press("1").Expect("it was given again")
	if !now().Gone().IsZero() {
		t.Error("it is not given again")
	}
}

// Of a silent session a lead sees who is at which item, and nothing of the answers.
func TestLeadSeesWhoIsWhereInASession(t *testing.T) {
	cfg, p := session(t)
	set := p.Set()
	cfg.Set = &set
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	tt.Press("enter").Press("enter", "enter") // one answer
	ctx := context.Background()
	if _, err := cfg.Book.AddLearner(ctx, scoring.Learner{Name: "Ida Lead", Role: scoring.RoleLead, At: trainertest.Start}); err != nil {
		t.Fatal(err)
	}
	lead := cfg
	lead.Set, lead.Learner, lead.SkipWelcome, lead.SkipDisplay = nil, "Ida Lead", true, true
	lt := trainertest.Run(t, lead, trainertest.Options{Width: 100, Height: 30})
	m := regexp.MustCompile(`([0-9a-z]) +Sessions now`).FindStringSubmatch(lt.Text())
	if m == nil {
		t.Fatalf("the menu leads to no session:\n%s", lt.Text())
	}
	lt.Press(m[1]).Expect("Calibration session Spring team").Press("1").Expect("1 at it now, 0 through", "Ada Invented", "at it")
	for _, of := range []string{"ΔE", "#", "right", "median"} {
		if strings.Contains(lt.Text(), of) {
			t.Errorf("the page of a silent session says %q:\n%s", of, lt.Text())
		}
	}
	tt.Press("enter", "enter", "enter", "enter", "enter", "enter").Expect("summary")
	lt.Advance(4 * time.Second).Expect("0 at it now, 1 through")
}
