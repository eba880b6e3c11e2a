package trainer_test

import (
	"context"
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

// teaching is a book with a made-up class and its instructor before the screen.
func teaching(t *testing.T, role scoring.Role) trainer.Config {
	t.Helper()
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
	if _, err := book.AddLearner(ctx, scoring.Learner{Name: "Ada Invented", Role: role, At: trainertest.Start}); err != nil {
		t.Fatal(err)
	}
	return trainer.Config{Libraries: []*tabs.Library{library(t)}, Book: book, Seed: &seed, Learner: "Ada Invented", SkipWelcome: true, SkipDisplay: true}
}

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
	if name := simulated.FindString(row); !strings.Contains(tt.Text(), "Progress of "+name) {
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
	for _, c := range []struct{ key, words string }{{"e", "Did it work?"}, {"g", "Grades of class Monday group"}, {"n", "0 of 10 are at a drill"}} {
		tt.Press(c.key)
		if !strings.Contains(tt.Text(), c.words) {
			t.Errorf("after %s nothing says %q:\n%s", c.key, c.words, tt.Text())
		}
		tt.Press("backspace").Expect("Class review: Monday group")
	}
}
