package ask_test

import (
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/trainer/trainertest"
)

// inTheMiddle is a seed whose first target is neither end.
var inTheMiddle = uint64(12)

func TestHalfway(t *testing.T) {
	cfg := practising(t, exercises.Halfway, 4)
	cfg.Seed = &inTheMiddle
	tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
	trial := firstTrial(t, cfg)
	left, right, _ := exercises.EndsOf(trial)
	tt.Expect("In "+trial.Part+": where between left and right does the target lie?", "three quarters").ExpectNot("●")
	seen := tt.Swatches()
	if seen[left] < 100 || seen[left] != seen[right] || seen[trial.Target] != seen[left] {
		t.Errorf("the patches have %d, %d and %d cells", seen[left], seen[trial.Target], seen[right])
	}
	for place := 1; place < exercises.Places-1; place++ {
		if c := exercises.InBetween(left, right, place); c != trial.Target && seen[c] > 0 {
			t.Errorf("the colour of place %d is shown", place+1)
		}
	}
	golden(t, tt, "halfway-80x24", namesOf(sheet(t), trial))
	tt.Press("enter").Expect("First choose a place").Press("9").Expect("There are 5 places")
	tt.Press("right", "right").Expect("●").Press("right").Expect("This is the right end")
	tt.Press("1", "left").Expect("This is the left end").Press("end", "home", "right")
	golden(t, tt, "halfway-chosen-80x24", namesOf(sheet(t), trial))
	tt.Press("enter")
	tt.Expect("your answer, a quarter", "You said a quarter", "target")
	golden(t, tt, "halfway-answered-80x24", namesOf(sheet(t), trial))
	a := attempts(t, cfg.Book)[0].Answer
	if want := exercises.TakePlace(left, right, 1); *a.Number != 0.25 || *a.Colour != *want.Colour {
		t.Errorf("answer %+v", a)
	}

	// By mouse: the first click chooses, the second takes.
	tt.Press("enter").Advance(time.Second).Expect("trial 2 of 4")
	x, y := tt.Find("three quarters")
	tt.Click(x+3, y-2).Expect("trial 2 of 4", "●").Click(x+5, y).Expect("trial 2 of 4, answered")
	if a := attempts(t, cfg.Book)[1].Answer; *a.Number != 0.75 {
		t.Errorf("answer %v", *a.Number)
	}

	// Covered, no colour of the trial is left.
	tt.Press("enter").Advance(9 * time.Second).Expect("time is up")
	if seen := tt.Swatches(); len(seen) != 0 {
		for c := range seen {
			if c.R != c.G || c.G != c.B {
				t.Errorf("%v can still be seen", c)
			}
		}
	}
	tt.Press("3", "enter").Press("n").Expect("The answer came after the look had ended")
}

// In every window and with a gap the three patches are equal and in their order.
func TestHalfwayInAnyWindow(t *testing.T) {
	for _, o := range []trainertest.Options{{Width: 80, Height: 24}, {Width: 100, Height: 30}, {Width: 200, Height: 60}} {
		for _, gap := range []int{0, 4} {
			cfg := practising(t, exercises.Halfway, 4)
			cfg.Seed = &inTheMiddle
			cfg.Start.Viewing = exercises.DefaultViewing()
			cfg.Start.Viewing.Gap = gap
			tt := looking(t, cfg, o)
			trial := firstTrial(t, cfg)
			left, right, _ := exercises.EndsOf(trial)
			_, y := tt.Find("target  ")
			row, last := "", cfg.Start.Viewing.Surround
			for x := range o.Width {
				c := tt.ColourAt(x, y-3)
				if c == last {
					continue
				}
				last = c
				switch c {
				case left:
					row += "L"
				case trial.Target:
					row += "T"
				case right:
					row += "R"
				default:
					row += "."
				}
			}
			if want := map[int]string{0: "LTR.", 4: "L.T.R."}[gap]; row != want {
				t.Errorf("%d x %d, gap %d: %s instead of %s", o.Width, o.Height, gap, row, want)
			}
		}
	}
}
