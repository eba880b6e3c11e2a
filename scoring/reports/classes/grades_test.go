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
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/classes"
)

// A class of known observers: the exact pass, the coarse fail, one is late, one left
// early, one did nothing; each line says so.
func TestGradesSayWhoDidItAndWhoPassed(t *testing.T) {
	ctx := context.Background()
	noon := time.Date(2030, 3, 1, 12, 0, 0, 0, time.UTC)
	due := noon.Add(24 * time.Hour)
	book := record.NewMemory()
	class, err := book.AddClass(ctx, scoring.Class{Name: "Spring", At: noon})
	if err != nil {
		t.Fatal(err)
	}
	lib, err := tabs.Load("natural")
	if err != nil {
		t.Fatal(err)
	}
	sheet := tabs.NewSheet(lib, nil)
	if err := book.PutSheet(ctx, sheet); err != nil {
		t.Fatal(err)
	}
	kind, _ := exercises.ByID(exercises.ValueFirst)
	a, err := book.AddAssignment(ctx, scoring.Assignment{Class: class.ID, At: noon, Due: due, Pass: scoring.PassMark{Rule: scoring.PassMedian, Value: 2},
		Setup: exercises.Setup{Kind: kind.ID(), Version: kind.Version(), Seed: 5, Count: 16, Targets: exercises.NaturalTargets, Sheet: sheet}})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []struct {
		name     string
		role     scoring.Role
		observer observer.Observer
		at       time.Time
		answers  int
	}{
		{"Ada exact", "", observer.Observer{Noise: 0.3}, noon, 16},
		{"Ben coarse", "", observer.Observer{Noise: 0.3, BiasL: 4}, noon, 16},
		{"Cy late", "", observer.Observer{Noise: 0.3}, due.Add(time.Minute), 16},
		{"Dee left", "", observer.Observer{Noise: 0.3}, noon, 5},
		{"Eve open", "", observer.Observer{}, noon, 0},
		{"Ida leads", scoring.RoleInstructor, observer.Observer{}, noon, 0},
	} {
		who, err := book.AddLearner(ctx, scoring.Learner{Name: p.name, Role: p.role, At: noon})
		if err != nil {
			t.Fatal(err)
		}
		if err := book.Enrol(ctx, class.ID, who.ID, noon); err != nil {
			t.Fatal(err)
		}
		if p.answers == 0 {
			continue
		}
		now := p.at
		d, err := record.Take(ctx, book, a.Set(), who, scoring.DisplayCheck{}, func() time.Time { now = now.Add(time.Second); return now })
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(1, 2))
		for range p.answers {
			trial, _ := d.Trial()
			if _, _, err := d.Answer(ctx, kind.Simulate(trial, d.Sitting().Setup, p.observer, rng)); err != nil {
				t.Fatal(err)
			}
		}
		if err := d.End(ctx, p.answers < 16); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		now  time.Time
		want []string
	}{
		{due.Add(-time.Second), []string{"Ada exact: passed, false, 16", "Ben coarse: not passed, false, 16", "Cy late: passed, true, 16", "Dee left: open, {}, {}", "Eve open: open, {}, {}"}},
		{due, []string{"Ada exact: passed, false, 16", "Ben coarse: not passed, false, 16", "Cy late: passed, true, 16", "Dee left: missing, {}, {}", "Eve open: missing, {}, {}"}},
	} {
		r, err := classes.Grades(ctx, book, class, 0, c.now, false)
		if err != nil {
			t.Fatal(err)
		}
		table := r.Sections[0].Table
		if len(table.Rows) != len(c.want) {
			t.Fatalf("%d rows, want %d: leads are not graded", len(table.Rows), len(c.want))
		}
		for i, want := range c.want {
			row := table.Rows[i]
			if got := fmt.Sprintf("%v: %v, %v, %v", row[0], row[3], row[5], row[6]); got != want {
				t.Errorf("row %q, want %q", got, want)
			}
		}
		if left := table.Rows[3][9]; left != report.Count(1) {
			t.Errorf("tries left early: %v", left)
		}
		if e := table.Rows[1][7].(report.Estimated); e.Value < 3 || e.Value > 5 {
			t.Errorf("whose bias is 4 has a median of %.2f", e.Value)
		}
	}
	ada, err := book.LearnerByName(ctx, "Ada exact")
	if err != nil {
		t.Fatal(err)
	}
	changed, err := classes.Grades(ctx, recordtest.Altered{Memory: book, Of: ada.ID}, class, 0, due, false)
	if err != nil {
		t.Fatal(err)
	}
	if got := changed.Sections[0].Table.Rows[0][3]; got != report.Text("altered") {
		t.Errorf("whose answers were changed by hand is graded %v", got)
	}
	if all := fmt.Sprint(changed.Sections[0].Notes); !strings.Contains(all, "Not counted") || !strings.Contains(all, "(Ada exact)") {
		t.Errorf("notes %s", all)
	}
	r, err := classes.Assignments(ctx, book, class, due)
	if err != nil {
		t.Fatal(err)
	}
	row := r.Sections[0].Table.Rows[0]
	if got := fmt.Sprint(row[6:10]); got != "[5 3 1 2]" {
		t.Errorf("people, done, late, passed: %s", got)
	}
	if r, _ := classes.Grades(ctx, book, class, 7, due, false); len(r.Sections[0].Table.Rows) != 0 {
		t.Error("another number shows rows")
	}
}
