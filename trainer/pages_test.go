package trainer_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// Pages that no other test has a picture of, in the smallest window and in a large one,
// each with what its picture is to show.
func TestEveryPageInBothSizes(t *testing.T) {
	menu := func(line string) func(*trainertest.Trainer) {
		return func(tt *trainertest.Trainer) { choose(tt, line) }
	}
	press := func(keys ...string) func(*trainertest.Trainer) {
		return func(tt *trainertest.Trainer) { tt.Press(keys...) }
	}
	start := trainertest.Run(t, trainer.Config{Book: record.NewMemory(), SkipWelcome: true, SkipDisplay: true}, trainertest.Options{})
	practised := practisedBook(t, start.Now())
	start.Stop(nil)
	for _, page := range []struct {
		name, shows string // a word that is on it, and why it looks as it does
		why         string
		open        []func(*trainertest.Trainer)
	}{
		{"settings", "Practice a day", "every setting in a line with its value, and what the chosen one does", []func(*trainertest.Trainer){menu("Settings")}},
		{"glossary", "Glossary", "twelve words, all of them in the smallest window or with the keys to go on", []func(*trainertest.Trainer){press("v"), press("g")}},
		{"help", "Keys on that page", "the question at hand first, then its keys", []func(*trainertest.Trainer){press("v"), press("?")}},
		{"before", "↵ begin", "what will happen, before the first colour", []func(*trainertest.Trainer){press("v")}},
		{"thresholds", "at your pace", "the short one first, and what each takes", []func(*trainertest.Trainer){menu("Thresholds …")}},
		{"leave", "What now?", "nothing is lost, whatever is chosen", []func(*trainertest.Trainer){press("v", "enter"), wait, press("enter", "enter", "q")}},
		{"tables", "How near, and how often", "the text that the command prints, to the width of the window", []func(*trainertest.Trainer){menu("Progress"), press("t")}},
		{"display", "Display check", "two fields and the digits that answer", []func(*trainertest.Trainer){menu("Display check")}},
		{"today-again", "once more", "what was missed has its place in the plan", []func(*trainertest.Trainer){press("t")}},
		{"today-long", "▸ 1", "twenty minutes are more drills than there is room for their reasons: that of the chosen one stands below", []func(*trainertest.Trainer){menu("Settings"), press("right", "right", "q", "t")}},
	} {
		for _, size := range []trainertest.Options{{Width: 80, Height: 24}, {Width: 200, Height: 60}} {
			cfg := trainer.Config{Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed, Book: practised}
			if page.name == "thresholds" || page.name == "leave" || page.name == "before" || page.name == "help" || page.name == "glossary" {
				cfg.Book = record.NewMemory() // these leave something behind
			}
			if page.name == "thresholds" { // with a pace of one's own
				short := cfg
				short.Start = &exercises.Setup{Kind: exercises.Threshold, Task: exercises.TaskWhich, Count: 9}
				tt := trainertest.Run(t, short, size).Press("enter")
				for range 4 {
					tt.Advance(2 * time.Second).Press("1")
				}
				tt.Stop(errors.New("closed"))
			}
			tt := trainertest.Run(t, cfg, size)
			if page.name == "thresholds" {
				tt.Expect("decide later").Press("3")
			}
			for _, step := range page.open {
				step(tt)
			}
			if !tt.Shows(page.shows) {
				t.Errorf("%s, which is to show %s, has no %q:\n%s", page.name, page.why, page.shows, tt.Text())
			}
			golden(t, tt, fmt.Sprintf("%s-%dx%d", page.name, size.Width, size.Height), nil)
		}
	}
}

func wait(tt *trainertest.Trainer) { tt.Advance(time.Second) }
