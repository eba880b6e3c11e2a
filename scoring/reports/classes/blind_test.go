package classes

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report/reporttest"
	"shadedrill/scoring/reports/learners"
)

// Whoever answers blindly, or always the same, and stops after a few answers, has
// reports like everybody: none may break on what it cannot tell.
func TestFewBlindAnswersBreakNoReport(t *testing.T) {
	ctx := context.Background()
	sheet := reporttest.Sheet(t, "natural")
	for seed := range uint64(12) {
		rng := rand.New(rand.NewPCG(seed, 5))
		book := record.NewMemory()
		class := Scope{Name: "Monday group"}
		now := classStart
		clock := func() time.Time { now = now.Add(7 * time.Second); return now }
		for _, name := range []string{"Person 01", "Person 02"} {
			who, err := book.AddLearner(ctx, scoring.Learner{Name: name, At: clock()})
			if err != nil {
				t.Fatal(err)
			}
			class.People = append(class.People, who)
			for _, kind := range exercises.Kinds() {
				setup := exercises.Setup{Kind: kind.ID(), Seed: rng.Uint64(), Count: 12, Sheet: sheet}
				if kind.ID() == exercises.Threshold {
					setup.Task = exercises.TaskWhich
				}
				blind(t, book, who, kind, setup, rng, clock)
			}
		}
		if _, err := Report(ctx, book, class, record.Filter{}, "", false); err != nil {
			t.Errorf("the review: %v", err)
		}
		if _, err := Effect(ctx, book, class, nil, record.Filter{}); err != nil {
			t.Errorf("the effect: %v", err)
		}
		for _, who := range class.People {
			if _, err := learners.Progress(ctx, book, who, record.Filter{}, now, false); err != nil {
				t.Errorf("progress: %v", err)
			}
			if _, err := learners.GlanceOf(ctx, book, who.ID, now); err != nil {
				t.Errorf("a glance: %v", err)
			}
			if _, err := learners.MistakesOf(ctx, book, who.ID, now); err != nil {
				t.Errorf("mistakes: %v", err)
			}
			if _, err := learners.PracticeDay(ctx, book, who.ID, now, now, 10, func(exercises.KindID) bool { return true }); err != nil {
				t.Errorf("the day's plan: %v", err)
			}
		}
	}
}

// blind answers a few trials of an exercise without a look, or with the lightest tab
// whatever is asked.
func blind(t *testing.T, book record.Book, who scoring.Learner, kind exercises.Kind, setup exercises.Setup, rng *rand.Rand, clock func() time.Time) {
	t.Helper()
	ctx := context.Background()
	drill, err := record.Begin(ctx, book, scoring.Sitting{Learner: who.ID, Setup: setup}, clock)
	if err != nil {
		t.Fatalf("%s: %v", kind.ID(), err)
	}
	same := kind.ID() == exercises.ValueFirst && rng.IntN(2) == 0
	for range 1 + rng.IntN(4) {
		trial, ok := drill.Trial()
		if !ok {
			break
		}
		answer := kind.Simulate(trial, drill.Sitting().Setup, observer.Observer{Noise: 40}, rng)
		if same {
			answer = exercises.TakeTab(setup.Sheet, 0, -1)
		}
		if _, _, err := drill.Answer(ctx, answer); err != nil {
			t.Fatalf("%s: %v", kind.ID(), err)
		}
	}
	if err := drill.End(ctx, true); err != nil {
		t.Fatal(err)
	}
}

// A class that has only just been made, with nobody in it or with people who have not
// begun, has sound reports that name no day on which nothing was.
func TestAClassThatHasNotBegun(t *testing.T) {
	ctx := context.Background()
	book := record.NewMemory()
	class := Scope{Name: "Monday group", Idle: 14 * 24 * time.Hour}
	for _, name := range []string{"", "Person 01", "Person 02", "Person 03"} {
		if name != "" {
			who, err := book.AddLearner(ctx, scoring.Learner{Name: name, At: classStart})
			if err != nil {
				t.Fatal(err)
			}
			class.People = append(class.People, who)
		}
		review, err := Report(ctx, book, class, record.Filter{}, Orders()[0], false)
		if err != nil {
			t.Fatal(err)
		}
		reporttest.Sound(t, "the review", review)
		effect, err := Effect(ctx, book, class, nil, record.Filter{})
		if err != nil {
			t.Fatal(err)
		}
		reporttest.Sound(t, "the effect", effect)
	}
}
