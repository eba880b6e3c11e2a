package ask_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/trainer/trainertest"
)

func TestValueFirstScreens(t *testing.T) {
	for _, size := range []trainertest.Options{{Width: 80, Height: 24}, {Width: 100, Height: 30}, {Width: 200, Height: 60}} {
		name := map[int]string{80: "80x24", 100: "100x30", 200: "200x60"}[size.Width]
		t.Run(name, func(t *testing.T) {
			cfg := practising(t, exercises.ValueFirst, 20)
			tt := looking(t, cfg, size)
			trial := firstTrial(t, cfg)
			target, s := trial.Target, sheet(t)
			names := namesOf(s, trial)
			fieldShows := func(want colour.SRGB) {
				t.Helper()
				x, y := tt.Find("candidate")
				if got := tt.ColourAt(x-3, y); got != want {
					t.Errorf("the candidate is %v, not %v", got, want)
				}
				x, y = tt.Find("target  ")
				if got := tt.ColourAt(x+len("target")+2, y); got != target {
					t.Errorf("the target is %v, not %v", got, target)
				}
			}
			golden(t, tt, "value-"+name, names)
			before := tt.Swatches()
			tt.Press("right")
			if cmp.Equal(before, tt.Swatches()) {
				t.Error("moving along the strip changes nothing")
			}
			tt.Press("left", "v")
			golden(t, tt, "value-rows-"+name, names)
			tt.Press("v", "home", "enter").Expect("Step 2 of 2", "group "+s.Groups()[0].Name)
			tt.Press("home")
			fieldShows(s.Shown(s.Groups()[0].Tabs[0]))
			tt.Press("right")
			golden(t, tt, "sheet-"+name, names)
			tt.Press("v")
			golden(t, tt, "sheet-rows-"+name, names)
			tt.Press("v", "home", "h")
			first := s.Groups()[0].Tabs[0]
			fieldShows(s.Between(first, s.Neighbours(first)[0]))
			golden(t, tt, "between-"+name, names)
		})
	}
}

func TestAnswersCarryWhatWasSaid(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 4)
	tt := looking(t, cfg, trainertest.Options{})
	s := sheet(t)
	tt.Press("end").Advance(2*time.Second).Press("enter").Advance(time.Second).Press("end", "enter")
	tt.Expect("answered", "best there was").Press("n").Expect("ΔE00", "of 10 points").Press("n")
	last := s.Len() - 1
	got := attempts(t, cfg.Book)
	if len(got) != 1 {
		t.Fatalf("%d attempts", len(got))
	}
	shown := s.Shown(last)
	want := exercises.Answer{Colour: &shown, Tab: s.Name(last), Group: s.Groups()[s.GroupOf(last)].Name,
		First: 2 * time.Second, Total: 3 * time.Second, Looks: 1}
	if d := cmp.Diff(want, got[0].Answer); d != "" {
		t.Error(d)
	}
	if got[0].Trial.Target != firstTrial(t, cfg).Target {
		t.Error("the book has another target than the drill")
	}

	// Second trial: back to step one, then between two tabs.
	tt.Press("enter").Advance(time.Second)
	tt.Press("home", "enter", "backspace").Expect("Step 1 of 2")
	tt.Press("2", "enter", "home", "h", "right", "left", "enter")
	a := attempts(t, cfg.Book)[1].Answer
	i, _ := s.IndexOf(a.Tab)
	j, ok := s.IndexOf(a.Neighbour)
	if !ok || *a.Colour != s.Between(i, j) || s.GroupOf(i) != 1 {
		t.Errorf("answer %+v is not between two tabs of the second group", a)
	}
}
