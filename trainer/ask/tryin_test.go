package ask_test

import (
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/trainer/trainertest"
)

func TestTryIn(t *testing.T) {
	cfg := practising(t, exercises.TryIn, 12)
	cfg.Seed = &offInSomething
	tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
	trial := firstTrial(t, cfg)
	back, _ := exercises.DeliveredOf(trial)
	seen := tt.Swatches()
	if seen[trial.Target] < 100 || seen[trial.Target] != seen[back] {
		t.Errorf("the pair has %d and %d cells", seen[trial.Target], seen[back])
	}
	tt.Expect("Value: is what came back darker, the same, or lighter?", "prescribed", "came back", "▸ value").ExpectNot("●")
	golden(t, tt, "tryin-80x24", namesOf(sheet(t), trial))
	tt.Press("backspace").Expect("nothing to go back to").Press("enter").Expect("Answer with one of the keys").Press("7").Expect("three answers")
	tt.Advance(time.Second/2).Press("right").Expect("Chroma: has what came back less", "● lighter", "▸ chroma")
	tt.Press("backspace").Expect("▸ value").Press("left").Expect("● darker", "▸ chroma")
	tt.Press("2").Expect("Hue: is what came back redder").Press("s").Expect("The verdict comes last").Press("right").Expect("Verdict: seat it")
	tt.Press("right").Expect("The verdict is given with its letter")
	golden(t, tt, "tryin-verdict-80x24", namesOf(sheet(t), trial))
	tt.Advance(time.Second).Press("a")
	tt.Expect("What came back is", "For the laboratory:").Press("n").Expect("Direction of value:", "Direction of chroma:", "Direction of hue:", "Verdict:").Press("n")
	golden(t, tt, "tryin-answered-80x24", namesOf(sheet(t), trial))
	a := attempts(t, cfg.Book)[0].Answer
	if a.Directions == nil || *a.Directions != (exercises.Directions{Value: -1, Chroma: 0, Hue: 1}) || a.Choice != exercises.Adjust {
		t.Errorf("answer %+v, %+v", a, a.Directions)
	}
	if a.First >= a.Total || a.Total != 3*time.Second/2 {
		t.Errorf("first decision after %v, answer after %v", a.First, a.Total)
	}

	// By mouse: a word of the row asked answers it, one of an earlier row changes
	// it, one of a later row waits.
	tt.Press("enter").Advance(time.Second).Expect("trial 2 of 12")
	x, y := tt.Find("  seat it")
	tt.Click(x+3, y).Expect("One after the other: value comes first.")
	click := func(word string) {
		x, y := tt.Find(word)
		tt.Click(x+2, y)
	}
	click("○ lighter")
	tt.Expect("● lighter")
	click("○ less chroma")
	click("○ redder")
	tt.Expect("● redder", "▸ verdict")
	click("  darker")
	tt.Expect("● darker", "● less chroma", "▸ verdict").ExpectNot("● lighter")
	click("○ remake it")
	if a := attempts(t, cfg.Book)[1].Answer; *a.Directions != (exercises.Directions{Value: -1, Chroma: -1, Hue: -1}) || a.Choice != exercises.Remake {
		t.Errorf("answer %+v, %+v", a, a.Directions)
	}

	// Covered, neither can be seen and all can still be said.
	cfg.Learner = "Another Invented"
	cfg.Start.Viewing = exercises.DefaultViewing()
	tt = looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Advance(8*time.Second).Expect("time is up", "▸ value")
	for c := range tt.Swatches() {
		if c.R != c.G || c.G != c.B {
			t.Errorf("%v can still be seen", c)
		}
	}
	tt.Press("down", "down", "down", "s", "n").Expect("The answer came after the look had ended")
}

// offInSomething is a seed whose first case is none of the identical ones.
var offInSomething = uint64(4)

// Every feedback of a drill says what to ask the laboratory for, and fits a small
// window.
func TestTryInFeedbackFits(t *testing.T) {
	cfg := practising(t, exercises.TryIn, 24)
	tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
	asked := map[string]int{}
	for i := range 24 {
		tt.Press("1", "3", "1", "r").Expect("answered", "What came back is")
		text := strings.Join(strings.Fields(tt.Text()), " ")
		_, rest, found := strings.Cut(text, "For the laboratory: ")
		if !found { // within perceptibility nothing is asked for
			asked["nothing to change"]++
			rest = "nothing. "
		}
		request, _, complete := strings.Cut(rest, ". ")
		if !complete {
			t.Errorf("trial %d: the request is cut off:\n%s", i+1, tt.Text())
		}
		for _, word := range []string{"nothing to change", "acceptable; to come closer", "value", "chroma", "hue"} {
			if strings.Contains(request, word) {
				asked[word]++
			}
		}
		tt.Press("enter").Advance(time.Second)
	}
	if len(asked) != 5 {
		t.Errorf("24 cases gave the requests %v", asked)
	}
	tt.Expect("summary", "24 trials.", "of 96 judgements right")
}
