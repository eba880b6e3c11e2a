package simulate

import (
	"context"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Everybody meets the same items, as often as laid down, in another order; the
// same plan again gives the same answers.
func TestACohortTakesAPanel(t *testing.T) {
	ctx := context.Background()
	library, err := tabs.Load("starter")
	if err != nil {
		t.Fatal(err)
	}
	sheet := tabs.NewSheet(library, nil)
	at := time.Date(2030, 3, 1, 9, 30, 0, 0, time.UTC)
	taken := func() map[scoring.LearnerID][]scoring.Attempt {
		book := record.NewMemory()
		if err := book.PutSheet(ctx, sheet); err != nil {
			t.Fatal(err)
		}
		p, err := book.AddPanel(ctx, record.Panel{Name: "Team", At: at, Setup: exercises.Setup{Kind: exercises.ValueFirst, Version: 2,
			Seed: 8, Count: 5, Repeats: 3, Targets: exercises.NaturalTargets, Silent: true, Sheet: sheet}})
		if err != nil {
			t.Fatal(err)
		}
		set := p.Set()
		set.Parts[0].Sheet = sheet
		plan := Plan{Learners: 3, Sittings: 1, Items: 5, Seed: 2, From: at, Set: &set}
		if got := plan.Answers(); got != 45 {
			t.Errorf("%d answers planned, want 45", got)
		}
		people := plan.Invent()
		if err := plan.Fill(ctx, book, people, nil); err != nil {
			t.Fatal(err)
		}
		for _, who := range people {
			part, err := record.ProgressOf(ctx, book, p.Set(), who.Learner.ID)
			if err != nil || !part.Over() || part.Given() != 15 {
				t.Errorf("%s: %+v, %v", who.Learner.Name, part, err)
			}
		}
		all := map[scoring.LearnerID][]scoring.Attempt{}
		for a, err := range book.Attempts(ctx, record.Filter{Within: p.Set().Ref.String()}) {
			if err != nil {
				t.Fatal(err)
			}
			all[a.Learner] = append(all[a.Learner], a)
		}
		return all
	}
	first, second := taken(), taken()
	orders := map[string]bool{}
	targets := map[string]any{}
	for who, answers := range first {
		order := ""
		for i, a := range answers {
			order += a.Trial.Item + " "
			if seen, ok := targets[a.Trial.Item]; ok && seen != a.Trial.Target {
				t.Errorf("item %s is %v and %v", a.Trial.Item, seen, a.Trial.Target)
			}
			targets[a.Trial.Item] = a.Trial.Target
			if !record.SameAttempt(a, second[who][i]) {
				t.Fatalf("%s, answer %d differs the second time", who, i)
			}
		}
		orders[order] = true
	}
	if len(first) != 3 || len(orders) != 3 || len(targets) != 5 {
		t.Errorf("%d people in %d orders over %d items", len(first), len(orders), len(targets))
	}
}
