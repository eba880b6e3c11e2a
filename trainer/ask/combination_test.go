package ask_test

import (
	"errors"
	"fmt"
	"strings"
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
		tt.Expect("Step 1 of 3, value", "crown")
		golden(t, tt, "combination-"+name, names)
		tt.Press("home", "left").Expect("nothing lighter").Press("end", "right").Expect("nothing darker")
		tt.Press("h").Expect("no half steps").Press("home", "backspace").Expect("nothing to go back to")
		tt.Press("enter").Expect("Step 2 of 3, chroma", "back to value").Press("home", "left").Expect("no tooth with less chroma", stock[0].Name)
		seen := tt.Swatches()
		for _, s := range stock {
			if s.Level == 0 && seen[s.Colour] == 0 {
				t.Errorf("%s: %s cannot be seen", name, s.Name)
			}
		}
		tt.Press("9").Expect("There are only").Press("backspace").Expect("Step 1 of 3").Press("enter", "home")
		tt.Advance(2*time.Second).Press("enter").Expect("Step 3 of 3, verdict", "better to redo the crown")
		tt.Press("left").Expect("The tooth is taken").Press("enter").Expect("one of the keys below")
		golden(t, tt, "combination-verdict-"+name, names)
		tt.Press("backspace").Expect("Step 2 of 3").Press("enter").Advance(time.Second).Press("r")
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
	// The darkest step, by a click on its patch and another one to take it.
	last := stock[len(stock)-1]
	step, tooth, _ := strings.Cut(last.Name, " ")
	click := func(label string) *trainertest.Trainer {
		x, y := tt.Find(label)
		return tt.Click(x+1, y-2)
	}
	click(step).Expect("Step 1 of 3")
	click(step).Expect("Step 2 of 3")
	click(tooth)
	if !tt.Shows("Step 3 of 3") { // it stood for its step, and was taken at once
		click(tooth)
	}
	tt.Expect("Step 3 of 3", last.Name)
	click(tooth).Expect("Step 2 of 3")
	click(tooth).Expect("Step 3 of 3")
	kx, ky := tt.Find("acceptable")
	tt.Click(kx, ky).Expect("answered")
	if a := attempts(t, cfg.Book)[0].Answer; a.Tab != last.Name || a.Choice != exercises.Acceptable {
		t.Errorf("answer %+v", a)
	}
	tt.Press("enter").Advance(time.Second).Expect("trial 2 of 4")
	tt.Stop(errors.New("window closed"))
	again := trainertest.Run(t, trainer.Config{Book: cfg.Book, Learner: cfg.Learner, SkipDisplay: true}, trainertest.Options{Width: 80, Height: 24})
	again.Press("1", "enter").Advance(time.Second).Expect("Step 1 of 3, value", "trial 2 of 4")
	again.Press("?").Expect("without half or quarter steps").Press("backspace").Advance(9 * time.Second).Expect("time is up")
	for c := range again.Swatches() {
		if c == firstTrial(t, cfg).Target {
			t.Error("a covered crown can be seen")
		}
	}
	// To the end, and the summary tells no errors that are the stock's.
	for range 3 {
		again.Press("enter", "enter", "b", "enter").Advance(time.Second)
	}
	again.Expect("of 8 judgements right", "nearest tooth", "verdict").ExpectNot("Half of your answers")
}
