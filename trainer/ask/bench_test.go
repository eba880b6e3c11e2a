package ask_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// atBench begins a bench drill without a library of its own, unless libraries
// are given.
func atBench(rounds int, options map[string]string, libraries ...*tabs.Library) trainer.Config {
	return trainer.Config{Libraries: libraries, Book: record.NewMemory(), Seed: &seed, Learner: "Ada Invented", SkipWelcome: true,
		Count: rounds, Start: &exercises.Setup{Kind: exercises.Bench, Options: options}}
}

func layoutOf(t *testing.T, cfg trainer.Config, sheet *tabs.Sheet, round int) exercises.Layout {
	t.Helper()
	s := *cfg.Start
	s.Seed, s.Count, s.Sheet, s.Viewing = *cfg.Seed, cfg.Count, sheet, exercises.DefaultViewing()
	run, err := exercises.NewRun(s)
	if err != nil {
		t.Fatal(err)
	}
	for range round {
		trial, _ := run.Next()
		run.Take(trial, exercises.Answer{})
	}
	trial, _ := run.Next()
	l, err := exercises.LayoutOf(trial)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// pair types that the tabs at two places belong together, counted from 0.
func pair(tt *trainertest.Trainer, b int) {
	for _, d := range fmt.Sprint(b + 1) {
		tt.Press(string(d))
	}
	tt.Press("enter")
}

// noColour fails when anything but grey is on the screen.
func noColour(t *testing.T, tt *trainertest.Trainer) {
	t.Helper()
	if seen := tt.Swatches(); len(seen) > 0 {
		t.Errorf("the bench shows colours: %v\n%s", seen, tt.Text())
	}
}

func TestBenchRoundFromLayoutToPairs(t *testing.T) {
	cfg := atBench(2, nil)
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	l := layoutOf(t, cfg, nil, 0)
	tt.Expect("two sets of the same real tabs", "2 rounds")
	noColour(t, tt)
	tt.Press("enter").Expect("Give the screen to the person who lays out", "round 1 of 2").ExpectNot("tab 3")
	golden(t, tt, "bench-hand-over-80x24", nil)
	tt.Press("enter")
	golden(t, tt, "bench-layout-80x24", nil)
	tt.Expect(fmt.Sprintf("1 tab %d", l.A[0]+1), fmt.Sprintf("tab %d", l.B[11]+1))
	// Laying out takes no time of the one who practises.
	tt.Advance(5 * time.Minute).Press("enter").Expect("The layout is hidden again").ExpectNot(fmt.Sprintf("tab %d", l.A[0]+1))
	tt.Press("backspace").Expect("which tab lies where").Press("enter", "enter")
	tt.Expect("pair of left 1?", "0:00").ExpectNot("tab 1")
	tt.Advance(65 * time.Second).Expect("1:05")

	// All but two pairs are right; those are exchanged.
	for i, tab := range l.A {
		b := slices.Index(l.B, tab)
		switch i {
		case 2:
			b = slices.Index(l.B, l.A[3])
		case 3:
			b = slices.Index(l.B, l.A[2])
		}
		pair(tt, b)
		if i == 4 {
			golden(t, tt, "bench-pairs-80x24", nil)
		}
	}
	tt.Expect("▸ hand in")
	noColour(t, tt)
	// The help does not stop the time: the tabs stay in sight.
	tt.Press("?").Expect("Chance alone finds 1 pair of 12").Advance(time.Minute).Press("backspace").Expect("2:05")
	tt.Press("enter").Expect("10 of 12 pairs found, in 2:05", "Chance alone finds one pair",
		fmt.Sprintf("3 tab %d %d tab %d %d", l.A[2]+1, slices.Index(l.B, l.A[3])+1, l.A[3]+1, slices.Index(l.B, l.A[2])+1))
	golden(t, tt, "bench-feedback-80x24", nil)
	tt.Press("n").Expect("83 % (", "Chance alone finds 1 pair on average").Press("n")
	a := attempts(t, cfg.Book)[0].Answer
	if a.Total != 125*time.Second || a.First != 65*time.Second || len(a.Order) != 12 || a.TimedOut {
		t.Errorf("answer %+v", a)
	}

	// The second round lies otherwise, and is left half empty.
	tt.Press("enter").Expect("Give the screen", "round 2 of 2").Press("enter")
	if next := layoutOf(t, cfg, nil, 1); slices.Equal(next.A, l.A) {
		t.Error("the second round is laid out like the first")
	}
	tt.Press("enter", "enter").Advance(30*time.Second).Press("e", "enter").Expect("12 places have no pair. Enter again")
	tt.Press("up").Expect("pair of left 12?").Press("e", "enter").Expect("Enter again hands in").Press("enter")
	tt.Expect("0 of 12 pairs found", "open", "more")
	tt.Press("enter").Expect("summary", "2 rounds", "10 of 24 pairs found.", "2 of 24", "As a share: 42 %", "Round 1: 10 of 12 in 2:05")
	noColour(t, tt)
}

// With the user's own measured library the tabs have their names, and mistakes
// their size.
func TestBenchWithAnOwnLibrary(t *testing.T) {
	own := library(t)
	cfg := atBench(1, map[string]string{exercises.OptionPairs: "4"}, own)
	s := tabs.NewSheet(own, nil)
	l := layoutOf(t, cfg, s, 0)
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	tt.Press("enter").Expect(`your library "invented"`).Press("enter").Expect("1 "+s.Name(l.A[0])).Press("enter", "enter")
	right := func(i int) int { return slices.Index(l.B, l.A[i]) }
	for _, b := range []int{right(1), right(0), right(2), right(3)} {
		pair(tt, b)
	}
	e := colour.DeltaE00(s.Measured(l.A[0]), s.Measured(l.A[1]))
	tt.Press("enter").Expect("2 of 4 pairs found", s.Name(l.A[0])).Press("n").Expect(
		fmt.Sprintf("Wrong pairs were %.1f ΔE00 apart on average", e))
	noColour(t, tt)
}

// A place is corrected, a tab of the right set has one pair, and nonsense is refused.
func TestBenchPairsCanBeCorrected(t *testing.T) {
	cfg := atBench(1, map[string]string{exercises.OptionPairs: "5"})
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Press("enter", "enter", "enter", "enter")
	tt.Press("7", "enter").Expect("There is no place 7: the right set has 1 to 5.")
	tt.Press("backspace").Expect("There is nothing to clear.").Press("0", "enter").Expect("There is no place 0")
	tt.Press("3", "enter").Expect("left 1 – right 3", "free at the right: 1 2 4 5")
	tt.Press("3", "enter").Expect("Right 3 is the pair of left 1 already", "pair of left 2?", "left 1 – right 3")
	tt.Press("9", "enter").Expect("There is no place 9", "pair of left 2?").Press("1", "7").Expect("There is no place 17").Press("backspace")
	tt.Press("up", "backspace", "down", "3", "enter").Expect("left 2 – right 3", "pair of left 3?")
	tt.Press("enter").Expect("Left 3 is left open for now.")
	tt.Press("1", "enter", "2", "enter").Expect("pair of left 1?", "left 5 – right 2")
	tt.Press("4").Expect("left 1 – right 4_").Press("enter").Expect("pair of left 3?")
	tt.Press("5", "enter").Expect("▸ hand in").Press("1").Expect("choose a place with the arrows")
	tt.Press("home", "backspace").Expect("free at the right: 4").Press("4", "enter")
	x, y := tt.Find("left  2")
	tt.Click(x, y).Expect("pair of left 2?")
	x, y = tt.Find("hand in")
	tt.Click(x, y).Expect("▸ hand in").Press("enter")
	if d := cmp.Diff([]int{3, 2, 4, 0, 1}, attempts(t, cfg.Book)[0].Answer.Order); d != "" {
		t.Error(d)
	}
}

// Sixty pairs go over pages in a small window and into one place in a large one;
// no place is lost.
func TestBenchLayoutOfSixty(t *testing.T) {
	for _, size := range []trainertest.Options{{Width: 80, Height: 24}, {Width: 200, Height: 60}} {
		cfg := atBench(1, map[string]string{exercises.OptionPairs: "60"})
		tt := trainertest.Run(t, cfg, size)
		tt.Press("enter", "enter")
		seen := tt.Text()
		for i := 0; i < 5 && !tt.Shows("The layout is hidden again"); i++ {
			tt.Press("enter")
			seen += tt.Text()
		}
		flat := strings.Join(strings.Fields(seen), " ")
		for i, tab := range layoutOf(t, cfg, nil, 0).A {
			if !strings.Contains(flat, fmt.Sprintf("%d tab %d tab", i+1, tab+1)) {
				t.Errorf("%d x %d: place %d is missing", size.Width, size.Height, i+1)
			}
		}
		tt.Press("enter")
		for i := range 60 {
			tt.Expect(fmt.Sprintf("%d – ", i+1))
		}
		tt.Resize(80, 24).Expect("60 – ", "hand in", "q leave")
	}
}

// A round that was broken off is laid out again as it was.
func TestBenchIsTakenUpAgain(t *testing.T) {
	cfg := atBench(2, map[string]string{exercises.OptionPairs: "4"})
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Press("enter", "enter", "enter", "enter")
	for _, k := range []string{"1", "2", "3", "4"} {
		tt.Press(k, "enter")
	}
	tt.Press("enter", "enter").Press("enter")
	second := tt.Text()
	tt.Stop(errors.New("window closed"))
	again := trainertest.Run(t, trainer.Config{Book: cfg.Book, Learner: cfg.Learner, SkipDisplay: true}, trainertest.Options{Width: 80, Height: 24})
	again.Expect("after 1 of 2 rounds").Press("1", "enter", "enter")
	if d := cmp.Diff(second, again.Text()); d != "" {
		t.Error(d)
	}
}

// What was typed is taken on the way to another place, or told why not; and pairs that were
// found are not thrown away by one key.
func TestBenchLosesNoPair(t *testing.T) {
	cfg := atBench(1, map[string]string{exercises.OptionPairs: "4"})
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Press("enter", "enter", "enter", "enter").Expect("pair of left 1?")
	tt.Press("3", "down").Expect("pair of left 2?", "left 1 – right 3")
	tt.Press("3", "down").Expect("pair of left 2?", "Right 3 is the pair of left 1 already")
	tt.Press("9", "e").Expect("pair of left 2?", "There is no place 9")
	tt.Press("4", "e").Expect("left 2 – right 4", "2 places have no pair yet")
	tt.Press("up", "1", "up").Expect("pair of left 3?", "left 4 – right 1")
	tt.Press("2", "q").Expect("not handed in yet", "go on with this drill", "leave it")
	tt.Press("escape").Expect("pair of left 3?", "right 2_")
	tt.Press("enter", "enter").Expect("of 4 pairs found")

	tt = trainertest.Run(t, atBench(1, nil), trainertest.Options{Width: 80, Height: 24})
	tt.Press("enter", "enter", "enter", "enter", "q").Expect("Today's practice") // nothing was paired
	tt = trainertest.Run(t, atBench(1, nil), trainertest.Options{Width: 80, Height: 24})
	tt.Press("enter", "enter", "enter", "enter", "3", "enter", "q", "q").Expect("Today's practice")
}
