package trainer_test

import (
	"context"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// homework gives the tests' person an assignment of two trials, and settings of
// their own that must not go into it.
func homework(t *testing.T) (trainer.Config, scoring.Assignment) {
	t.Helper()
	ctx := context.Background()
	cfg := practising(t, exercises.ValueFirst, 7)
	cfg.Start = nil
	cfg.Viewing = &exercises.Viewing{Limit: 3 * time.Second, Gap: 9, Surround: colour.Grey(90)}
	noon := time.Date(2030, 3, 1, 12, 0, 0, 0, time.UTC)
	who, err := cfg.Book.LearnerByName(ctx, "Ada Invented")
	if err != nil {
		if who, err = cfg.Book.AddLearner(ctx, scoring.Learner{Name: "Ada Invented", At: noon}); err != nil {
			t.Fatal(err)
		}
	}
	class, err := cfg.Book.AddClass(ctx, scoring.Class{Name: "Monday group", At: noon})
	if err != nil {
		t.Fatal(err)
	}
	sheet := tabs.NewSheet(library(t), nil)
	if err := cfg.Book.PutSheet(ctx, sheet); err != nil {
		t.Fatal(err)
	}
	if err := cfg.Book.Enrol(ctx, class.ID, who.ID, noon); err != nil {
		t.Fatal(err)
	}
	kind, _ := exercises.ByID(exercises.ValueFirst)
	as, err := cfg.Book.AddAssignment(ctx, scoring.Assignment{Class: class.ID, At: noon, Due: time.Date(2100, 3, 1, 12, 0, 0, 0, time.Local),
		Pass:  scoring.PassMark{Rule: scoring.PassMedian, Value: 2.5},
		Setup: exercises.Setup{Kind: kind.ID(), Version: kind.Version(), Seed: 3, Count: 2, Targets: exercises.NaturalTargets, Sheet: sheet}})
	if err != nil {
		t.Fatal(err)
	}
	return cfg, as
}

// It stands in the menu, is asked as it was assigned, can be broken off and gone
// on with, and is done once.
func TestAssignmentIsDoneFromTheMenu(t *testing.T) {
	cfg, as := homework(t)
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	tt.Expect("Assignment 1: Value first", "Due "+scoring.Zoned(as.Due, "2 January at 15:04")+": 2 trials, the same for your whole class, once.", "half of your answers within ΔE00 2.5.", "Its code, in grades: "+as.Code()+".")
	tt.Press("enter").Expect("assignment of your class", "2 trials").Press("enter").Expect("trial 1 of 2").Press("enter", "enter").Expect("answered")
	tt.Press("ctrl-c")

	tt = trainertest.Run(t, cfg, trainertest.Options{})
	tt.Expect("You broke off the assignment of your class", "after 1 of 2 trials").Press("1").Press("enter").Expect("trial 2 of 2")
	tt.Press("enter", "enter", "enter").Expect("summary", "2 trials.").Press("a").Expect("taken once").Press("enter").ExpectNot("Assignment 1")

	who, err := cfg.Book.LearnerByName(context.Background(), "Ada Invented")
	if err != nil {
		t.Fatal(err)
	}
	work, err := record.ProgressOf(context.Background(), cfg.Book, as.Set(), who.ID)
	if err != nil || !work.Over() || work.Parts[0].Sitting.Setup.Viewing != (exercises.Viewing{}) {
		t.Errorf("work %+v, %v", work, err)
	}

	set := as.Set()
	cfg.Set = &set
	tt = trainertest.Run(t, cfg, trainertest.Options{})
	tt.Expect("This assignment cannot be done.", "Ada Invented did assignment 1", "hint: an assignment is done once").Press("m").Expect("Value first")
}

func TestAssignmentFromTheCommandLine(t *testing.T) {
	cfg, as := homework(t)
	set := as.Set()
	cfg.Set = &set
	trainertest.Run(t, cfg, trainertest.Options{}).Expect("assignment of your class").Press("enter").Expect("trial 1 of 2")
	cfg.Learner = "Somebody Else"
	trainertest.Run(t, cfg, trainertest.Options{}).Expect("Somebody Else is not in the class that assignment 1 was given to")
}
