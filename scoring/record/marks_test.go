package record_test

import (
	"context"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
)

// A book takes any answer that is well formed, also from another machine's file:
// whatever it says, it can be marked.
func TestWhateverABookTakesCanBeMarked(t *testing.T) {
	ctx := context.Background()
	rng := rand.New(rand.NewPCG(7, 7))
	book := record.NewMemory()
	who := recordtest.Person(t, book, "Ada Finch")
	sheet := recordtest.Sheet(t)
	if err := book.PutSheet(ctx, sheet); err != nil {
		t.Fatal(err)
	}
	for i, kind := range exercises.Kinds() {
		for j, task := range []string{"", exercises.TaskWhich, exercises.TaskDifferent, exercises.TaskAccept, "nonsense"} {
			s := recordtest.Begin(t, book, who, 10*i+j)
			s.ID, s.Setup.Kind, s.Setup.Task = record.NewSittingID(s.Started), kind.ID(), task
			if j%2 == 0 {
				s.Setup.SheetID = sheet.Fingerprint()
			}
			if err := book.StartSitting(ctx, s); err != nil {
				t.Fatal(err)
			}
			for n := range 400 {
				a := recordtest.RandomAttempt(s, n, rng)
				a.Trial.Kind = kind.ID()
				if n%2 == 0 { // names that are there
					a.Answer.Tab, a.Answer.Neighbour, a.Answer.Group = sheet.Name(rng.IntN(3)), sheet.Name(rng.IntN(3)), "L80"
				}
				if err := book.Append(ctx, a); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	found, err := record.Verify(ctx, book, nil)
	if err != nil || !found.Sound() || found.Unknown > 0 {
		t.Errorf("%d findings, the first %q; %d unknown, error %v", len(found.Findings)+found.More, found.Findings, found.Unknown, err)
	}
}

// Where a light reading is said to be enough, it gives the marks and the answers that
// the whole attempt gives.
func TestLightIsEnoughWhereItIsSaidToBe(t *testing.T) {
	ctx := context.Background()
	rng := rand.New(rand.NewPCG(3, 7))
	longer := 0
	for _, task := range []string{exercises.TaskWhich, exercises.TaskDifferent, exercises.TaskAccept} {
		book := record.NewMemory()
		who := recordtest.Person(t, book, "Ada Finch")
		setup := exercises.Setup{Kind: exercises.Threshold, Task: task, Count: 60, Seed: 3, Viewing: exercises.DefaultViewing()}
		if !scoring.RulesOf(setup.Kind).LightIsEnough {
			t.Fatalf("%s is read whole", setup.Kind)
		}
		kind, err := exercises.ByID(setup.Kind)
		if err != nil {
			t.Fatal(err)
		}
		at := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
		drill, err := record.Begin(ctx, book, scoring.Sitting{Learner: who.ID, Setup: setup}, func() time.Time { at = at.Add(time.Second); return at })
		if err != nil {
			t.Fatal(err)
		}
		for trial, ok := drill.Trial(); ok; trial, ok = drill.Trial() {
			if _, _, err := drill.Answer(ctx, kind.Simulate(trial, drill.Sitting().Setup, observer.Observer{Noise: 0.7, SeenAt: 1, Steepness: 3, FalseAlarm: 0.2}, rng)); err != nil {
				t.Fatal(err)
			}
		}
		var whole []scoring.Attempt
		for a, err := range book.Attempts(ctx, record.Filter{}) {
			if err != nil {
				t.Fatal(err)
			}
			whole = append(whole, a)
		}
		n := 0
		for a, err := range book.Attempts(ctx, record.Filter{Light: true}) {
			if err != nil {
				t.Fatal(err)
			}
			w := whole[n]
			if got, want := scoring.MarkOf(a, nil), scoring.MarkOf(w, nil); !reflect.DeepEqual(got, want) {
				t.Errorf("%s, answer %d: %+v, whole %+v", task, n, got, want)
			}
			if a.Trial.Level != w.Trial.Level || a.Trial.Part != w.Trial.Part || a.Answer.Choice != w.Answer.Choice || exercises.Passed(a.Trial, a.Answer) != exercises.Passed(w.Trial, w.Answer) {
				t.Errorf("%s, answer %d: %+v, whole %+v", task, n, a, w)
			}
			if a.Cut {
				longer++
			}
			n++
		}
		if n != len(whole) || n == 0 {
			t.Errorf("%s: %d answers read lightly, %d whole ones", task, n, len(whole))
		}
	}
	if longer == 0 {
		t.Error("no answer held more than a light reading gives: nothing was tried")
	}
}
