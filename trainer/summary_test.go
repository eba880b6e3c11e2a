package trainer_test

import (
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/trainer/trainertest"
)

// A drill stands beside the last one and the best of those before it, and one that is
// better than all is called so.
func TestADrillBesideThoseBefore(t *testing.T) {
	tt := trainertest.Run(t, practising(t, exercises.ValueFirst, 5), trainertest.Options{Width: 80, Height: 24})
	drill := func(keys ...string) *trainertest.Trainer {
		tt.Press("enter")
		for range 5 {
			tt.Advance(time.Second).Press(keys...).Expect("answered").Press("enter")
		}
		return tt.Expect("summary", "5 trials.")
	}
	worse, better := []string{"end", "enter", "end", "enter"}, []string{"enter", "enter"}
	drill(worse...).ExpectNot("last time").Press("a")
	drill(better...).Expect("your best so far (last time").ExpectNot("best before").Press("a")
	drill(worse...).Expect("(last time").ExpectNot("your best", "best before").Press("a")
	drill(worse...).Expect("(last time", "best before").ExpectNot("your best")
}

// What a set asks is taken once: its summary offers no other drill like it.
func TestASetIsNotOfferedAgain(t *testing.T) {
	cfg, p := session(t)
	set := p.Set()
	cfg.Set = &set
	tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24}).Expect("Spring team").Press("enter")
	for range 4 {
		tt.Advance(time.Second).Press("enter", "enter")
	}
	tt.Advance(time.Second).Expect("summary").ExpectNot("another drill like it")
}
