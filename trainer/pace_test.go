package trainer_test

import (
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// held presses a key as a keyboard does that is not let go: once, after half a second
// again, then thirty times a second.
func held(tt *trainertest.Trainer, key string, times int) {
	tt.Press(key).Hurry(500*time.Millisecond, key)
	for range times {
		tt.Hurry(33*time.Millisecond, key)
	}
}

func TestKeyHeldDownAnswersNothing(t *testing.T) {
	for kind, key := range map[exercises.KindID]string{exercises.ValueFirst: "enter", exercises.Threshold: "left",
		exercises.TryIn: "down", exercises.LineUp: "enter", exercises.Halfway: "enter", exercises.Whitening: "enter", exercises.Lighting: "m"} {
		cfg := practising(t, kind, 8)
		cfg.Start.Task = exercises.TraitsOf(kind).Task
		tt := trainertest.Run(t, cfg, trainertest.Options{})
		tt.Press("enter").Advance(2 * time.Second)
		held(tt, key, 200)
		// One answer may have been meant, where one key gives it.
		if n := len(attempts(t, cfg.Book)); n > 1 {
			t.Errorf("%s: %q held down gave %d answers", kind, key, n)
		}
	}
}

func TestFortyEntersAnswerNothing(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 20)
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	for range 40 {
		tt.Hurry(100*time.Millisecond, "enter")
	}
	if n := len(attempts(t, cfg.Book)); n > 0 {
		t.Errorf("%d answers", n)
	}
}

func TestDoublePressDoesNotAnswerWhatNobodySaw(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 4)
	tt := looking(t, cfg, trainertest.Options{})
	tt.Press("enter").Hurry(150*time.Millisecond, "enter").Expect("Step 2 of 2", "Faster than anybody can look")
	tt.Hurry(400*time.Millisecond, "enter").Expect("Step 2 of 2") // the same key may still be down
	tt.Hurry(450*time.Millisecond, "right").ExpectNot("Faster")   // another one is another thought
	tt.Hurry(400*time.Millisecond, "enter").Expect("answered")    // and now this one as well
	tt.Hurry(200*time.Millisecond, "enter").Expect("answered", "Faster than anybody can look")
	if n := len(attempts(t, cfg.Book)); n != 1 {
		t.Errorf("%d answers", n)
	}
	tt.Hurry(time.Second, "enter").ExpectNot("answered")
}

// A drill by somebody quick: 400 ms after each picture every key counts.
func TestQuickPeopleAreNotHeldUp(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 3)
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	tt.Press("enter").Advance(time.Second)
	for range 3 {
		tt.Hurry(400*time.Millisecond, "right", "enter", "right", "enter", "space").Advance(time.Second)
	}
	if n := len(attempts(t, cfg.Book)); n != 3 {
		t.Errorf("%d answers instead of 3:\n%s", n, tt.Text())
	}
}

// Digits that are hammered answer one question of the display check, and none that came
// up under the fingers.
func TestHammeredDigitsAnswerOneQuestionOfTheDisplayCheck(t *testing.T) {
	var checked []scoring.DisplayCheck
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, Checked: func(c scoring.DisplayCheck) { checked = append(checked, c) }}
	tt := trainertest.Run(t, cfg, trainertest.Options{}).Expect("1 of 4").Advance(time.Second)
	tt.Press("1").Expect("2 of 4")
	for range 2 { // a quarter of a second: nobody has read the next question
		tt.Hurry(30*time.Millisecond, "1", "2", "3", "enter")
	}
	tt.Expect("2 of 4")
	if len(checked) != 0 {
		t.Errorf("%+v was taken for a check", checked)
	}
}
