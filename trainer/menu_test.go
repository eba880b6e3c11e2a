package trainer_test

import (
	"context"
	"fmt"
	"regexp"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/trainertest"
)

// Every exercise and every other line of the menu is on the screen of the smallest
// window, each with a key of its own.
func TestMenuFitsTheSmallestWindow(t *testing.T) {
	cfg := trainer.Config{Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed}
	for _, size := range []trainertest.Options{{Width: 80, Height: 24}, {Width: 200, Height: 60}} {
		tt := trainertest.Run(t, cfg, size)
		tt.Expect("▸ t Today's practice", "Progress", "Settings", "Display check", "Somebody else", "Leave", "↵ take", "letter take at once", "v Value first")
		for _, k := range exercises.Kinds() {
			if ask.Shown(k.ID()) {
				tt.Expect(" " + k.Title())
			}
		}
		golden(t, tt, fmt.Sprintf("menu-%dx%d", size.Width, size.Height), nil)
		// Across the columns and back.
		tt.Press("left").Expect("There is no column further left.")
		tt.Press("right").Expect("A fixed form without feedback").Press("right").Expect("There is no column further right.")
		tt.Press("left").Expect("A plan that ends")
		tt.Press("end").Expect("Everything is kept.").Press("down").Expect("This is the last line.")
		tt.Press("home").Press("z").Expect("The key “z” does nothing here.")
	}
}

// Where an exercise has several drills, the menu offers each of them, and each asks
// what its line says.
func TestMenuOffersOneAttributeAlone(t *testing.T) {
	for _, c := range []struct{ title, usual, prompt string }{
		{"Halfway", "Value, chroma and hue in turn", "In hue: where between"},
		{"Line-up", "Value, then chroma, then hue", "Put in order of hue:"},
	} {
		cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed}
		tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
		choose(tt, c.title+" …")
		tt.Expect(c.usual, "Value alone", "Chroma alone", "Hue alone")
		if c.title == "Halfway" {
			golden(t, tt, "variants-80x24", nil)
		}
		choose(tt, "Hue alone")
		tt.Press("enter").Advance(time.Second).Expect(c.prompt)
		sittings, err := cfg.Book.Sittings(context.Background(), record.Filter{})
		if err != nil || len(sittings) != 1 || sittings[0].Setup.Attribute != exercises.AttributeHue {
			t.Errorf("%s: sittings %+v, %v", c.title, sittings, err)
		}
	}
}

// A calibration session that waits moves no other line to another letter: fingers know
// where the settings are.
func TestLettersOfTheMenuStay(t *testing.T) {
	letters := func(cfg trainer.Config) map[string]string {
		tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24}).Expect("Settings")
		found := map[string]string{}
		for _, m := range regexp.MustCompile(`\b([a-z])  ([A-Z](?:\S| \S)*)`).FindAllStringSubmatch(tt.Text(), -1) {
			found[m[2]] = m[1]
		}
		return found
	}
	with, _ := session(t)
	without := letters(trainer.Config{Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed})
	now := letters(with)
	if len(without) < 18 || len(now) != len(without)+1 {
		t.Fatalf("%v without a session, %v with one", without, now)
	}
	for line, letter := range without {
		if now[line] != letter {
			t.Errorf("%s has the letter %s, and %q when a session waits", line, letter, now[line])
		}
	}
}

// Whoever only looks who else there is comes back to the menu, as the person they were.
func TestSomebodyElseAfterAll(t *testing.T) {
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed}
	for _, key := range []string{"q", "escape"} {
		tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
		tt.Press("m").Expect("Who is practising?", "q menu").Press(key).Expect("Today's practice", "Ada").ExpectNot("Who is practising?")
	}
	cfg.Learner = ""
	trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24}).Expect("Who is practising?", "q leave")
}
