package record_test

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
)

// Somebody sets the clock back an hour in the middle of a drill, once more while it
// is broken off, and again before its end: times in the book never run backwards, and
// the book is sound.
func TestTimesNeverRunBackwards(t *testing.T) {
	ctx := context.Background()
	book := record.NewMemory()
	who := recordtest.Person(t, book, "Ada Finch")
	now := recordtest.Noon
	clock := func() time.Time { now = now.Add(time.Second); return now }
	kind, err := exercises.ByID(exercises.ValueFirst)
	if err != nil {
		t.Fatal(err)
	}
	setup := exercises.Setup{Kind: kind.ID(), Count: 9, Seed: 3, Targets: exercises.TabTargets, Sheet: recordtest.Sheet(t)}
	d, err := record.Begin(ctx, book, scoring.Sitting{Learner: who.ID, Setup: setup}, clock)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 9 {
		if i == 3 || i == 6 {
			now = now.Add(-time.Hour)
		}
		if i == 6 {
			if d, err = record.Resume(ctx, book, d.Sitting().ID, clock); err != nil {
				t.Fatal(err)
			}
		}
		trial, _ := d.Trial()
		if _, _, err := d.Answer(ctx, kind.Simulate(trial, d.Sitting().Setup, observer.Observer{}, rand.New(rand.NewPCG(1, 1)))); err != nil {
			t.Fatal(err)
		}
	}
	now = now.Add(-time.Hour)
	if err := d.End(ctx, false); err != nil {
		t.Fatal(err)
	}
	last := recordtest.Noon
	for _, a := range recordtest.All(t, book, record.Filter{}) {
		if a.At.Before(last) {
			t.Errorf("answer %d at %v, after one at %v", a.Trial.Ordinal, a.At, last)
		}
		last = a.At
	}
	s, err := book.Sitting(ctx, d.Sitting().ID)
	if err != nil || s.Ended.Before(last) {
		t.Errorf("ended at %v, the last answer is of %v; %v", s.Ended, last, err)
	}
	found, err := record.Verify(ctx, book, nil)
	if err != nil || !found.Sound() || len(found.Notes) > 0 {
		t.Errorf("findings %q, notes %q, %v", found.Findings, found.Notes, err)
	}
}

// A book from before, in which a clock that was set back left its trace, is sound
// and says so.
func TestAClockThatWasSetBackIsANote(t *testing.T) {
	ctx := context.Background()
	book := record.NewMemory()
	s := recordtest.Begin(t, book, recordtest.Person(t, book, "Ada Finch"), 60)
	for i, minutes := range []int{1, 2, -30} {
		a := recordtest.Plain(s, i)
		a.At = s.Started.Add(time.Duration(minutes) * time.Minute)
		if err := book.Append(ctx, a); err != nil {
			t.Fatal(err)
		}
	}
	if err := book.EndSitting(ctx, s.ID, s.Started.Add(-29*time.Minute), false); err != nil {
		t.Fatal(err)
	}
	found, err := record.Verify(ctx, book, nil)
	if err != nil || !found.Sound() || len(found.Notes) != 1 {
		t.Errorf("findings %q, notes %q, %v", found.Findings, found.Notes, err)
	}
}
