package trainer_test

import (
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/scoring"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// A check that was answered to its end is kept, whichever key leads away from it; half a
// check is none. What the foot says of q is what it does.
func TestADisplayCheckIsKeptHoweverItIsLeft(t *testing.T) {
	var kept []scoring.DisplayCheck
	cfg := trainer.Config{Learner: "Ada", SkipWelcome: true, Seed: &seed, Checked: func(c scoring.DisplayCheck) { kept = append(kept, c) }}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24}).Expect("question 1 of 4", "q menu")
	tt.Press("?").Expect("what a screen really shows").Press("backspace")
	tt.Advance(time.Second).Press("1").Advance(time.Second).Press("q").Expect("Settings")
	if len(kept) > 0 {
		t.Errorf("half a check is kept: %+v", kept)
	}
	tt.Press("d")
	for _, answer := range []string{"1", "1", "3", "1", "q"} {
		tt.Advance(time.Second).Press(answer)
	}
	tt.Expect("Settings")
	if len(kept) != 1 || kept[0].At.IsZero() {
		t.Errorf("kept is %+v", kept)
	}
	tt.Press("end", "up", "up").Expect("This screen was checked today.")

	cfg = trainer.Config{DisplayOnly: true}
	trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24}).Expect("q leave").ExpectNot("q menu")
}

// After the very first drill comes the display check, and the summary says so.
func TestTheFirstSummarySaysWhereItLeads(t *testing.T) {
	tt := trainertest.Run(t, trainer.Config{Libraries: []*tabs.Library{library(t)}, Seed: &seed}, trainertest.Options{Width: 80, Height: 24})
	tt.Type("Ada").Press("enter", "enter").Advance(time.Second).Press("enter", "enter").Expect("answered")
	tt.Press("q").Expect("end it here").Press("down", "down", "enter").Expect("Value first: summary", "↵ display check", "q display check").ExpectNot("menu")
	tt.Press("enter").Expect("question 1 of 4", "q menu")
}
