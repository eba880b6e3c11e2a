package classes_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
	"shadedrill/scoring/reports/classes"
)

// graded is the line of somebody who did an assignment with that pass mark, the last
// answer and the end so long after it was due.
func graded(t *testing.T, pass scoring.PassMark, after time.Duration) (result string, late bool, median, right scoring.Estimate) {
	t.Helper()
	ctx := context.Background()
	noon := time.Date(2030, 3, 1, 12, 0, 0, 0, time.UTC)
	book := record.NewMemory()
	class, err := book.AddClass(ctx, scoring.Class{Name: "Spring", At: noon})
	if err != nil {
		t.Fatal(err)
	}
	tabs := reporttest.Sheet(t, "natural")
	if err := book.PutSheet(ctx, tabs); err != nil {
		t.Fatal(err)
	}
	kind, err := exercises.ByID(exercises.ValueFirst)
	if err != nil {
		t.Fatal(err)
	}
	a, err := book.AddAssignment(ctx, scoring.Assignment{Class: class.ID, At: noon, Due: noon.Add(time.Hour), Pass: pass,
		Setup: exercises.Setup{Kind: kind.ID(), Version: kind.Version(), Seed: 5, Count: 9, Targets: exercises.TabTargets, Sheet: tabs}})
	if err != nil {
		t.Fatal(err)
	}
	who, err := book.AddLearner(ctx, scoring.Learner{Name: "Ada Finch", At: noon, Simulated: true})
	if err != nil {
		t.Fatal(err)
	}
	if err := book.Enrol(ctx, class.ID, who.ID, noon); err != nil {
		t.Fatal(err)
	}
	d, err := record.Take(ctx, book, a.Set(), who, scoring.DisplayCheck{}, func() time.Time { return a.Due.Add(after) })
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for trial, ok := d.Trial(); ok; trial, ok = d.Trial() {
		if _, _, err := d.Answer(ctx, kind.Simulate(trial, d.Sitting().Setup, observer.Observer{Noise: 1.6}, rng)); err != nil {
			t.Fatal(err)
		}
	}
	if err := d.End(ctx, false); err != nil {
		t.Fatal(err)
	}
	r, err := classes.Grades(ctx, book, class, 0, a.Due, false)
	if err != nil {
		t.Fatal(err)
	}
	row := r.Sections[0].Table.Rows[0]
	return string(row[3].(report.Text)), bool(row[5].(report.Yes)), row[7].(report.Estimated).Estimate, row[8].(report.Estimated).Estimate
}

// Who ends at the very moment that the work is due is in time.
func TestTheDueMomentIsInTime(t *testing.T) {
	for after, want := range map[time.Duration]bool{-time.Millisecond: false, 0: false, time.Millisecond: true} {
		if _, late, _, _ := graded(t, scoring.PassMark{}, after); late != want {
			t.Errorf("ended %v after the due moment: late is %v", after, late)
		}
	}
}

// Who reaches a pass mark exactly has passed.
func TestAPassMarkReachedIsPassed(t *testing.T) {
	_, _, median, right := graded(t, scoring.PassMark{}, 0)
	if !(median.Value > 0) || !(right.Value > 0 && right.Value < 1) {
		t.Fatalf("median %v, right %v: there is no edge to stand on", median.Value, right.Value)
	}
	for _, c := range []struct {
		pass scoring.PassMark
		want string
	}{
		{scoring.PassMark{Rule: scoring.PassMedian, Value: median.Value}, "passed"},
		{scoring.PassMark{Rule: scoring.PassMedian, Value: math.Nextafter(median.Value, 0)}, "not passed"},
		{scoring.PassMark{Rule: scoring.PassShare, Value: right.Value}, "passed"},
		{scoring.PassMark{Rule: scoring.PassShare, Value: math.Nextafter(right.Value, 1)}, "not passed"},
		{scoring.PassMark{}, "done"},
	} {
		if got, _, _, _ := graded(t, c.pass, 0); got != c.want {
			t.Errorf("median %v, right %v, pass mark %+v: %s, want %s", median.Value, right.Value, c.pass, got, c.want)
		}
	}
}
