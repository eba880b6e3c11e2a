package trainer_test

import (
	"context"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring/record"
	"shadedrill/trainer/trainertest"
)

// A test of several exercises goes from one to the next; its certificate comes after
// the last.
func TestDrillsOfOneTestFollowEachOther(t *testing.T) {
	cfg := practising(t, exercises.ValueFirst, 1)
	cfg.Start.Silent = true
	cfg.Within = "exam:A:1"
	cfg.Then = []exercises.Setup{{Kind: exercises.ValueFirst, Count: 1, Seed: 5, Silent: true, Viewing: exercises.DefaultViewing()}}
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	tt.Expect("There is no feedback before the end.").Press("enter").Advance(time.Second)
	tt.Press("enter", "enter").Advance(time.Second).ExpectNot("Certificate").Expect("There is no feedback before the end.")
	tt.Press("enter").Advance(time.Second).Press("enter", "enter").Advance(time.Second).Expect("Certificate", "Proficiency test, form A", "2 answers")
	sittings, err := cfg.Book.Sittings(context.Background(), record.Filter{Within: "exam:A:1"})
	if err != nil {
		t.Fatal(err)
	}
	if len(sittings) != 2 || sittings[0].Ended.IsZero() || sittings[1].Ended.IsZero() {
		t.Errorf("sittings are %+v", sittings)
	}
}
