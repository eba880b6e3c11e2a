package ask_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// placesOf names each colour of a line-up by the place where it belongs.
func placesOf(t exercises.Trial) map[colour.SRGB]string {
	names := map[colour.SRGB]string{}
	for place, i := range exercises.RightOrder(t) {
		names[t.Patches[i].Colour] = fmt.Sprintf("place %d", place+1)
	}
	return names
}

// rowShown reads the row of patches as it stands on the screen, from the left,
// along the line of its last row.
func rowShown(t *testing.T, tt *trainertest.Trainer, first string) []colour.SRGB {
	t.Helper()
	x, y := tt.Find(first)
	w, _ := tt.Size()
	var row []colour.SRGB
	for ; x < w; x++ {
		c := tt.ColourAt(x, y-4)
		if c.R == c.G && c.G == c.B || len(row) > 0 && row[len(row)-1] == c {
			continue
		}
		row = append(row, c)
	}
	return row
}

func TestLineUp(t *testing.T) {
	for _, size := range []trainertest.Options{{Width: 80, Height: 24}, {Width: 200, Height: 60}} {
		name := fmt.Sprintf("%dx%d", size.Width, size.Height)
		cfg := practising(t, exercises.LineUp, 3)
		tt := looking(t, cfg, size)
		trial := firstTrial(t, cfg)
		names := placesOf(trial)
		tt.Expect("Put in order of value: lightest at the left, darkest at the right.", "trial 1 of 3")
		golden(t, tt, "lineup-"+name, names)

		// There is no limit to a look here, and the space bar takes up.
		tt.Advance(30 * time.Second).ExpectNot("time is up").Press("left").Expect("This is the first place.")
		// Enter takes nothing up, and a row that was not touched is not handed in by it.
		tt.Press("enter").Expect("Nothing was moved yet. The space bar takes a patch up")
		if got := attempts(t, cfg.Book); len(got) != 0 {
			t.Fatalf("%s: a row that was not touched was answered: %+v", name, got)
		}
		// Whoever chooses another patch after that takes Enter for taking it up.
		tt.Press("right", "enter").Expect("Nothing was moved yet")
		tt.Press("enter")
		if got := attempts(t, cfg.Book); len(got) != 1 || !slices.Equal(got[0].Answer.Order, []int{0, 1, 2, 3, 4}) {
			t.Fatalf("%s: the row was left as it lay, and the answer is %+v", name, got)
		}
		tt.Expect("as you laid it", "in order, lightest to darkest", "in its place")
		golden(t, tt, "lineup-feedback-"+name, names)
	}
}

func TestLineUpCarriesByKeys(t *testing.T) {
	cfg := practising(t, exercises.LineUp, 3)
	tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
	trial := firstTrial(t, cfg)
	shown := func(order ...int) (row []colour.SRGB) {
		for _, i := range order {
			row = append(row, trial.Patches[i].Colour)
		}
		return row
	}
	expect := func(order ...int) {
		t.Helper()
		if d := cmp.Diff(shown(order...), rowShown(t, tt, "lightest  ")); d != "" {
			t.Errorf("the row (-expected +shown):\n%s", d)
		}
	}
	expect(0, 1, 2, 3, 4)
	tt.Advance(time.Second).Press("space", "right", "right").Expect("put down")
	golden(t, tt, "lineup-held-80x24", placesOf(trial))
	tt.Press("enter").Expect("First put the patch down").Press("space")
	expect(1, 2, 0, 3, 4)
	tt.Press("up", "end", "backspace") // put back where it lay
	expect(1, 2, 0, 3, 4)
	tt.Press("5", "space", "1", "down").Expect("take up")
	expect(4, 1, 2, 0, 3)
	tt.Press("9").Expect("There are only 5 places").Press("down").Expect("No patch is taken up").Press("backspace").Expect("No patch is taken up")

	// Into the right order, place by place.
	row := []int{4, 1, 2, 0, 3}
	for place, patch := range exercises.RightOrder(trial) {
		at := slices.Index(row, patch)
		tt.Press(fmt.Sprint(at+1), "space", fmt.Sprint(place+1), "space")
		row = slices.Insert(slices.Delete(row, at, at+1), place, patch)
	}
	expect(exercises.RightOrder(trial)...)
	tt.Advance(3 * time.Second).Press("enter").Expect("All 5 patches lie in order")
	a := attempts(t, cfg.Book)[0].Answer
	if !slices.Equal(a.Order, exercises.RightOrder(trial)) || a.Total < 3*time.Second || a.First >= a.Total {
		t.Errorf("answer %+v", a)
	}
}

func TestLineUpByMouseAndBrokenOff(t *testing.T) {
	cfg := practising(t, exercises.LineUp, 3)
	tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
	trial := firstTrial(t, cfg)
	x, y := tt.Find("lightest  ")
	w := (80 - 2*x) / 5
	tt.Click(x+1, y-4).Expect("Taken up: click the place").Click(x+3*w+1, y-4)
	var want []colour.SRGB
	for _, i := range []int{1, 2, 3, 0, 4} {
		want = append(want, trial.Patches[i].Colour)
	}
	if d := cmp.Diff(want, rowShown(t, tt, "lightest  ")); d != "" {
		t.Error(d)
	}
	tt.Press("enter", "enter").Advance(time.Second).Expect("trial 2 of 3", "chroma")

	tt.Stop(errors.New("window closed"))
	again := trainertest.Run(t, trainer.Config{Book: cfg.Book, Learner: cfg.Learner, SkipDisplay: true}, trainertest.Options{Width: 80, Height: 24})
	again.Press("1", "enter").Advance(time.Second).Expect("order of chroma: least chroma", "trial 2 of 3")
	again.Press("?").Expect("Take a patch up with the space bar").Press("backspace")

	// A look without limit here leaves the limit of other drills alone.
	again.Press("enter", "enter", "enter").Advance(time.Second).Expect("reddest").Press("enter", "enter", "enter").Stop(errors.New("closed"))
	next := trainertest.Run(t, trainer.Config{Book: cfg.Book, Learner: cfg.Learner, SkipDisplay: true, Start: &exercises.Setup{Kind: exercises.ValueFirst}}, trainertest.Options{})
	next.Press("enter").Advance(time.Second)
	sittings, err := cfg.Book.Sittings(context.Background(), record.Filter{})
	if err != nil || len(sittings) != 2 || sittings[0].Setup.Viewing.Limit != 0 || sittings[1].Setup.Viewing.Limit != 7*time.Second {
		t.Errorf("%+v, %v", sittings, err)
	}
}

// Where a limit was asked for the row is covered, and the arrows still carry.
func TestLineUpWithALimit(t *testing.T) {
	cfg := practising(t, exercises.LineUp, 3)
	cfg.Start.Viewing = exercises.DefaultViewing()
	tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Advance(8 * time.Second).Expect("time is up")
	for _, p := range firstTrial(t, cfg).Patches {
		if tt.Swatches()[p.Colour] > 0 {
			t.Error("a covered patch can be seen")
		}
	}
	tt.Press("up", "right", "down", "enter")
	if a := attempts(t, cfg.Book)[0].Answer; !slices.Equal(a.Order, []int{1, 0, 2, 3, 4}) || !a.TimedOut {
		t.Errorf("answer %+v", a)
	}
}
