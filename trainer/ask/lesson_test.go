package ask_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// answers give one answer of each kind by keys, with some variety in n.
var answers = map[exercises.KindID]func(tt *trainertest.Trainer, n int){
	exercises.ValueFirst: func(tt *trainertest.Trainer, n int) {
		tt.Press(slices.Repeat([]string{"left", "right"}[n%2:n%2+1], n%3)...).Press("enter")
		tt.Press(slices.Repeat([]string{"down"}, n%2)...).Press("enter")
	},
	exercises.Thirds: func(tt *trainertest.Trainer, n int) {
		tt.Press(slices.Repeat([]string{"left"}, n%3)...).Press("enter", "enter")
	},
	exercises.Halfway:     func(tt *trainertest.Trainer, n int) { tt.Press([]string{"1", "2", "3", "4", "5"}[n%5], "enter") },
	exercises.LineUp:      func(tt *trainertest.Trainer, n int) { tt.Press("enter", "enter") },
	exercises.Combination: func(tt *trainertest.Trainer, n int) { tt.Press("enter", "enter", []string{"b", "a", "r"}[n%3]) },
	exercises.Whitening:   func(tt *trainertest.Trainer, n int) { tt.Press([]string{"0", "3", "6", "9"}[n%4], "enter") },
	exercises.Lighting:    func(tt *trainertest.Trainer, n int) { tt.Press([]string{"1", "2", "3"}[n%3]) },
	exercises.TryIn: func(tt *trainertest.Trainer, n int) {
		arrows := []string{"left", "down", "right"}
		tt.Press(arrows[n%3], arrows[(n/3)%3], arrows[(n+1)%3], []string{"s", "a", "r"}[n%3])
	},
}

func drillOf(t *testing.T, kind exercises.KindID, count int) trainer.Config {
	cfg := trainertest.Practising(t, kind, count)
	cfg.Start.Task = exercises.TraitsOf(kind).Task
	return cfg
}

// The first view of each feedback and of each summary, as a newcomer sees it.
func TestFirstViews(t *testing.T) {
	for kind, answer := range answers {
		for size, o := range map[string]trainertest.Options{"80x24": {Width: 80, Height: 24}, "200x60": {Width: 200, Height: 60}} {
			tt := looking(t, drillOf(t, kind, 6), o)
			for n := range 6 {
				answer(tt, n)
				if n == 1 {
					golden(t, tt, "first-view-"+string(kind)+"-"+size, nil)
				}
				tt.Press("enter").Advance(time.Second)
			}
			golden(t, tt, "summary-"+string(kind)+"-"+size, nil)
		}
	}
}

// terms are the words of a specialist. One that the glossary explains may stand on a
// first view; any other may not.
var terms = []string{"tau-b", "tau", "inversion", "metamerism", "WI_D", "CIEDE2000", "CIELAB", "ΔE", "ΔL", "ΔC", "ΔH", "L*", "C*", "median", "mean",
	"interval", "quartile", "percentile", "confidence", "95 %", "mismatch", "threshold", "perceptibility", "acceptability", "illuminant", "gamut", "observer", "stimulus",
	"staircase", "catch trial", "false alarm", "d′", "variance", "deviation", "excess", "strictness", "gradient", "chromatic", "trend", "lean",
	"value", "chroma", "hue", "shade", "tab", "target", "candidate", "third", "bias", "restoration", "step", "lamp"}

func TestFirstViewsSayNothingTechnical(t *testing.T) {
	var known []string
	for _, w := range trainer.Glossary() {
		known = append(known, strings.ToLower(w.Term), strings.ToLower(w.Means))
	}
	if len(trainer.Glossary()) != 12 {
		t.Errorf("the glossary has %d words", len(trainer.Glossary()))
	}
	explained := strings.Join(known, " ")
	for kind, answer := range answers {
		tt := looking(t, drillOf(t, kind, 12), trainertest.Options{Width: 100, Height: 40})
		check := func() {
			text := strings.ToLower(tt.Text())
			for _, term := range terms {
				if strings.Contains(text, strings.ToLower(term)) && !strings.Contains(explained, strings.ToLower(term)) {
					t.Errorf("%s: %q is not in the glossary:\n%s", kind, term, tt.Text())
				}
			}
		}
		for n := range 12 {
			answer(tt, n)
			tt.Expect("answered")
			check()
			tt.Press("enter").Advance(time.Second)
		}
		tt.Expect("summary")
		check()
	}
}
