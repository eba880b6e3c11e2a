package trainer_test

import (
	"testing"

	"shadedrill/exercises"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// Every exercise and every other line of the menu is on the screen of the smallest
// window, each with a key of its own.
func TestMenuFitsTheSmallestWindow(t *testing.T) {
	cfg := trainer.Config{Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed}
	for _, size := range []trainertest.Options{{Width: 80, Height: 24}, {Width: 200, Height: 60}} {
		tt := trainertest.Run(t, cfg, size)
		tt.Expect("▸ 1 Today's practice", "Progress", "Settings", "Display check", "Somebody else", "Leave", "↵ take", "a–")
		for _, k := range exercises.Kinds() {
			if trainer.Shown(k.ID()) {
				tt.Expect(" " + k.Title())
			}
		}
		// Across the columns and back.
		tt.Press("left").Expect("There is no column further left.")
		tt.Press("right").Expect("A fixed form without feedback").Press("right").Expect("There is no column further right.")
		tt.Press("left").Expect("Drills chosen from your book")
		tt.Press("end").Expect("Everything is kept.").Press("down").Expect("This is the last line.")
		tt.Press("home").Press("z").Expect("The key “z” does nothing here.")
	}
}
