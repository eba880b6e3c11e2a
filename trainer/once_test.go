package trainer_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring/record"
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
