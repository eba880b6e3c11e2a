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

// Today's drills follow one after the other, the person may leave between them, nothing
// given is lost, and the day ends.
func TestTodaysPractice(t *testing.T) {
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed, Today: true, Minutes: 1, Count: 1}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Expect("Today's practice", "▸ 1 Value first about 1 minute, 1 trial", "New to you. Level 4 of 9")
	tt.Press("enter", "enter").Advance(time.Second).Press("enter", "enter").Expect("answered").Press("enter")
	tt.Expect("Value first: summary", "↵ done for today", "q menu").Press("enter")
	tt.Expect("Done for today: 1 answer in about 1 minute.", "Tomorrow").Press("enter").Expect("Settings")

	// A longer plan the same day: what was done is done, and a closed window loses nothing.
	cfg.Minutes = 10
	tt = trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Expect("1 Value first done, 1 trial", "▸ 2 Halfway", "3 Line-up")
	tt.Press("up").Expect("This is the first drill.").Press("1").Expect("This drill is done for today.")
	tt.Press("down", "down").Expect("This is the last drill.").Press("9").Expect("There is no drill with this number.").Press("up")
	tt.Press("enter", "enter").Advance(time.Second).Stop(errors.New("window closed"))
	if n := len(attempts(t, cfg.Book)); n != 1 {
		t.Fatalf("%d answers in the book", n)
	}
	again := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	again.Expect("1 Value first done, 1 trial", "▸ 2 Halfway")
	again.Press("m").Expect("Settings")

	// Leaving the plan ends it: another drill is one of its own.
	again.Press("t").Expect("Today's practice").Press("enter").Expect("Halfway").Press("q").Expect("Settings")
	sittings, err := cfg.Book.Sittings(context.Background(), record.Filter{})
	if err != nil || len(sittings) != 3 || !sittings[1].Setup.Planned || sittings[1].Setup.Level != 5 {
		t.Errorf("%d sittings, %+v, %v", len(sittings), sittings[1].Setup, err)
	}
	choose(again, "Value first")
	again.Press("enter").Advance(time.Second).Press("enter", "enter", "enter").Expect("summary", "↵ menu").ExpectNot("next today", "done for today")
}

// The pages of a day: a newcomer's, one that was begun and left in the middle, one that is
// done.
func TestTodaysPages(t *testing.T) {
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed, Today: true}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	for name, size := range map[string][2]int{"today-80x24": {80, 24}, "today-200x60": {200, 60}} {
		golden(t, tt.Resize(size[0], size[1]), name, nil)
	}
	tt.Resize(80, 24).Press("enter", "enter").Advance(time.Second).Press("enter", "enter").Expect("answered")
	tt.Press("q").Expect("end it here").Press("down", "down", "enter").Expect("Value first: summary", "next today: value first", "At level 4 of 9: 4 value groups of 3 tabs.")
	tt.Press("q", "t").Expect("Value first about 3 minutes, 1 of 10 trials done")
	for name, size := range map[string][2]int{"today-begun-80x24": {80, 24}, "today-begun-200x60": {200, 60}} {
		golden(t, tt.Resize(size[0], size[1]), name, nil)
	}
	cfg.Count = 1
	tt = trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Expect("▸ 2 Halfway").Press("enter", "enter").Advance(time.Second).Press("3", "enter").Expect("answered").Press("enter").Expect("next today: line-up")
	tt.Press("enter", "enter").Advance(time.Second).Press("enter").Expect("Nothing was moved yet").Press("enter").Expect("answered").Press("enter").Expect("↵ done for today").Press("enter")
	for name, size := range map[string][2]int{"today-done-80x24": {80, 24}, "today-done-200x60": {200, 60}} {
		golden(t, tt.Resize(size[0], size[1]), name, nil)
	}
}

// How long a plan is, is set in the settings, and kept; a flag is for once.
func TestMinutesOfTheDay(t *testing.T) {
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	choose(tt, "Settings")
	tt.Expect("Practice a day", "about 10 minutes").Press("right").Expect("about 20 minutes").Press("right").Press("q")
	tt.Press("t").Expect("5 Try-in", "About 2", "for a first day").Press("enter", "enter").Advance(time.Second).Press("enter", "enter").Expect("answered").Stop(errors.New("closed"))
	again := cfg
	again.Today, again.Minutes = true, 5
	tt = trainertest.Run(t, again, trainertest.Options{Width: 80, Height: 24}).Expect("decide later").Press("down", "down", "enter")
	tt.Expect("2 Halfway").ExpectNot("3 Line-up")
	tt.Press("down", "enter", "enter").Advance(time.Second).Press("3", "enter").Expect("answered").Stop(errors.New("closed"))
	again.Minutes = 0
	trainertest.Run(t, again, trainertest.Options{Width: 80, Height: 24}).Expect("decide later").Press("down", "down", "enter").Expect("5 Try-in")
}

// Over midnight the plan that was begun is ended, and the next start shows a new day.
func TestTodayOverMidnight(t *testing.T) {
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed, Today: true, Minutes: 5, Count: 1}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	now := tt.Now()
	midnight := time.Date(now.Year(), now.Month(), now.Day()+1, 0, 0, 0, 0, now.Location())
	tt.Press("enter", "enter").Advance(midnight.Sub(now)+time.Minute).Press("space").Advance(time.Second).Press("enter", "enter").Expect("answered").Press("enter")
	tt.Expect("next today: halfway").Press("enter", "enter").Advance(time.Second).Press("3", "enter").Expect("answered").Press("enter")
	tt.Expect("↵ done for today").Press("enter").Expect("Done for today")
}

// One's own mistakes come again, from the menu and from the command line, with the same
// bytes; where there are none it is said.
func TestAgain(t *testing.T) {
	book := record.NewMemory()
	cfg := trainer.Config{Book: book, Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed, Again: true}
	trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24}).Expect("Nothing that you missed in the last 28 days is left to ask again.", "Settings")
	start := exercises.Setup{Kind: exercises.ValueFirst, Count: 2}
	missing := trainer.Config{Book: book, Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed, Start: &start}
	tt := trainertest.Run(t, missing, trainertest.Options{Width: 80, Height: 24}).Press("enter").Advance(time.Second)
	for range 2 {
		tt.Press("end", "enter", "end", "enter").Expect("answered").Press("enter").Advance(time.Second)
	}
	tt.Expect("summary").Press("q").Press("a").Expect("Nothing that you missed is due today; 2 questions come later.")
	tt.Advance(24 * time.Hour)
	tt.Press("a").Expect("Again: value first", "2 trials", "that you missed").Press("enter").Advance(time.Second).Press("enter", "enter").Expect("answered")
	list := attempts(t, book)
	if a, b := list[0].Trial, list[2].Trial; a.Target != b.Target || b.Ordinal != 0 {
		t.Errorf("%+v comes again as %+v", a, b)
	}
	sittings, err := book.Sittings(context.Background(), record.Filter{})
	if err != nil || len(sittings[1].Setup.Again) != 2 || sittings[1].Setup.Viewing.Surround != sittings[0].Setup.Viewing.Surround {
		t.Errorf("%+v, %v", sittings[1].Setup, err)
	}
}
