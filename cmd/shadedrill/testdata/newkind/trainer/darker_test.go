package trainer_test

import (
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// From the menu to an answer in the book.
func TestDarker(t *testing.T) {
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Expect("Darker")
	choose(tt, "Darker")
	tt.Expect("Say which is the darker.").Press("enter").Advance(time.Second).Expect("Which is the darker?")
	tt.Press("l").Advance(2*time.Second).Expect("Not right", "The right one is darker.")
	a := attempts(t, cfg.Book)
	if len(a) != 1 || a[0].Trial.Kind != exercises.Darker || a[0].Answer.Choice != exercises.Left {
		t.Errorf("the book has %+v", a)
	}
}
