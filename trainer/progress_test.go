package trainer_test

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// natural is the usual library in daylight.
func natural(t *testing.T) *tabs.Sheet {
	l, err := tabs.Load("natural")
	if err != nil {
		t.Fatal(err)
	}
	return tabs.NewSheet(l, nil)
}

// practisedBook is a book in which Ada has practised for ten weeks, with days left out,
// and sees better and better. Simulated.
func practisedBook(t *testing.T, until time.Time) record.Book {
	t.Helper()
	ctx := context.Background()
	book := record.NewMemory()
	ada, err := book.AddLearner(ctx, scoring.Learner{Name: "Ada", At: until.AddDate(0, 0, -80)})
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(4, 4))
	sheet := natural(t)
	kinds := []exercises.KindID{exercises.ValueFirst, exercises.Halfway, exercises.LineUp}
	for day := 70; day > 0; day -= 1 + rng.IntN(3) {
		now := until.AddDate(0, 0, -day)
		for _, id := range kinds[:1+rng.IntN(3)] {
			kind, err := exercises.ByID(id)
			if err != nil {
				t.Fatal(err)
			}
			s := exercises.Setup{Kind: id, Seed: rng.Uint64(), Count: 6 + rng.IntN(8), Sheet: sheet, Viewing: exercises.DefaultViewing()}
			drill, err := record.Begin(ctx, book, scoring.Sitting{Learner: ada.ID, Setup: s}, func() time.Time { return now })
			if err != nil {
				t.Fatal(err)
			}
			who := observer.Observer{Noise: 0.6 + float64(day)/60, BiasL: 0.5}
			for trial, ok := drill.Trial(); ok; trial, ok = drill.Trial() {
				now = now.Add(15 * time.Second)
				a := kind.Simulate(trial, s, who, rng)
				a.Total = 7 * time.Second
				if _, _, err := drill.Answer(ctx, a); err != nil {
					t.Fatal(err)
				}
			}
			if err := drill.End(ctx, false); err != nil {
				t.Fatal(err)
			}
		}
	}
	return book
}

// What a learner sees of their progress is on one screen; the tables stand behind a key.
func TestProgressIsOneScreen(t *testing.T) {
	cfg := trainer.Config{Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed, Book: record.NewMemory()}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	choose(tt, "Progress")
	tt.Expect("No answers yet.", "from a dozen on", "0 days of the last twelve weeks", "Next: value first", "t tables")
	golden(t, tt, "progress-empty-80x24", nil)

	cfg.Book = practisedBook(t, tt.Now())
	tt = trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	choose(tt, "Progress")
	tt.Expect("Half of your shades would lie within", "a month ago", "Best level so far", "Bias: your answers are too light", "12 weeks,", "Next: ")
	golden(t, tt, "progress-80x24", nil)
	golden(t, tt.Resize(200, 60), "progress-200x60", nil)
	tt.Press("t").Expect("Progress, tables", "How large the errors are").Press("backspace").Expect("Half of your shades").Press("q").Expect("Settings")
	tt.Resize(80, 24).Press("t").Expect("Today's practice")
	golden(t, tt, "today-later-80x24", nil)
	golden(t, tt.Resize(200, 60), "today-later-200x60", nil)
}
