package trainer_test

import (
	"context"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// session lays down a calibration session of two shades, each shown twice, and
// gives the configuration of somebody who has settings of their own.
func session(t *testing.T) (trainer.Config, record.Panel) {
	t.Helper()
	ctx := context.Background()
	cfg := practising(t, exercises.ValueFirst, 7)
	cfg.Start = nil
	own := exercises.Viewing{Limit: 3 * time.Second, Rest: 5 * time.Second, Gap: 9, Surround: colour.Grey(90)}
	cfg.Viewing = &own
	sheet := tabs.NewSheet(library(t), nil)
	if err := cfg.Book.PutSheet(ctx, sheet); err != nil {
		t.Fatal(err)
	}
	kind, err := exercises.ByID(exercises.ValueFirst)
	if err != nil {
		t.Fatal(err)
	}
	p, err := cfg.Book.AddPanel(ctx, record.Panel{Name: "Spring team", At: time.Date(2030, 3, 1, 12, 0, 0, 0, time.UTC),
		Setup: exercises.Setup{Kind: kind.ID(), Version: kind.Version(), Seed: 3, Count: 2, Repeats: 2, Targets: exercises.NaturalTargets,
			Silent: true, Sheet: sheet}}) // no limit, no rest, edge to edge on black
	if err != nil {
		t.Fatal(err)
	}
	return cfg, p
}

// part is how far the tests' person has come.
func part(t *testing.T, book record.Book, p record.Panel) record.Progress {
	t.Helper()
	who, err := book.LearnerByName(context.Background(), "Ada Invented")
	if err != nil {
		t.Fatal(err)
	}
	part, err := record.ProgressOf(context.Background(), book, p.Set(), who.ID)
	if err != nil {
		t.Fatal(err)
	}
	return part
}

func asked(p record.Panel, s exercises.Setup) bool {
	_, ok := p.Set().Part(s)
	return ok
}

// The conditions are the lead's, whatever settings a person has; there is no
// feedback before the end; a session is broken off, found again and taken once.
func TestPanelIsTakenAsItWasLaidDown(t *testing.T) {
	cfg, p := session(t)
	set := p.Set()
	cfg.Set = &set
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	tt.Expect("calibration session Spring team", "4 trials", "There is no feedback before the end.").ExpectNot("A look lasts").ExpectNot("Between the trials")
	tt.Press("enter").Expect("trial 1 of 4").Press("enter", "enter").Expect("trial 2 of 4").ExpectNot("answered")
	tt.Press("q").Expect("Your answer is kept.").Press("down", "enter") // another time
	tt.Expect("Calibration session Spring team", "broken off").Expect("You broke it off after 1 answer.")
	setup := part(t, cfg.Book, p).Parts[0].Sitting.Setup
	if setup.Viewing != (exercises.Viewing{}) || setup.Count != 2 || setup.OrderSeed == 0 || !asked(p, setup) {
		t.Errorf("asked was %+v", setup)
	}

	// From the command line it goes on where it was left.
	tt = trainertest.Run(t, cfg, trainertest.Options{})
	tt.Expect("3 trials to come").Press("enter").Expect("trial 2 of 4")
	tt.Press("enter", "enter", "enter", "enter", "enter", "enter").Expect("summary", "4 trials.")
	tt.Press("a").Expect("taken once").Press("enter").ExpectNot("Calibration session")
	if got := part(t, cfg.Book, p); !got.Over() || got.Given() != 4 {
		t.Errorf("after the end: %+v", got)
	}
	items := map[string]int{}
	for _, a := range attempts(t, cfg.Book) {
		items[a.Trial.Item]++
	}
	if len(items) != 2 || items["001"] != 2 || items["002"] != 2 {
		t.Errorf("items shown: %v", items)
	}

	tt = trainertest.Run(t, cfg, trainertest.Options{})
	tt.Expect("This calibration session cannot be taken.", "Ada Invented took", "hint: a session is taken once").Press("m").Expect("Value first")
}

// A session that was broken off is offered at the next start under its name.
func TestPanelBrokenOffIsOffered(t *testing.T) {
	cfg, p := session(t)
	set := p.Set()
	cfg.Set = &set
	trainertest.Run(t, cfg, trainertest.Options{}).Press("enter", "enter", "enter", "ctrl-c")
	cfg.Set = nil
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	tt.Expect("You broke off the calibration session Spring team", "after 1 of 4 trials")
	tt.Press("3").Expect("Calibration session Spring team").Press("enter").Expect("3 trials to come")
}

// Leaving before the first answer takes nothing away, and closing stops those who
// have not begun.
func TestPanelLeftAtOnceAndClosed(t *testing.T) {
	cfg, p := session(t)
	set := p.Set()
	cfg.Set = &set
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	tt.Expect("calibration session Spring team").Press("q").Expect("Calibration session Spring team")
	if got := part(t, cfg.Book, p); got.Begun() {
		t.Errorf("a session without an answer counts as begun: %+v", got)
	}
	if err := cfg.Book.ClosePanel(context.Background(), p.Name, time.Date(2030, 3, 2, 12, 0, 0, 0, time.UTC)); err != nil {
		t.Fatal(err)
	}
	cfg.Set.Closed = time.Date(2030, 3, 2, 12, 0, 0, 0, time.UTC)
	tt = trainertest.Run(t, cfg, trainertest.Options{})
	tt.Expect("closed on 2 March 2030", "takes nobody new").Press("m").ExpectNot("Calibration session")
}

// What another book asked under the same name is another session.
func TestPanelOfAnotherBook(t *testing.T) {
	cfg, p := session(t)
	ctx := context.Background()
	who, err := cfg.Book.AddLearner(ctx, scoring.Learner{Name: "Ada Invented", At: p.At})
	if err != nil {
		t.Fatal(err)
	}
	other := p
	other.Setup.Seed++
	clock := func() time.Time { return p.At }
	d, err := record.Take(ctx, cfg.Book, other.Set(), who, scoring.DisplayCheck{}, clock)
	if err != nil {
		t.Fatal(err)
	}
	answered := colour.SRGB{R: 200, G: 190, B: 150}
	if _, _, err := d.Answer(ctx, exercises.Answer{Colour: &answered, Tab: "L82 C15 h82"}); err != nil {
		t.Fatal(err)
	}
	if got := part(t, cfg.Book, p); got.Begun() {
		t.Errorf("a sitting with another seed counts: %+v", got)
	}
}
