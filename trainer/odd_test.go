package trainer_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// Whatever library a person comes with and whatever is pressed, a drill is shown and
// answered or refused with a reason: no panic, and every answer is in the book.
func TestOddLibrariesOnTheScreen(t *testing.T) {
	keys := []string{"enter", "enter", "enter", "left", "right", "up", "down", "home", "end", "space", "backspace", "tab", "v", "h",
		"1", "2", "3", "9", "0", "a", "s", "m", "d", "l", "y", "r", "n", "b", "e", "u"}
	for name, csv := range map[string]string{
		"one tab":            "name,L,a,b\nonly,72,2,20\n",
		"two alike":          "name,L,a,b\none,70,1,18\nother,70,1,18\n",
		"two":                "name,L,a,b\ndark,64,3,22\nlight,84,0,14\n",
		"beyond the display": "name,L,a,b\nviolet,30,80,-110\ngreen,80,-120,90\nred,50,110,80\nblue,20,70,-120\ncyan,85,-90,-60\n",
		"greys":              "name,L,a,b\nblack,0,0,0\ngrey,50,0,0\nwhite,100,0,0\npale,90,0,0\ndull,40,0,0\n",
		"long names":         "name,L,a,b\n" + strings.Repeat("m", 60) + ",72,2,20\n" + strings.Repeat("界", 60) + ",60,2,24\n",
	} {
		library, err := tabs.ReadCSV(strings.NewReader(csv), name)
		if err != nil {
			t.Fatal(err)
		}
		for _, kind := range exercises.Kinds() {
			for _, targets := range []exercises.Targets{exercises.NaturalTargets, exercises.TabTargets} {
				t.Run(fmt.Sprintf("%s, %s, %s", name, kind.ID(), targets), func(t *testing.T) {
					t.Parallel()
					setup := exercises.Setup{Kind: kind.ID(), Targets: targets}
					if kind.ID() == exercises.Threshold {
						setup.Task = exercises.TaskDifferent
					}
					cfg := trainer.Config{Libraries: []*tabs.Library{library}, LibraryChosen: true, Book: record.NewMemory(), Seed: &seed,
						Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Count: 3, Start: &setup}
					tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
					if tt.Shows("The drill cannot begin.") {
						t.Log(strings.Join(strings.Fields(tt.Text()), " "))
						return
					}
					rng := rand.New(rand.NewPCG(uint64(len(name)), uint64(len(kind.ID()))))
					for range 200 {
						tt.Press(keys[rng.IntN(len(keys))]).Advance(time.Duration(rng.IntN(1500)) * time.Millisecond)
						if ended, err := tt.Ended(); err != nil {
							t.Fatalf("the trainer broke: %v", err)
						} else if ended { // by the menu's last line
							break
						}
					}
					// A round at the bench takes more than keys at random.
					if kind.ID() != exercises.Bench && len(attempts(t, cfg.Book)) == 0 {
						t.Errorf("nothing could be answered:\n%s", tt.Text())
					}
				})
			}
		}
	}
}
