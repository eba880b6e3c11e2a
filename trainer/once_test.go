package trainer_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/learners"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// What the command line asks for holds for one run and changes no setting.
func TestFlagIsForOnce(t *testing.T) {
	book := record.NewMemory()
	cfg := practising(t, exercises.ValueFirst, 3)
	cfg.Book = book
	odd := exercises.DefaultViewing()
	odd.Light, odd.Gap = "f11", 8
	cfg.Viewing = &odd
	trainertest.Run(t, cfg, trainertest.Options{}).Press("q", "q")
	tt := trainertest.Run(t, cfg, trainertest.Options{}).Press("enter").Advance(time.Second)
	tt.Press("enter", "enter", "enter", "q").Expect("What now?")
	tt.Stop(errors.New("the end"))
	again := trainer.Config{Libraries: cfg.Libraries, Book: book, Learner: cfg.Learner, Seed: cfg.Seed, SkipDisplay: true,
		Start: &exercises.Setup{Kind: exercises.Whitening}}
	tt = trainertest.Run(t, again, trainertest.Options{}).Expect("decide later").Press("down", "down", "enter")
	list, err := book.Sittings(context.Background(), record.Filter{Kind: string(exercises.Whitening)})
	if err != nil || len(list) != 1 {
		t.Fatalf("%d sittings, %v:\n%s", len(list), err, tt.Text())
	}
	if s := list[0].Setup; s.Viewing.Light != "" || s.Viewing.Gap != 0 || s.Count != 20 {
		t.Errorf("a flag of another day is still there: %+v", s)
	}
}

// What is set is kept at once, whether a drill follows or not, and whether its page was
// left or the window closed.
func TestSettingsAreKept(t *testing.T) {
	cfg := trainer.Config{Libraries: nil, Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed}
	runs := 0
	open := func() *trainertest.Trainer {
		runs++
		tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24}).Advance(time.Duration(runs) * time.Minute)
		choose(tt, "Settings")
		return tt
	}
	sittings := func() int {
		list, err := cfg.Book.Sittings(context.Background(), record.Filter{})
		if err != nil {
			t.Fatal(err)
		}
		return len(list)
	}
	open().Press("q", "q")
	if n := sittings(); n != 0 {
		t.Errorf("nothing was changed, and %d sittings are in the book", n)
	}
	open().Press("down", "down", "left", "q", "q")                                      // the longest look: 5 seconds
	open().Expect("5 seconds").Press("down", "down", "down", "down", "right", "ctrl-c") // the gap, and away
	open().Expect("5 seconds", "1 cell").Press("right").Stop(errors.New("window closed"))
	open().Expect("5 seconds", "1 cell", "about 20 minutes")
	if n := sittings(); n != 3 {
		t.Errorf("three changes made %d sittings", n)
	}
	day, err := learners.PracticeDay(context.Background(), cfg.Book, only(t, cfg.Book), trainertest.Start, trainertest.Start, 0, nil)
	if err != nil || !(day.Plan.Minutes() > 15) || !day.Newcomer || day.Answers != 0 {
		t.Errorf("a plan of %.0f minutes after 20 were set: %+v, %v", day.Plan.Minutes(), day, err)
	}
}

// only is the one person of a book.
func only(t *testing.T, book record.Book) scoring.LearnerID {
	t.Helper()
	people, err := book.Learners(context.Background())
	if err != nil || len(people) != 1 {
		t.Fatalf("%d people, %v", len(people), err)
	}
	return people[0].ID
}
