package ask_test

import (
	"fmt"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/trainer/trainertest"
)

func TestWhitening(t *testing.T) {
	cfg := practising(t, exercises.Whitening, 6)
	tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
	trial := firstTrial(t, cfg)
	names := namesOf(sheet(t), trial)
	for i, r := range trial.PatchesOf("rung") {
		names[r] = fmt.Sprintf("rung %d", i)
	}
	tt.Expect("How many steps whiter", "0 steps").Press("enter").Expect("First say how many steps").Press("left").Expect("a course does not darken")
	tt.Press("4", "right", "up", "down").Expect("5 steps")
	golden(t, tt, "whitening-80x24", names)
	tt.Press("v").Expect("foot", "top")
	golden(t, tt, "whitening-ladder-80x24", names)
	tt.Press("?").Expect("About six steps is a usual promise").Press("backspace")
	tt.Press("enter").Expect("The tooth became").Press("n").Expect("steps whiter on this ladder", "on average it brings").Press("n")
	if a := attempts(t, cfg.Book)[0].Answer; a.Number == nil || *a.Number != 5 {
		t.Errorf("answer %+v", a)
	}
	shown := exercises.StepsWhiter(trial)
	tt.Expect(fmt.Sprintf("%.1f steps", shown))

	// The second trial by mouse: the foot on the darkest rung, the top on the
	// seventh.
	tt.Press("enter").Advance(time.Second)
	x, y := tt.Find("darker")
	tt.Click(x, y-2).Expect("8 steps") // the default foot moves down by itself
	tt.Click(x+2*6, y-2).Expect("6 steps").Press("enter")
	if a := attempts(t, cfg.Book)[1].Answer; *a.Number != 6 {
		t.Errorf("answer %v", *a.Number)
	}
}
