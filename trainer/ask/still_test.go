package ask_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/trainer/trainertest"
)

// boxOf is the rectangle of a colour on the screen.
func boxOf(tt *trainertest.Trainer, c colour.SRGB) string {
	w, h := tt.Size()
	x0, y0, x1, y1 := w, h, -1, -1
	for y := range h {
		for x := range w {
			if tt.ColourAt(x, y) == c {
				x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x), max(y1, y)
			}
		}
	}
	return fmt.Sprint(x0, y0, x1, y1)
}

// The target stays where it is, from step to step, and no step has more keys than the
// rows kept free for them, even when the look is over.
func TestNothingJumps(t *testing.T) {
	steps := map[exercises.KindID][]string{
		exercises.ValueFirst:  {"enter", "h", "backspace", "right", "backspace", "right"},
		exercises.Thirds:      {"enter", "h", "backspace", "backspace"},
		exercises.Combination: {"enter", "right", "enter", "backspace"},
		exercises.TryIn:       {"left", "down", "right", "backspace"},
		exercises.Halfway:     {"1", "end"},
		exercises.LineUp:      {"space", "right", "space"},
		exercises.Whitening:   {"3", "up"},
		exercises.Lighting:    {"x"},
	}
	for kind, keys := range steps {
		for _, o := range []trainertest.Options{{Width: 80, Height: 24}, {Width: 100, Height: 30}, {Width: 200, Height: 60}} {
			cfg := drillOf(t, kind, 6)
			tt := looking(t, cfg, o)
			target := firstTrial(t, cfg).Target
			for _, p := range firstTrial(t, cfg).Patches {
				if kind == exercises.LineUp {
					break // carried about
				}
				if p.Colour == target {
					target = colour.SRGB{} // shown twice: its box says nothing
				}
			}
			box := boxOf(tt, target)
			for _, k := range keys {
				tt.Press(k)
				if kind != exercises.LineUp && boxOf(tt, target) != box {
					t.Errorf("%s, %d columns: after %q the target is at %s, before at %s", kind, o.Width, k, boxOf(tt, target), box)
				}
			}
			tt.Advance(8 * time.Second)
			if line := strings.Split(tt.Text(), "\n")[o.Height-3]; o.Height <= 30 && (strings.Contains(line, "help") || strings.Contains(line, "↵")) {
				t.Errorf("%s, %d columns: the keys take more rows than were kept free:\n%s", kind, o.Width, tt.Text())
			}
		}
	}
}
