package ask_test

import (
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/trainer/trainertest"
)

// Whatever is pressed in the 300 ms after a picture has changed answers nothing and goes
// no step further, in every step of every exercise.
func TestBurstsAnswerNothingUnseen(t *testing.T) {
	ways := map[exercises.KindID][]string{
		exercises.ValueFirst: {"enter", "enter"}, exercises.Thirds: {"enter", "enter"}, exercises.Halfway: {"3", "enter"}, exercises.LineUp: {"enter", "enter"},
		exercises.TryIn: {"left", "down", "right", "s"}, exercises.Whitening: {"0", "enter"}, exercises.Combination: {"enter", "enter", "a"},
		exercises.Lighting: {"m"}, exercises.Threshold: {"left"}, exercises.Bench: {"enter", "enter", "enter"},
	}
	for _, k := range exercises.Kinds() {
		way, known := ways[k.ID()]
		if !known { // keys that take or choose something on most screens
			way = []string{"enter", "1", "enter"}
		}
		for step := range way {
			cfg := drillOf(t, k.ID(), 6)
			tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
			// What is asked, and what was answered: the seconds in the title go on.
			state := func() string {
				lines := strings.Split(tt.Text(), "\n")
				return strings.Join(append(strings.Fields(lines[1]), map[bool]string{true: "answered"}[strings.Contains(lines[0], "answered")]), " ")
			}
			tt.Press(way[:step]...)
			before := state()
			tt.Press(way[step])
			after, given := state(), len(attempts(t, cfg.Book))
			if after == before {
				continue // something was chosen, and is there to be seen
			}
			burst := append([]string{"enter", "space", "right"}, way...)
			for range 4 {
				for _, key := range burst[:4] {
					tt.Hurry(18*time.Millisecond, key)
				}
				burst = append(burst[1:], burst[0])
			}
			if n := len(attempts(t, cfg.Book)); n != given || state() != after {
				t.Errorf("%s, step %d: a burst after %q led from %q to %q and to %d more answers", k.ID(), step+1, way[step], after, state(), n-given)
			}
		}
	}
}
