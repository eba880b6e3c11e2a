package trainer_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

func TestMouse(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 4)
	tt := looking(t, cfg, trainertest.Options{})
	s := sheet(t)
	name := s.Groups()[1].Name
	x, y := tt.Find(name)
	tt.Click(x+1, y-2).Expect("Step 1 of 2") // the patch above its caption
	tt.Click(x+1, y-2).Expect("Step 2 of 2", "group "+name)
	tt.Wheel(-1)
	x, y = tt.Find("↵")
	tt.Click(x+1, y).Expect("answered")
	a := attempts(t, cfg.Book)
	if len(a) != 1 || a[0].Answer.Group != name {
		t.Errorf("attempts %+v", a)
	}
}

func TestEveryKeyShownDoesSomething(t *testing.T) {
	names := map[string][]string{"← →": {"left", "right"}, "↑ ↓": {"up", "down"}, "Home End": {"home", "end"}, "↵": {"enter"},
		"⌫": {"backspace"}, "Space": {"space"}, "1–9": {"1"}, "1–3": {"1"}, "← ↑ ↓ →": {"left", "right", "up", "down"}, "Esc": {"escape"}}
	stations := map[string]func(*trainertest.Trainer){
		"brief":    func(tt *trainertest.Trainer) {},
		"group":    func(tt *trainertest.Trainer) { tt.Press("enter").Advance(time.Second) },
		"tab":      func(tt *trainertest.Trainer) { tt.Press("enter").Advance(time.Second).Press("enter") },
		"between":  func(tt *trainertest.Trainer) { tt.Press("enter").Advance(time.Second).Press("enter", "h") },
		"covered":  func(tt *trainertest.Trainer) { tt.Press("enter").Advance(9 * time.Second) },
		"feedback": func(tt *trainertest.Trainer) { tt.Press("enter").Advance(time.Second).Press("enter", "enter") },
		"leave":    func(tt *trainertest.Trainer) { tt.Press("enter").Advance(time.Second).Press("enter", "enter", "q") },
		"menu":     func(tt *trainertest.Trainer) { tt.Press("q") },
		"settings": func(tt *trainertest.Trainer) { openSettings(tt.Press("q")) },
	}
	for station, goTo := range stations {
		t.Run(station, func(t *testing.T) {
			start := func() *trainertest.Trainer {
				tt := trainertest.Run(t, practising(t, exercises.ValueFirst, 4), trainertest.Options{})
				goTo(tt)
				return tt
			}
			foot := start().Foot()
			if len(foot) < 2 {
				t.Fatalf("keys shown: %q", foot)
			}
			for _, show := range foot {
				keys, ok := names[show]
				if !ok {
					keys = []string{show}
				}
				if show == "letter" { // of the items, at the left of each
					keys = []string{"t", "v", "a"}
				}
				for _, k := range keys {
					tt := start()
					before := tt.Picture(nil)
					tt.Press(k)
					if ended, _ := tt.Ended(); ended {
						continue
					}
					if tt.Picture(nil) == before {
						t.Errorf("%s at %s changes nothing and says nothing", k, station)
					}
					if tt.Shows("does nothing here") {
						t.Errorf("%s at %s is shown but unknown", k, station)
					}
				}
			}
			tt := start()
			tt.Press("x").Expect("The key “x” does nothing here.")
			tt.Press("f5").Expect("The key F5 does nothing here.")
		})
	}
}

func openSettings(tt *trainertest.Trainer) { choose(tt, "Settings") }

func TestSettingsGoIntoTheNextDrillAndAreRemembered(t *testing.T) {
	book := record.NewMemory()
	cfg := trainer.Config{Book: book, Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed}
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	openSettings(tt)
	tt.Press("down", "left").Expect("Trials in a drill 10")
	tt.Press("down", "left").Expect("Longest look 5 seconds")
	tt.Press("down", "down", "right", "right").Expect("2 cells")
	tt.Press("down", "right").Expect("grey, L* 50")
	if tt.ColourAt(0, 0) != colour.Grey(119) {
		t.Error("the surround is not shown")
	}
	choose(tt.Press("backspace"), "Value first")
	tt.Expect("10 trials", "A look lasts 5 seconds.").Press("enter").Advance(time.Second)
	if tt.ColourAt(0, 0) != colour.Grey(119) {
		t.Error("the surround is not used")
	}
	x, y := tt.Find("candidate")
	gap := 0
	for i := 0; i < x-3; i++ {
		if tt.ColourAt(i, y) == colour.Grey(119) && i > 20 {
			gap++
		}
	}
	if gap != 2 {
		t.Errorf("%d cells between the patches", gap)
	}
	tt.Press("enter", "enter")
	tt.Stop(nil)
	again := trainertest.Run(t, cfg, trainertest.Options{})
	again.Expect("broke off the drill", "after 1 of 10").Press("2")
	openSettings(again)
	again.Expect("Trials in a drill 10", "Longest look 5 seconds", "2 cells", "L* 50")
}

