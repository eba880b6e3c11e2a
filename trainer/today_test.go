package trainer_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/trainertest"
)

// Today's drills follow one after the other, the person may leave between them, and
// nothing given is lost.
func TestTodaysPractice(t *testing.T) {
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed, Count: 1, Today: true}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	// The second exercise in the order of learning that has a screen.
	var second string
	for _, k := range exercises.Kinds()[1:] {
		if second == "" && ask.Shown(k.ID()) {
			second = k.Title()
		}
	}
	tt.Expect("Today's practice", "▸ 1 Value first 1 trial, new", "Never tried; trains taking a shade", "2 "+second)
	golden(t, tt, "today-80x24", nil)
	golden(t, tt.Resize(200, 60), "today-200x60", nil)
	tt.Resize(80, 24)
	tt.Press("enter", "enter").Advance(time.Second).Press("enter", "enter").Expect("answered").Press("enter")
	tt.Expect("Value first: summary", "↵ next today: "+strings.ToLower(second), "q menu")
	tt.Press("enter").Expect(second).Press("enter").Advance(time.Second)

	// The window is closed in the middle: the book has what was answered, and the
	// plan of the next start knows it.
	tt.Stop(errors.New("window closed"))
	if n := len(attempts(t, cfg.Book)); n != 1 {
		t.Fatalf("%d answers in the book", n)
	}
	again := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	again.Expect("Value first 1 trial", "Hardly begun, last practised today.")
	golden(t, again, "today-begun-80x24", nil)
	again.Press("m").Expect("Settings")

	// The menu's first line opens the plan; the drill can be chosen, and leaving the
	// plan ends it.
	again.Press("t").Expect("Today's practice").Press("up").Expect("This is the first drill.")
	again.Press("down", "down").Expect("This is the last drill.").Press("enter").Expect(second)
	again.Press("q").Expect("Settings")
	sittings, err := cfg.Book.Sittings(context.Background(), record.Filter{})
	if err != nil || len(sittings) != 3 {
		t.Errorf("%d sittings, %v", len(sittings), err)
	}
	choose(again, "Value first")
	again.Press("enter").Advance(time.Second).Press("enter", "enter", "enter").Expect("summary", "↵ menu").ExpectNot("next today")
}
