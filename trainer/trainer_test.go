package trainer_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour/fault"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/display"
	"shadedrill/trainer/trainertest"
)

// A newcomer comes to the first marked answer over few screens; the display check and
// the menu follow the first drill.
func TestFirstStartLeadsToTheFirstAnswer(t *testing.T) {
	book := record.NewMemory()
	tt := trainertest.Run(t, trainer.Config{Book: book, Libraries: []*tabs.Library{library(t)}, Seed: &seed}, trainertest.Options{Width: 80, Height: 24})
	for _, caution := range scoring.Cautions {
		tt.Expect(caution)
	}
	golden(t, tt, "welcome-80x24", nil)
	tt.Press("enter").Expect("Please type a name first.")
	tt.Type("Ada Inventex").Press("backspace").Type("d").Press("enter")
	tt.Expect("Value first", "5 trials", "w watch one first")
	golden(t, tt, "brief-80x24", nil)
	tt.Press("enter").Advance(time.Second).Expect("Step 1 of 2").Press("enter").Expect("Step 2 of 2").Press("enter").Expect("answered")
	tt.Press("q").Expect("What now?").Press("q")
	tt.Expect("Display check", "question 1 of 4")
	tt.Press("3", "1", "3", "1").Expect("with care", "The small step was not seen")
	tt.Press("enter").Expect("You broke off the drill “Value first”").Press("q").Expect("Settings", "Ada Invented")
	l, err := book.LearnerByName(context.Background(), "ada invented")
	if err != nil || l.Name != "Ada Invented" {
		t.Errorf("the book has %v, %v", l, err)
	}
	tt.Press("q")
	if ended, err := tt.Ended(); !ended || err != nil {
		t.Errorf("ended %v with %v", ended, err)
	}
}

// The worked trial shows the two steps with words, and keeps nothing.
func TestWorkedTrial(t *testing.T) {
	for _, o := range []trainertest.Options{{Width: 80, Height: 24}, {Width: 200, Height: 60}} {
		cfg := practising(t, exercises.ValueFirst, 3)
		tt := trainertest.Run(t, cfg, o)
		tt.Press("w").Expect("A worked trial", "Step 1 of 2", "lighter than the target")
		golden(t, tt, fmt.Sprintf("worked-%dx%d", o.Width, o.Height), nil)
		tt.Press("enter").Expect("Now both are as light").Press("enter").Expect("Step 2 of 2", "still too weak").Press("enter").Expect("↵ answers")
		tt.Press("g").Expect("Glossary", "half accept 1.8").Press("backspace").Press("enter").Expect("3 trials", "↵ begin")
		if n := len(attempts(t, cfg.Book)); n != 0 {
			t.Errorf("%d answers", n)
		}
		tt.Press("enter").Advance(time.Second).Expect("trial 1 of 3")
	}
}

func TestDisplayCheckShowsItsBytesAndIsKeptWithTheSitting(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 3)
	cfg.SkipDisplay = false
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	seen := tt.Swatches()
	if len(seen) != 2 || seen[display.SmallStep[0]] < 3*seen[display.SmallStep[1]] || seen[display.SmallStep[1]] == 0 {
		t.Fatalf("the small step shows %v", seen)
	}
	w, h := tt.Size()
	side := "1"
	for x := w / 2; x < w; x++ {
		if tt.ColourAt(x, h/2) == display.SmallStep[1] {
			side = "2"
		}
	}
	tt.Press(side)
	for i, grey := range display.Ramp(14) {
		if grey == tt.ColourAt(0, 0) {
			t.Errorf("ramp step %d is the grey of the room", i)
		}
		if got := tt.ColourAt(8+i*6+1, h/2); got != grey {
			t.Errorf("ramp step %d is %v, not %v", i, got, grey)
		}
	}
	tt.Press("1")
	golden(t, tt, "gamma-100x30", nil)
	tt.Press("3").Expect("night-tint").Press("b").Expect("stripes blur").Press("3", "1")
	tt.Expect("shows what is needed").Press("enter").Press("enter")
	sittings, err := cfg.Book.Sittings(context.Background(), record.Filter{})
	if err != nil || len(sittings) != 1 {
		t.Fatal(sittings, err)
	}
	want := scoring.DisplayCheck{At: trainertest.Start, Colours: 1 << 24, SmallStep: "seen", Ramp: "all steps",
		Gamma: "grey 188, gamma about 2.3", Terminal: "xterm-256color", NightTint: "off", Acceptable: true}
	if d := cmp.Diff(want, sittings[0].Display); d != "" {
		t.Error(d)
	}
}

