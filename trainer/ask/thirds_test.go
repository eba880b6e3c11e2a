package ask_test

import (
	"errors"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

func TestThirdsOfATooth(t *testing.T) {
	cfg := practising(t, exercises.Thirds, 6)
	tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
	trial := firstTrial(t, cfg)
	tt.Expect("Cervical third. Step 1 of 2", "▸ cervical")
	seen := tt.Swatches()
	for _, p := range trial.Patches {
		if seen[p.Colour] < 4 {
			t.Errorf("the %s third shows its colour in %d cells", p.Role, seen[p.Colour])
		}
	}
	golden(t, tt, "thirds-80x24", namesOf(sheet(t), trial))
	tt.Press("v").Expect("another question")
	tt.Press("enter").Expect("Cervical third. Step 2 of 2").Press("home", "enter").Expect("Thirds: cervical third", "answered")
	tt.Press("enter").Advance(time.Second).Expect("▸ middle", "L76 C8 h86")

	// Broken off in the middle of a tooth, the drill goes on with the same tooth
	// and knows what was given.
	tt.Stop(errors.New("window closed"))
	again := trainertest.Run(t, trainer.Config{Book: cfg.Book, Learner: cfg.Learner, SkipDisplay: true}, trainertest.Options{Width: 80, Height: 24})
	again.Press("1", "enter").Advance(time.Second).Expect("Middle third", "L76 C8 h86", "trial 2 of 6")
	if again.Swatches()[trial.Target] < 4 {
		t.Error("another tooth")
	}
	again.Advance(8 * time.Second).Expect("time is up")
	if n := again.Swatches()[trial.Target]; n > 0 {
		t.Error("the covered tooth can be seen")
	}
}

func TestThirdsWithNeighbours(t *testing.T) {
	cfg := practising(t, exercises.Thirds, 9)
	cfg.Start.Options = map[string]string{exercises.OptionNeighbours: exercises.NeighboursBoth}
	for _, size := range []trainertest.Options{{Width: 80, Height: 24}, {Width: 120, Height: 40}, {Width: 200, Height: 60}} {
		cfg.Learner = "Ada " + string(rune('a'+size.Width%26))
		tt := looking(t, cfg, size)
		tt.Expect("left", "right", "candidate", "trial 1 of 9")
		seen := tt.Swatches()
		for _, p := range firstTrial(t, cfg).Patches {
			if seen[p.Colour] < 3 {
				t.Errorf("%d x %d: %s shows its colour in %d cells", size.Width, size.Height, p.Role, seen[p.Colour])
			}
		}
		for range 3 {
			tt.Press("enter", "enter", "enter").Advance(time.Second)
		}
		tt.Press("enter", "enter").Expect("Thirds: cervical third, left neighbour")
	}
}
