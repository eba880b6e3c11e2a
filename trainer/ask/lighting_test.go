package ask_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
	"shadedrill/trainer/trainertest"
)

// lightingLook starts a lighting drill at its first look and returns its trial.
func lightingLook(t *testing.T, task string) (trainer.Config, *trainertest.Trainer, exercises.Trial) {
	t.Helper()
	cfg := practising(t, exercises.Lighting, 6)
	cfg.Start.Task = task
	tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
	return cfg, tt, firstTrial(t, cfg)
}

func TestLightingUnderEachLamp(t *testing.T) {
	cfg, tt, trial := lightingLook(t, exercises.TaskLamps)
	lamp, err := colour.LightByID(trial.Part)
	if err != nil {
		t.Fatal(err)
	}
	tt.Expect(draw.UpperFirst(lamp.Name)+": do the two match?", "it may stay")
	golden(t, tt, "lighting-lamps-80x24", namesOf(sheet(t), trial))
	tt.Press("2")
	if got := attempts(t, cfg.Book)[0].Answer.Choice; got != exercises.Acceptable {
		t.Errorf("answer %q", got)
	}
	tt.Expect("trial 1 of 6, answered", draw.UpperFirst(lamp.Name)+": the ").Press("enter").Advance(time.Second).Expect("trial 2 of 6").ExpectNot(draw.UpperFirst(lamp.Name))
}

func TestLightingWhichPairWillBreak(t *testing.T) {
	cfg, tt, trial := lightingLook(t, exercises.TaskWhich)
	tt.Expect("Which pair will break under", "in daylight", "pair 3")
	seen := tt.Swatches()
	for _, p := range trial.Patches {
		shown := seen[p.Colour] > 0
		// What happens under the lamp asked would be the answer. A byte triple may
		// by chance be that of another patch.
		if strings.HasPrefix(p.Role, "under") {
			continue
		}
		if !shown {
			t.Errorf("%v is not drawn", p)
		}
	}
	golden(t, tt, "lighting-which-80x24", namesOf(sheet(t), trial))
	x, y := tt.Find("pair 2")
	tt.Click(x, y-3)
	if got := attempts(t, cfg.Book)[0].Answer.Choice; got != "2" {
		t.Errorf("a click on the second pair answered %q", got)
	}
	for i := 1; i <= 3; i++ {
		p := trial.PatchesOf(fmt.Sprintf("under-%d", i))
		tt.Expect(fmt.Sprintf("pair %d, ΔE00 %.1f", i, colour.DeltaE00(p[0].Lab(), p[1].Lab())))
		if seen := tt.Swatches(); seen[p[0]] == 0 || seen[p[1]] == 0 {
			t.Errorf("the feedback does not show pair %d under the lamp", i)
		}
	}
}

// When the look is over the lamp that is asked about still stands there.
func TestLightingAsksWhenTheLookIsOver(t *testing.T) {
	_, tt, trial := lightingLook(t, exercises.TaskWhich)
	lamp, err := colour.LightByID(trial.Part)
	if err != nil {
		t.Fatal(err)
	}
	tt.Advance(8*time.Second).Expect("time is up", "Which pair will break under this lamp: "+lamp.Name, "The look is over")
}

// Whoever sees a difference where there is none is not sent to look for it.
func TestLightingFalseAlarm(t *testing.T) {
	grey := colour.SRGB{R: 190, G: 180, B: 160}
	f := ask.Feedback{Attempt: scoring.Attempt{Trial: exercises.Trial{Kind: exercises.Lighting, Part: colour.D65().ID, Target: grey, Patches: []exercises.Patch{{Role: "sample", Colour: grey}}},
		Answer: exercises.Answer{Choice: exercises.Mismatch}}}
	var marking scoring.Marking
	f.Mark = marking.Mark(f.Attempt, nil)
	if got := ask.LessonOf(f); !strings.Contains(got.Far, "They match; you said it may not stay") || !strings.HasPrefix(got.Rule, "For the verdict") {
		t.Errorf("%+v", got)
	}
}

func TestAllLampsAtOnce(t *testing.T) {
	tt := trainertest.Run(t, trainer.Config{Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed}, trainertest.Options{Width: 80, Height: 24})
	choose(tt, "Lighting: all lamps at once")
	looks := exercises.AllLamps(exercises.TeachingPair(seed))
	seen := tt.Swatches()
	for _, l := range looks {
		tt.Expect(fmt.Sprintf("ΔE00 %.1f", l.E))
		if seen[l.First] == 0 || seen[l.Second] == 0 {
			t.Errorf("%s is not shown", l.Light.Name)
		}
	}
	tt.Expect("warm LED, modelled", "cool LED, modelled").ExpectNot("…")
	before := tt.Text()
	if tt.Press("n"); tt.Text() == before {
		t.Error("no other pair")
	}
	tt.Press("?").Expect("metamerism").Press("backspace", "backspace").Expect("All lamps at once").Press("m").Expect("Settings")
}

// What is said before the drill is of the question that it asks, and of no other.
func TestLightingIsBriefedByItsTask(t *testing.T) {
	for task, says := range map[string][2]string{exercises.TaskLamps: {"judge it under each", "Three pairs"}, exercises.TaskWhich: {"Three pairs", "judge it under each"}, "": {"judge it under each", "Three pairs"}} {
		cfg := drillOf(t, exercises.Lighting, 6)
		cfg.Start.Task = task
		trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24}).Expect(says[0]).ExpectNot(says[1]).Press("?").Expect(says[0]).ExpectNot(says[1])
	}
}
