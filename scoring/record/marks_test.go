package record_test

import (
	"context"
	"math/rand/v2"
	"testing"

	"shadedrill/exercises"
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