func TestTerminalsThatCannotShowColoursAreRefused(t *testing.T) {
	for name, o := range map[string]struct {
		env     func(string) string
		colours int
	}{
		"256 colours": {nil, 256},
		"NO_COLOR":    {trainertest.Env("TERM", "xterm", "NO_COLOR", "1"), 1 << 24},
		"dumb":        {trainertest.Env("TERM", "dumb"), 1 << 24},
	} {
		tt := trainertest.Run(t, trainer.Config{Getenv: o.env}, trainertest.Options{Colours: o.colours})
		ended, err := tt.Ended()
		var p *fault.Error
		if !ended || !errors.As(err, &p) || p.Hint() == "" {
			t.Errorf("%s: ended %v with %v", name, ended, err)
		}
	}
}

func TestLookLimitCoversTheField(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 4)
	tt := looking(t, cfg, trainertest.Options{})
	target := firstTrial(t, cfg).Target
	tt.Expect("7 s")
	tt.Advance(3 * time.Second).Expect("4 s")
	tt.Press("space").Expect("The look is not over yet")
	tt.Advance(3900 * time.Millisecond)
	if tt.Swatches()[target] == 0 {
		t.Fatal("covered too early")
	}
	tt.Advance(100*time.Millisecond).Expect("time is up", "Space look again")
	if tt.Swatches()[target] != 0 {
		t.Fatal("the target can still be seen")
	}
	golden(t, tt, "covered-100x30", namesOf(sheet(t), firstTrial(t, cfg)))
	tt.Press("v")
	if tt.Swatches()[target] != 0 {
		t.Fatal("the row view uncovers the target")
	}
	tt.Press("v").Advance(10 * time.Second)
	tt.Press("space")
	if len(tt.Swatches()) != 0 {
		t.Errorf("the rest shows colours: %v", tt.Swatches())
	}
	tt.Advance(time.Second)
	if tt.Swatches()[target] == 0 {
		t.Error("no second look")
	}
	tt.Advance(8*time.Second).Press("enter", "enter", "n").Expect("The answer came after the look had ended.")
	a := attempts(t, cfg.Book)[0].Answer
	if a.Looks != 2 || !a.TimedOut || a.Total != (7+10+8)*time.Second {
		t.Errorf("answer %+v", a)
	}
}

// What picture and key took on their way is not the person's time.
func TestTheWayIsNoTimeOfThePerson(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 4)
	tt := looking(t, cfg, trainertest.Options{})
	tt.Advance(2 * time.Second)
	tt.Far(250 * time.Millisecond)
	tt.Press("enter", "enter").Expect("answered")
	if a := attempts(t, cfg.Book)[0].Answer; a.Total != 1750*time.Millisecond {
		t.Errorf("2 s, a quarter of a second of it on the way, are told as %v", a.Total)
	}
}

func TestHelpStopsTheClock(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 4)
	tt := looking(t, cfg, trainertest.Options{})
	target := firstTrial(t, cfg).Target
	tt.Advance(2*time.Second).Press("?").Expect("Keys on that page", "lighter, darker")
	if tt.Swatches()[target] != 0 {
		t.Error("the target can be studied in the help")
	}
	tt.Advance(time.Minute).Press("backspace").Expect("5 s", "Step 1 of 2")
	tt.Press("enter", "enter")
	if a := attempts(t, cfg.Book)[0].Answer; a.Total != 2*time.Second || a.Looks != 1 || a.TimedOut {
		t.Errorf("answer %+v", a)
	}
}

func TestResizeKeepsTheTrial(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 4)
	tt := looking(t, cfg, trainertest.Options{})
	target := firstTrial(t, cfg).Target
	tt.Advance(2*time.Second).Press("home", "enter", "right")
	before := tt.Text()
	tt.Resize(200, 60).Expect("Step 2 of 2")
	tt.Resize(40, 10).Expect("Please make it 80 × 24 or larger.", "Nothing is lost.")
	if said := strings.Join(strings.Fields(tt.Resize(20, 8).Text()), " "); !strings.Contains(said, "Please make it 80 × 24 or larger. Nothing is lost.") {
		t.Errorf("a very narrow window says %q", said)
	}
	if tt.Swatches()[target] != 0 {
		t.Error("a window too small shows the target")
	}
	tt.Advance(time.Minute).Press("enter", "x")
	if len(attempts(t, cfg.Book)) != 0 {
		t.Error("an answer was taken blind")
	}
	tt.Resize(1, 1).Resize(100, 30)
	if after := tt.Text(); after != before {
		t.Errorf("the trial is not as it was:\n%s", cmp.Diff(before, after))
	}
	if tt.Swatches()[target] == 0 {
		t.Error("the target is gone")
	}
}
