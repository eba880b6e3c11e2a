package learners_test

import (
	"bytes"
	"context"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
	"shadedrill/scoring/reports/learners"
)

// sit lets an observer do drills of a kind, a day each, and returns when the last
// one was.
func sit(t *testing.T, book record.Book, who scoring.LearnerID, s exercises.Setup, o observer.Observer, from time.Time, days int) time.Time {
	t.Helper()
	ctx := context.Background()
	kind, err := exercises.ByID(s.Kind)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(8, 8))
	now := from
	for day := range days {
		now = from.AddDate(0, 0, day)
		s.Seed = uint64(day) + 1
		drill, err := record.Begin(ctx, book, scoring.Sitting{Learner: who, Setup: s}, func() time.Time { now = now.Add(time.Second); return now })
		if err != nil {
			t.Fatal(err)
		}
		for {
			trial, ok := drill.Trial()
			if !ok {
				break
			}
			if _, _, err := drill.Answer(ctx, kind.Simulate(trial, s, o, rng)); err != nil {
				t.Fatal(err)
			}
		}
		if err := drill.End(ctx, false); err != nil {
			t.Fatal(err)
		}
	}
	return now
}

// The plan comes from the book: a good eye that has not whitened for weeks gets
// that as old, a poor eye in value first gets it as weak, with the share that was
// missed; one new exercise, and nothing that is not offered.
func TestPracticePlanComesFromTheBook(t *testing.T) {
	book := record.NewMemory()
	who, err := book.AddLearner(context.Background(), scoring.Learner{ID: "ada", Name: "Ada", At: start})
	if err != nil {
		t.Fatal(err)
	}
	sheet := reporttest.Sheet(t, "natural")
	sit(t, book, who.ID, exercises.Setup{Kind: exercises.Whitening, Count: 20}, observer.Observer{}, start, 2)
	last := sit(t, book, who.ID, exercises.Setup{Kind: exercises.ValueFirst, Count: 30, Sheet: sheet}, observer.Observer{Noise: 2.5, BiasC: 2}, start.AddDate(0, 0, 20), 3)
	offered := func(k exercises.KindID) bool { return k != exercises.Halfway }
	now := last.AddDate(0, 0, 1)
	plan, err := learners.PracticePlan(context.Background(), book, who.ID, now, 3, offered)
	if err != nil {
		t.Fatal(err)
	}
	found := map[exercises.KindID]exercises.Suggestion{}
	for _, s := range plan {
		found[s.Kind] = s
	}
	if s := found[exercises.ValueFirst]; s.Motive != exercises.MotiveWeak || !strings.Contains(s.Reason, "of the last 60 answers missed acceptability") || !s.Adaptive {
		t.Errorf("value first is planned as %+v", s)
	}
	if s := found[exercises.Whitening]; s.Motive != exercises.MotiveOld || !strings.HasPrefix(s.Reason, "last practised 22 days ago") {
		t.Errorf("whitening is planned as %+v", s)
	}
	if _, planned := found[exercises.Halfway]; planned || len(plan) != 3 || plan[2].Motive != exercises.MotiveNew {
		t.Errorf("the plan is %+v", plan)
	}

	// What was done a moment ago comes after what was not.
	plan, err = learners.PracticePlan(context.Background(), book, who.ID, last.Add(time.Hour), 3, offered)
	if err != nil || plan[0].Kind != exercises.Whitening || plan[1].Kind != exercises.ValueFirst || !plan[1].Done {
		t.Errorf("after practice the plan is %+v, %v", plan, err)
	}
	var b bytes.Buffer
	if err := report.Write(&b, learners.Plan(who.Name, now, plan), report.FormatText, report.Layout{Width: 120}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Today's practice of Ada", "Whitening", "long ago", "half-life regression", "house rule"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the plan does not say %q:\n%s", want, b.String())
		}
	}
}
