package trainer_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// takeTrials answers value-first trials with what is selected at first.
func takeTrials(tt *trainertest.Trainer, n int) {
	for range n {
		tt.Advance(time.Second).Press("enter", "enter")
	}
}

// From the menu: the form is chosen, its parts follow each other without a word of
// feedback, a closed window loses nothing, and at the end stands the certificate.
func TestExamFromTheMenu(t *testing.T) {
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	choose(tt, "Proficiency test")
	golden(t, tt, "exam-80x24", nil)
	tt.Press("1").Expect("part 1 of 2", "20 trials", "There is no feedback before the end.").Press("enter")
	takeTrials(tt, 5)
	tt.Advance(time.Second).ExpectNot("answered").Expect("trial 6 of 20")
	tt.Press("q").Expect("end it here for good: it is done once, and counts as broken off").Press("escape")
	tt.Stop(errors.New("window closed"))

	tt = trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Press("3") // later: until it is over it has no certificate
	choose(tt, "Proficiency test")
	tt.Expect("Go on with form own-1").ExpectNot("Certificate").Press("q", "q")
	tt = trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Expect("You broke off the proficiency test, form own-1, part 1 of 2", "after 5 of 20", "end it here for good: it is done once, and counts as broken off").Press("1", "enter")
	takeTrials(tt, 15)
	tt.Advance(time.Second).Expect("part 2 of 2", "20 trials").Press("enter")
	takeTrials(tt, 20)
	tt.Advance(time.Second).Expect("Certificate", "Proficiency test, form own-1: Ada", "40 answers in 2 sittings", "answers right")
	tt.Press("left").Expect("The key ← does nothing here.")
	if flat := strings.Join(strings.Fields(tt.Text()), " "); !strings.Contains(flat, "of the 20 items with any tooth colour") {
		tt.Press("page down").Expect("of the 20 items with any tooth colour")
	}
	tt.Press("end").Expect(`shadedrill exam report --form own-1 --learner "Ada" -o certificate.html`)

	// Every sitting of it has the form's conditions and nothing adapts.
	forms, err := cfg.Book.Forms(context.Background())
	if err != nil || len(forms) != 1 {
		t.Fatal(forms, err)
	}
	sittings, err := cfg.Book.Sittings(context.Background(), record.Filter{Within: forms[0].Set().Ref.String()})
	if err != nil || len(sittings) != 2 {
		t.Fatalf("%d sittings, %v", len(sittings), err)
	}
	for _, s := range sittings {
		if s.Setup.Adaptive || !s.Setup.Silent || s.Setup.Count != 20 || s.Setup.Seed != 0 || s.Ended.IsZero() || s.Left {
			t.Errorf("sitting %+v", s)
		}
	}

	// The certificate is found again; the form is not offered a second time, but a new one.
	choose(tt.Press("enter"), "Proficiency test")
	choose(tt.ExpectNot("form own-2").Expect("Certificate of form own-1"), "Certificate of form own-1")
	tt.Expect("40 answers in 2 sittings").Press("enter")
	choose(tt, "Proficiency test")
	tt.Press("1").Expect("form own-2", "part 1 of 2").Press("q").Expect("Settings")
	choose(tt, "Proficiency test")
	choose(tt.Expect("Take form own-2").ExpectNot("Draw a new form"), "Take form own-2")
	tt.Expect("part 1 of 2")
}

// A form that was laid down for a class is offered to its members alone.
func TestFormsOfAClassAreForItsMembers(t *testing.T) {
	ctx := context.Background()
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true}
	ada := recordtest.Person(t, cfg.Book, "Ada")
	mine, others := recordtest.Class(t, cfg.Book, "Monday", ada), recordtest.Class(t, cfg.Book, "Tuesday")
	for name, class := range map[string]scoring.ClassID{"spring": mine.ID, "autumn": others.ID, "open-day": ""} {
		form := recordtest.Form(t, name, 1, 4, sheet(t), exercises.ValueFirst)
		form.Class = class
		if _, err := record.LayDown(ctx, cfg.Book, form); err != nil {
			t.Fatal(err)
		}
	}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	choose(tt, "Proficiency test")
	tt.Expect("Take form spring", "Take form open-day").ExpectNot("autumn")
}

