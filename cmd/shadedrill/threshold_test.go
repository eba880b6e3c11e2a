package main

import (
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// sit answers a threshold drill trial by trial into the world's book, and leaves it
// after so many answers.
func (w *world) sit(t *testing.T, setup exercises.Setup, answers int, answer func(exercises.Trial, *rand.Rand) string) {
	t.Helper()
	ctx := context.Background()
	book, err := openBook(ctx, w.vars["SHADEDRILL_BOOK"])
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	who, err := book.LearnerByName(ctx, "Ada Invented")
	if err != nil {
		if who, err = book.AddLearner(ctx, scoring.Learner{Name: "Ada Invented", At: w.now()}); err != nil {
			t.Fatal(err)
		}
	}
	at := w.now()
	clock := func() time.Time { at = at.Add(2 * time.Second); return at }
	setup.Kind, setup.Version, setup.Seed = exercises.Threshold, 1, 5
	d, err := record.Begin(ctx, book, scoring.Sitting{ID: record.NewSittingID(at), Learner: who.ID, Started: at, Setup: setup}, clock)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(9, 9))
	for range answers {
		trial, ok := d.Trial()
		if !ok {
			break
		}
		if _, _, err := d.Answer(ctx, exercises.Answer{Choice: answer(trial, rng), Total: time.Second}); err != nil {
			t.Fatal(err)
		}
	}
	_, more := d.Trial()
	if err := d.End(ctx, more); err != nil {
		t.Fatal(err)
	}
}

// estimated is a statistic as JSON has it.
type estimated struct {
	Value, Lo, Hi *float64
	N             int
	Warnings      []string
}

type printedThresholds struct {
	Thresholds []struct {
		Task, Direction string
		Threshold       estimated `json:"threshold_dE00"`
		Bootstrap       estimated `json:"bootstrap_dE00"`
		Corrected       estimated `json:"corrected_dE00"`
		Sensitivity     estimated `json:"d_prime_1_dE00"`
		Published       float64   `json:"published_dE00"`
		Smallest        float64   `json:"smallest_dE00"`
	}
	Answers []struct {
		Direction   string
		FalseAlarms estimated `json:"false_alarms"`
		Slope       estimated
	}
}

func (w *world) thresholds(t *testing.T, args ...string) (printedThresholds, string) {
	t.Helper()
	if code := w.run(append([]string{"threshold", "--format", "json", "--draws", "40"}, args...)...); code != 0 {
		t.Fatal(w.err.String())
	}
	var p printedThresholds
	if err := json.Unmarshal(w.out.Bytes(), &p); err != nil {
		t.Fatalf("%v\n%s", err, w.out.String())
	}
	if code := w.run(append([]string{"threshold", "--format", "text", "--draws", "0"}, args...)...); code != 0 {
		t.Fatal(w.err.String())
	}
	return p, w.out.String()
}

// Answers that say nothing give words and no number, from the book to the page.
func TestBadDaysGiveWordsInPlaceOfThresholds(t *testing.T) {
	coin := func(a, b string) func(exercises.Trial, *rand.Rand) string {
		return func(_ exercises.Trial, rng *rand.Rand) string {
			if rng.IntN(2) == 0 {
				return a
			}
			return b
		}
	}
	always := func(word string) func(exercises.Trial, *rand.Rand) string {
		return func(exercises.Trial, *rand.Rand) string { return word }
	}
	for name, c := range map[string]struct {
		task    string
		answers int
		answer  func(exercises.Trial, *rand.Rand) string
		words   string
	}{
		"at random, which":     {exercises.TaskWhich, 120, coin(exercises.Left, exercises.Right), "given at random"},
		"at random, different": {exercises.TaskDifferent, 120, coin(exercises.Differ, exercises.Same), "at random"},
		"at random, accept":    {exercises.TaskAccept, 120, coin(exercises.Leave, exercises.Change), "at random"},
		"one key, which":       {exercises.TaskWhich, 120, always(exercises.Left), "the same key was pressed every time"},
		"one key, different":   {exercises.TaskDifferent, 120, always(exercises.Differ), "the same answer was given every time"},
		"the other, different": {exercises.TaskDifferent, 120, always(exercises.Same), "the same answer was given every time"},
		"one key, accept":      {exercises.TaskAccept, 120, always(exercises.Leave), "the same answer was given every time"},
		"three trials, which":  {exercises.TaskWhich, 3, coin(exercises.Left, exercises.Right), "needs at least 20 answers to pairs that differ, has 3"},
		"three trials, accept": {exercises.TaskAccept, 3, coin(exercises.Leave, exercises.Change), "needs at least 20 answers"},
		"nothing but rubbish":  {exercises.TaskAccept, 60, always("rubbish"), "the same answer was given every time"},
	} {
		t.Run(name, func(t *testing.T) {
			w := newWorld(t)
			w.sit(t, exercises.Setup{Task: c.task, Count: 120}, c.answers, c.answer)
			p, text := w.thresholds(t)
			if len(p.Thresholds) != 4 {
				t.Fatalf("%d rows", len(p.Thresholds))
			}
			for i, row := range p.Thresholds {
				for what, e := range map[string]estimated{"threshold": row.Threshold, "bootstrap": row.Bootstrap, "corrected": row.Corrected,
					"d′ = 1": row.Sensitivity, "slope": p.Answers[i].Slope} {
					if e.Value != nil || e.Lo != nil || e.Hi != nil {
						t.Errorf("%s: %s is %v", row.Direction, what, *e.Value)
					}
					if len(e.Warnings) == 0 {
						t.Errorf("%s: nothing is said of why there is no %s", row.Direction, what)
					}
				}
			}
			if all := strings.Join(p.Thresholds[0].Threshold.Warnings, "; "); !strings.Contains(all, c.words) {
				t.Errorf("said %q, want something of %q", all, c.words)
			}
			flat := strings.Join(strings.Fields(text), " ")
			if !strings.Contains(flat, c.words) || !strings.Contains(text, "undefined") {
				t.Errorf("the page does not say %q:\n%s", c.words, text)
			}
			if c.answers > 60 {
				return
			}
			if code := w.run("progress"); code != 0 || !strings.Contains(w.out.String(), "Thresholds over time") {
				t.Errorf("progress: exit code %d\n%s%s", code, w.out.String(), w.err.String())
			}
		})
	}
}

