package ask_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// stockNames are the colours of a combination by name.
func stockNames(t exercises.Trial) map[colour.SRGB]string {
	names := map[colour.SRGB]string{}
	for _, s := range exercises.Stock(t) {
		names[s.Colour] = s.Name
	}
	names[t.Target] = "crown"
	return names
}

func TestCombination(t *testing.T) {
	for _, size := range []trainertest.Options{{Width: 80, Height: 24}, {Width: 200, Height: 60}} {
		name := fmt.Sprintf("%dx%d", size.Width, size.Height)
		cfg := practising(t, exercises.Combination, 4)
		tt := looking(t, cfg, size)
		trial := firstTrial(t, cfg)
		stock, names := exercises.Stock(trial), stockNames(trial)
		tt.Expect("Step 1 of 2, tooth", "crown", "darker → more chroma ↓")
		seen := tt.Swatches()
		for _, s := range stock {
			if seen[s.Colour] == 0 {
				t.Errorf("%s: %s cannot be seen", name, s.Name)
			}
		}
		golden(t, tt, "combination-"+name, names)
		tt.Press("home", "left").Expect("no lighter tooth here", stock[0].Name)
		tt.Press("down").Expect(stock[1].Name).Press("up", "up").Expect("no less chromatic tooth here")
		tt.Press("h").Expect("no half steps").Press("9").Expect("There are only").Press("home", "backspace").Expect("nothing to go back to")
		tt.Advance(2*time.Second).Press("enter").Expect("Step 2 of 2, verdict", "better to redo the crown")
		tt.Press("left").Expect("The tooth is taken").Press("enter").Expect("one of the keys below")
		golden(t, tt, "combination-verdict-"+name, names)
		tt.Press("backspace").Expect("Step 1 of 2").Press("enter").Advance(time.Second).Press("r")
		a := attempts(t, cfg.Book)[0].Answer
		if a.Tab != stock[0].Name || *a.Colour != stock[0].Colour || a.Choice != exercises.Redo || a.First != 2*time.Second || a.Total != 3*time.Second {
			t.Errorf("%s: answer %+v", name, a)
		}
		best, _ := exercises.NearestStock(stock, trial.Target.Lab())
		tt.Expect("your "+stock[0].Name, "the crown", "best "+stock[best].Name, "is nearer", "to redo the crown")
		golden(t, tt, "combination-feedback-"+name, names)
	}
}

func TestCombinationByMouseAndBrokenOff(t *testing.T) {
	cfg := practising(t, exercises.Combination, 4)
	tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
	stock := exercises.Stock(firstTrial(t, cfg))
	// The last tooth: look for its colour from the lower right.
	last := stock[len(stock)-1]
	w, h := tt.Size()
	x, y := 0, 0
	for yy := range h {
		for xx := range w {
			if tt.ColourAt(xx, yy) == last.Colour {
				x, y = xx, yy
			}
		}
	}
	tt.Click(x, y).Expect(last.Name, "Step 1 of 2").Click(x, y).Expect("Step 2 of 2")
	tt.Click(x, y).Expect("Step 1 of 2").Click(x, y).Expect("Step 2 of 2")
	kx, ky := tt.Find("acceptable")
	tt.Click(kx, ky).Expect("answered")
	if a := attempts(t, cfg.Book)[0].Answer; a.Tab != last.Name || a.Choice != exercises.Acceptable {
		t.Errorf("answer %+v", a)
	}
	tt.Press("enter").Advance(time.Second).Expect("trial 2 of 4")
	tt.Stop(errors.New("window closed"))
	again := trainertest.Run(t, trainer.Config{Book: cfg.Book, Learner: cfg.Learner, SkipDisplay: true}, trainertest.Options{Width: 80, Height: 24})
	again.Press("1", "enter").Advance(time.Second).Expect("Step 1 of 2, tooth", "trial 2 of 4")
	again.Press("?").Expect("without half or quarter steps").Press("backspace").Advance(9 * time.Second).Expect("time is up")
	for c := range again.Swatches() {
		if c == firstTrial(t, cfg).Target {
			t.Error("a covered crown can be seen")
		}
	}
	// To the end, and the summary tells no errors that are the stock's.
	for range 3 {
		again.Press("enter", "b", "enter").Advance(time.Second)
	}
	again.Expect("of 8 right", "nearest tooth", "verdict").ExpectNot("Half of your answers")
}
