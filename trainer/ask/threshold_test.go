package ask_test

import (
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

func TestThresholdScreens(t *testing.T) {
	for task, words := range map[string][2]string{
		exercises.TaskWhich:     {"Which pair", "the right pair"},
		exercises.TaskDifferent: {"Do the two patches differ", "different"},
		exercises.TaskAccept:    {"would you leave it", "change it"},
	} {
		cfg := practising(t, exercises.Threshold, 3)
		cfg.Start.Task = task
		tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
		tt.Expect(words[0], words[1])
		trial := firstTrial(t, cfg)
		golden(t, tt, "threshold-"+task+"-80x24", namesOf(sheet(t), trial))
		seen := tt.Swatches()
		for _, p := range trial.Patches {
			if seen[p.Colour] == 0 {
				t.Errorf("%s: patch %v is not drawn: %v", task, p, seen)
			}
		}
		tt.Press("enter").Expect("Answer with one of the keys below.")
		tt.Press("2").Advance(time.Second).Expect("trial 2 of 3")
		want := map[string]string{exercises.TaskWhich: exercises.Right, exercises.TaskDifferent: exercises.Differ, exercises.TaskAccept: exercises.Change}[task]
		if got := attempts(t, cfg.Book)[0].Answer.Choice; got != want {
			t.Errorf("%s: answer %q", task, got)
		}
	}
}

// Who measures one direction alone is asked about that, and not about colour at large.
func TestThresholdOfOneDirectionAsksForIt(t *testing.T) {
	for task, want := range map[string]string{exercises.TaskWhich: "Which pair differs in hue?", exercises.TaskDifferent: "Do the two patches differ in hue?"} {
		cfg := practising(t, exercises.Threshold, 3)
		cfg.Start.Task, cfg.Start.Attribute = task, exercises.AttributeHue
		looking(t, cfg, trainertest.Options{Width: 80, Height: 24}).Expect(want)
	}
}

// At the end of a threshold drill stands what it came to, with its interval, its
// caution and the curve; after three answers stands why there is no number.
func TestThresholdSummary(t *testing.T) {
	cfg := practising(t, exercises.Threshold, 60)
	cfg.Start.Task, cfg.Start.Attribute = exercises.TaskDifferent, "value"
	cfg.Start.Viewing.Rest = 0
	tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 40})
	for range 60 {
		key := "1"
		if all := attempts(t, cfg.Book); nextLevel(t, cfg, all) > 1.2 {
			key = "2"
		}
		tt.Press(key).Advance(time.Second)
	}
	tt.Expect("summary", "Value: threshold ΔE00 1.", " to ", "relative", "identical pairs were called different", "fitted curve", "50 %", "clinical value").ExpectNot("trials give")
	if !strings.Contains(tt.Text(), "⠤") && !strings.Contains(tt.Text(), "⠒") {
		t.Errorf("no curve is drawn:\n%s", tt.Text())
	}

	cfg = practising(t, exercises.Threshold, 3)
	cfg.Start.Task = exercises.TaskWhich
	cfg.Start.Viewing.Rest = 0
	tt = looking(t, cfg, trainertest.Options{Width: 80, Height: 40})
	for range 3 {
		tt.Press("1").Advance(time.Second)
	}
	tt.Expect("Value: no threshold; needs at least 20 answers to pairs that differ, has 1.", "240 trials give most people a threshold.").ExpectNot("threshold ΔE00 ")
}

// nextLevel is the difference that the trial now on the screen shows.
func nextLevel(t *testing.T, cfg trainer.Config, given []scoring.Attempt) float64 {
	t.Helper()
	sittings, err := cfg.Book.Sittings(t.Context(), record.Filter{})
	if err != nil || len(sittings) == 0 {
		t.Fatal(err, sittings)
	}
	run, err := exercises.NewRun(sittings[len(sittings)-1].Setup)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range given {
		run.Next()
		run.Take(a.Trial, a.Answer)
	}
	trial, _ := run.Next()
	return trial.Level
}