// A person who sees half of the differences of 1.2 ΔE00, after calling a fifth of
// identical pairs different, is measured so, beside the published value, with cautions at every number.
func TestThresholdFromTheBook(t *testing.T) {
	w := newWorld(t)
	sees := func(trial exercises.Trial, rng *rand.Rand) string {
		// ½ at 1.2: 0.2 + 0.8·0.375.
		if rng.Float64() < 0.2-0.8*math.Expm1(math.Log1p(-0.375)*math.Pow(trial.Level/1.2, 4)) {
			return exercises.Differ
		}
		return exercises.Same
	}
	w.sit(t, exercises.Setup{Task: exercises.TaskDifferent, Count: 240, Viewing: exercises.Viewing{Gap: 2}}, 240, sees)
	p, text := w.thresholds(t)
	for i, row := range p.Thresholds {
		e := row.Threshold
		if e.Value == nil || *e.Lo > 1.2 || *e.Hi < 1.2 || *e.Hi > 2 {
			t.Errorf("%s: %v (%v to %v), want an interval around 1.2: %v", row.Direction, e.Value, e.Lo, e.Hi, e.Warnings)
			continue
		}
		for what, e := range map[string]estimated{"threshold": e, "bootstrap": row.Bootstrap, "corrected": row.Corrected, "d′ = 1": row.Sensitivity} {
			if e.Value != nil && !strings.Contains(strings.Join(e.Warnings, ";"), "not a clinical value") {
				t.Errorf("%s: %s %v stands without its caution: %v", row.Direction, what, *e.Value, e.Warnings)
			}
			if e.Value == nil {
				t.Errorf("%s: no %s: %v", row.Direction, what, e.Warnings)
			}
		}
		if row.Published != 0.8 || !(row.Smallest > 0.2 && row.Smallest < 0.4) {
			t.Errorf("%s: published %v, smallest %v", row.Direction, row.Published, row.Smallest)
		}
		if f := p.Answers[i].FalseAlarms; f.Value == nil || *f.Lo > 0.2 || *f.Hi < 0.2 || f.N != 48 {
			t.Errorf("false alarms %v (%v to %v) of %d, want about 0.2 of 48", f.Value, f.Lo, f.Hi, f.N)
		}
	}
	for _, words := range []string{"gap of 2 cells", "Paravina et al.", "fitted curve", "┊", "⠤", "relative to this screen", "yes/no model", "differencing"} {
		if !strings.Contains(text, words) {
			t.Errorf("the page lacks %q:\n%s", words, text)
		}
	}
	if code := w.run("threshold", "--format", "html", "--draws", "0"); code != 0 || strings.Count(w.out.String(), "<svg") < 4 {
		t.Errorf("html: exit code %d, %d pictures", code, strings.Count(w.out.String(), "<svg"))
	}
	if code := w.run("threshold", "--format", "csv", "--section", "course", "--draws", "0"); code != 0 || !strings.HasPrefix(w.out.String(), "day,task,gap,answers,overall,") {
		t.Errorf("csv: exit code %d\n%s%s", code, w.out.String(), w.err.String())
	}
}

// Nobody's threshold is put below what the screen can show.
func TestNoThresholdBelowTheSmallestStep(t *testing.T) {
	w := newWorld(t)
	w.sit(t, exercises.Setup{Task: exercises.TaskDifferent, Count: 240}, 240, func(trial exercises.Trial, rng *rand.Rand) string {
		if trial.Level > 0.1 && rng.Float64() < 0.97 {
			return exercises.Differ
		}
		return exercises.Same
	})
	p, text := w.thresholds(t)
	for _, row := range p.Thresholds {
		if e := row.Threshold; e.Value != nil {
			t.Errorf("%s: %v, though every step that the screen has was seen", row.Direction, *e.Value)
		} else if all := strings.Join(e.Warnings, "; "); !strings.Contains(all, "below") {
			t.Errorf("%s: said %q", row.Direction, all)
		}
	}
	if !strings.Contains(text, "smallest step") {
		t.Error(text)
	}
}

func TestThresholdPrintsOrMeasuresNotBoth(t *testing.T) {
	w := newWorld(t)
	for _, args := range [][]string{
		{"threshold", "--format", "text", "--task", "which"},
		{"threshold", "-o", "x.html", "--gap", "2"},
		{"threshold", "--draws", "-1"},
		{"threshold", "--format", "nonsense"},
		{"threshold", "--from", "yesterday"},
	} {
		if code := w.run(args...); code != 2 || !strings.Contains(w.err.String(), "hint: ") {
			t.Errorf("%q: exit code %d, %s", args, code, w.err.String())
		}
	}
	if code := w.run("threshold", "--format", "text"); code != 1 || !strings.Contains(w.err.String(), "there is no book") {
		t.Errorf("without a book: exit code %d, %s", code, w.err.String())
	}
}
