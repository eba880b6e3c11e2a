package trainer_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// Whoever practises for the first time reads the cautions, once: also where others have
// practised in the book, where a class entered the name, and where a drill was asked for.
func TestEverybodyReadsTheCautionsOnce(t *testing.T) {
	book := record.NewMemory()
	for _, name := range []string{"Ada", "Bea"} {
		if _, err := book.AddLearner(context.Background(), scoring.Learner{ID: scoring.LearnerID(name), Name: name, At: trainertest.Start}); err != nil {
			t.Fatal(err)
		}
	}
	start := exercises.Setup{Kind: exercises.ValueFirst, Count: 3}
	for _, c := range []struct {
		cfg  trainer.Config
		keys []string
	}{
		{trainer.Config{Learner: "Ada"}, nil},
		{trainer.Config{}, []string{"2"}}, // Bea, of the list
		{trainer.Config{Learner: "Cid", Start: &start}, nil},
	} {
		c.cfg.Book, c.cfg.SkipDisplay, c.cfg.Seed = book, true, &seed
		tt := trainertest.Run(t, c.cfg, trainertest.Options{Width: 80, Height: 24})
		for _, caution := range scoring.Cautions {
			tt.Press(c.keys...).Expect(caution)
			c.keys = nil
		}
		tt.Press("enter").ExpectNot("Before you begin")
		if c.cfg.Start == nil {
			choose(tt.Expect("Settings"), "Value first")
		}
		tt.Expect("↵ begin").Press("enter").Advance(time.Second).Press("enter", "enter").Expect("answered").Stop(errors.New("closed"))
		trainertest.Run(t, c.cfg, trainertest.Options{Width: 80, Height: 24}).ExpectNot("Before you begin").Stop(errors.New("closed"))
	}
}

// A name of the book that is typed in as a new one is that person, and no newcomer.
func TestAKnownNameIsNoNewcomer(t *testing.T) {
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24}).Press("s", "down", "right", "q")
	tt.Stop(errors.New("closed"))
	cfg.Learner, cfg.SkipWelcome = "", false
	tt = trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24}).Expect("Who is practising?").Press("2").Expect("Before you begin")
	tt.Press("escape").Expect("Who is practising?").Press("2").Type("ada").Press("enter").Expect("Settings", "Ada").ExpectNot("5 trials")
}