// A form that was taken with another number of items is refused under its name.
func TestExamOfOneNameAsksOneThing(t *testing.T) {
	e, err := scoring.StandardTest("A", 4)
	if err != nil {
		t.Fatal(err)
	}
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Set: &e}
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	tt.Press("enter")
	takeTrials(tt, 4)
	tt.Advance(time.Second).Expect("part 2 of 2").Press("q").Expect("Settings")
	other, _ := scoring.StandardTest("A", 8)
	cfg.Set = &other
	again := trainertest.Run(t, cfg, trainertest.Options{})
	again.Expect("This form cannot be taken.", "taken before with 4 items of value first", "or under another name")
	if !strings.Contains(again.Text(), "fingerprint") {
		t.Error("the library is not named")
	}
}

// A form of named exercises that was broken off goes on from the trainer's own offer
// to its other parts, as the command does; and where the window closed between two
// parts, the page of the test offers the rest.
func TestExamOfNamedExercisesGoesOn(t *testing.T) {
	form, err := scoring.NewTestOf("spring", []exercises.KindID{exercises.ValueFirst, exercises.LineUp, exercises.TryIn}, 4, sheet(t))
	if err != nil {
		t.Fatal(err)
	}
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Set: &form}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Expect("part 1 of 3").Press("enter")
	takeTrials(tt, 2)
	tt.Stop(errors.New("window closed"))

	cfg.Set = nil
	tt = trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	tt.Expect("the proficiency test, form spring, part 1 of 3", "after 2 of 4").Press("1").Expect("2 trials to come").Press("enter")
	takeTrials(tt, 2)
	tt.Advance(time.Second).Expect("Line-up, proficiency test, form spring, part 2 of 3", "4 trials")
	tt.Stop(errors.New("window closed"))

	tt = trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	choose(tt, "Proficiency test")
	choose(tt.Expect("Go on with form spring"), "Go on with form spring")
	tt.Expect("Line-up", "part 2 of 3").Press("enter")
	for range 4 {
		tt.Advance(time.Second).Press("enter", "enter")
	}
	tt.Advance(time.Second).Expect("Try-in", "part 3 of 3").Press("enter")
	for range 4 {
		tt.Advance(time.Second).Press("2", "2", "2", "s")
	}
	tt.Advance(time.Second).Expect("Certificate", "form spring: Ada", "12 answers in 3 sittings")
	choose(tt.Press("enter"), "Proficiency test")
	tt.ExpectNot("Go on with form")
}

// A library that was asked for is taken, whatever the last drill was done with.
func TestLibraryAskedForIsTaken(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 1)
	builtin, err := tabs.Load("starter")
	if err != nil {
		t.Fatal(err)
	}
	cfg.Libraries = append([]*tabs.Library{builtin}, cfg.Libraries...)
	plain := cfg
	plain.Count, plain.Start = 0, &exercises.Setup{Kind: exercises.ValueFirst} // nothing asked for this once
	first := looking(t, plain, trainertest.Options{})
	first.Press("enter", "enter").Stop(nil)
	cfg.Libraries[0], cfg.Libraries[1] = cfg.Libraries[1], cfg.Libraries[0]
	for _, chosen := range []bool{false, true} {
		cfg.LibraryChosen = chosen
		cfg.Start.Sheet, cfg.Start.SheetID = nil, ""
		tt := trainertest.Run(t, cfg, trainertest.Options{})
		tt.Press("3", "enter").Advance(time.Second) // another time: the first drill is still under way
		sittings, err := cfg.Book.Sittings(context.Background(), record.Filter{})
		if err != nil {
			t.Fatal(err)
		}
		taken := sittings[len(sittings)-1].Setup.SheetID
		if want := tabs.NewSheet(builtin, nil).Fingerprint(); !chosen && taken != want {
			t.Error("without a choice the library of last time is not taken")
		}
		if want := tabs.NewSheet(cfg.Libraries[0], nil).Fingerprint(); chosen && taken != want {
			t.Error("the library asked for is not taken")
		}
		tt.Press("enter", "enter").Stop(nil)
	}
}

// A form that was drawn and left before its first answer is still to be taken, and has no
// certificate.
func TestNoCertificateOfAFormThatWasLeftUnanswered(t *testing.T) {
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed}
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24})
	choose(tt, "Proficiency test")
	tt.Press("1").Expect("part 1 of 2").Press("q").Expect("Settings")
	choose(tt, "Proficiency test")
	tt.Expect("Take form own-1").ExpectNot("Certificate of", "Go on with")
}
