package trainer_test

import (
	"errors"
	"testing"
	"time"
	_ "time/tzdata"

	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// A plan that was left open over night is not gone on with: its drills were planned for a
// day that is over.
func TestThePlanOfADayThatIsOver(t *testing.T) {
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed, Today: true, Minutes: 5, Count: 1}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Press("enter", "enter").Advance(time.Second).Press("enter", "enter").Expect("answered").Press("enter").Expect("next today: halfway")
	tt.Press("q", "t").Expect("1 Value first done, 1 trial", "▸ 2 Halfway")
	tt.Advance(20*time.Hour).Press("enter").Expect("It is another day: this is its plan.", "Today's practice").ExpectNot("done, 1 trial")
	tt.Press("enter").Expect("↵ begin")
}

// Who ends a plan after midnight is told what the next practice holds, and finds it.
func TestNextTimeAfterMidnight(t *testing.T) {
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed, Today: true, Minutes: 1, Count: 1}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24, At: time.Date(2030, 1, 7, 23, 59, 50, 0, time.UTC)})
	tt.Press("enter", "enter").Advance(time.Minute).Press("space").Advance(time.Second).Press("enter", "enter").Expect("answered").Press("enter", "enter")
	tt.Expect("Done for today: 1 answer", "Next time").ExpectNot("Tomorrow")
}

// How old a display check is, in days of the calendar.
func TestHowOldADisplayCheckIs(t *testing.T) {
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, Seed: &seed}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24}).Expect("Display check")
	checkDisplay(tt)
	tt.Expect("Settings")
	for _, c := range []struct {
		later time.Duration
		want  string
	}{{0, "checked today"}, {5 * time.Hour, "checked yesterday"}, {24 * time.Hour, "checked 2 days ago"}} {
		tt.Advance(c.later).Press("t", "m", "end", "up", "up").Expect("This screen was " + c.want)
	}
}

func checkDisplay(tt *trainertest.Trainer) {
	for _, answer := range []string{"1", "1", "3", "1", "enter"} {
		tt.Advance(time.Second).Press(answer)
	}
	tt.Advance(time.Second)
}

// A clock that is set back, by three days or by more than a year: a display check of a day
// that is still to come tells nothing, what is set holds at the next start, the plan of the
// day is there, and a drill that was begun before goes on to its end.
func TestAClockThatIsSetBack(t *testing.T) {
	for _, days := range []int{3, 400} {
		cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, Seed: &seed}
		tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
		checkDisplay(tt)
		tt.Press("s", "down").Expect("▸ Trials in a drill 20").Press("right").Expect("30").Press("q")
		tt.Stop(errors.New("closed"))

		back := trainertest.Options{Width: 80, Height: 24, At: trainertest.Start.AddDate(0, 0, -days)}
		tt = trainertest.Run(t, cfg, back).Expect("Display check", "question 1 of 4")
		checkDisplay(tt)
		tt.Press("s", "down").Expect("▸ Trials in a drill 30").Press("left", "left").Expect("10").Press("q").Press("t").Expect("for a first day")
		tt.Stop(errors.New("closed"))

		cfg.SkipDisplay = true
		back.At = back.At.Add(time.Hour)
		trainertest.Run(t, cfg, back).Press("s", "down").Expect("▸ Trials in a drill 10").Stop(errors.New("closed"))

		// A drill of which an answer was given before the clock was set back.
		cfg.Book, cfg.Count = record.NewMemory(), 3
		tt = trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
		tt.Press("v", "enter").Advance(time.Second).Press("enter", "enter").Expect("trial 1 of 3, answered").Stop(errors.New("closed"))
		tt = trainertest.Run(t, cfg, back).Expect("after 1 of 3 trials").Press("1", "enter")
		takeTrials(tt, 1)
		tt.Expect("trial 2 of 3, answered").Press("enter")
		takeTrials(tt, 1)
		tt.Expect("trial 3 of 3, answered").Press("enter").Expect("Value first: summary", "3 trials.").Press("p").Expect("3 answers in 1 sitting").Press("q", "t").Expect("Last practised lately")
	}
}