func TestADrillRunsToItsSummary(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 3)
	tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
	for i := range 3 {
		tt.Press("enter", "enter").Expect("answered")
		if i == 0 {
			tt.Press("s").Expect("Paravina et al. 2015").Press("s")
		}
		tt.Press("enter").Advance(time.Second)
	}
	tt.Expect("summary", "3 trials.", "Half of your answers were nearer", "Right: value group")
	s, err := cfg.Book.Sittings(context.Background(), record.Filter{})
	if err != nil || len(s) != 1 || s[0].Ended.IsZero() || s[0].Left {
		t.Errorf("sittings %+v, %v", s, err)
	}
	tt.Press("a").Expect("3 trials").Press("enter").Advance(time.Second).Expect("trial 1 of 3")
	if got, _ := cfg.Book.Sittings(context.Background(), record.Filter{}); len(got) != 2 || got[1].Setup.Seed == got[0].Setup.Seed {
		t.Error("again is not a new drill with new trials")
	}
}

func TestABrokenOffDrillIsOfferedAndGoesOn(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 3)
	tt := looking(t, cfg, trainertest.Options{})
	tt.Press("enter", "enter", "enter").Advance(time.Second).Press("enter")
	closed := errors.New("window closed")
	tt.Stop(closed)
	if ended, err := tt.Ended(); !ended || !errors.Is(err, closed) {
		t.Fatalf("ended %v with %v", ended, err)
	}
	if n := len(attempts(t, cfg.Book)); n != 1 {
		t.Fatalf("%d answers in the book", n)
	}

	again := trainertest.Run(t, trainer.Config{Book: cfg.Book, Learner: "ada invented", SkipDisplay: true}, trainertest.Options{})
	again.Expect("You broke off the drill “Value first”", "after 1 of 3 trials")
	golden(t, again, "resume-100x30", nil)
	again.Press("1").Expect("2 trials to come").Press("enter").Advance(time.Second).Expect("trial 2 of 3")
	again.Press("enter", "enter", "enter").Advance(time.Second).Press("enter", "enter", "enter")
	again.Expect("summary", "3 trials.")
	all := attempts(t, cfg.Book)
	if len(all) != 3 || all[2].Trial.Ordinal != 2 || all[0].Sitting != all[2].Sitting {
		t.Errorf("the book has %d answers", len(all))
	}
}

func TestKeepingWhatWasGiven(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 3)
	tt := looking(t, cfg, trainertest.Options{})
	tt.Press("enter", "enter", "enter")
	tt.Stop(nil)
	again := trainertest.Run(t, trainer.Config{Book: cfg.Book, Learner: "Ada Invented", SkipDisplay: true}, trainertest.Options{})
	again.Press("2").Expect("Settings")
	s, _ := cfg.Book.Sittings(context.Background(), record.Filter{})
	if s[0].Ended.IsZero() || !s[0].Left {
		t.Errorf("sitting %+v", s[0])
	}
}

func TestLeavingADrill(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 3)
	tt := looking(t, cfg, trainertest.Options{})
	tt.Press("enter", "enter", "q").Expect("Your answer is kept. What now?")
	tt.Press("escape").Advance(time.Second).Expect("trial 2 of 3", "Step 1 of 2")
	tt.Press("q").Press("3").Expect("summary", "1 of 3 trials.")
	s, _ := cfg.Book.Sittings(context.Background(), record.Filter{})
	if s[0].Ended.IsZero() || !s[0].Left {
		t.Errorf("sitting %+v", s[0])
	}
}

func TestSilentDrillsGiveNoFeedback(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 2)
	cfg.Start.Silent = true
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	tt.Expect("There is no feedback before the end.").Press("enter").Advance(time.Second)
	tt.Press("enter", "enter").ExpectNot("answered").Advance(time.Second).Expect("trial 2 of 2").Press("enter", "enter").Expect("summary")
}

func TestADrillUnderALampShowsItsSheetUnderIt(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 3)
	cfg.Start.Viewing = exercises.DefaultViewing()
	cfg.Start.Viewing.Light = "a"
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	tt.Expect("Value first under incandescent lamp (A)").Press("enter").Advance(time.Second)
	lamp, err := colour.LightByID("a")
	if err != nil {
		t.Fatal(err)
	}
	under := tabs.NewSheet(library(t), exercises.Under(lamp))
	x, y := tt.Find("L88")
	shown := tt.ColourAt(x+1, y-2)
	if shown == sheet(t).Groups()[0].Shown {
		t.Error("the patch is that of daylight")
	}
	if shown != under.Groups()[0].Shown {
		t.Errorf("%v is not the first group's patch under this lamp", shown)
	}
	sittings, _ := cfg.Book.Sittings(context.Background(), record.Filter{})
	if sittings[0].Setup.SheetID != under.Fingerprint() {
		t.Error("the sitting has another sheet")
	}
}
