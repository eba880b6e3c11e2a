package simulate_test

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/simulate"
)

func classPlan(t *testing.T) simulate.Plan {
	t.Helper()
	p := plan(t)
	form := recordtest.Form(t, "A", 1, 6, p.Setup.Sheet, exercises.ValueFirst)
	p.Learners, p.Sittings, p.Items = 10, 12, 6
	p.Class = &simulate.Class{Name: "Monday group", Test: form, Pass: scoring.PassMark{Rule: scoring.PassMedian, Value: 2}}
	return p
}

func TestAClassHasEveryCharacterAndEveryOneIsTrue(t *testing.T) {
	ctx := context.Background()
	p := classPlan(t)
	book, people := fill(t, p)
	class, err := book.ClassByName(ctx, "Monday group")
	if err != nil {
		t.Fatal(err)
	}
	roster, err := book.Roster(ctx, class.ID)
	if err != nil || len(roster) != 10 {
		t.Fatalf("%d people on the roster, want 10 (%v)", len(roster), err)
	}
	given, err := book.Assignments(ctx, class.ID)
	if err != nil || len(given) != 1 {
		t.Fatal(given, err)
	}
	seen := map[simulate.Character]int{}
	late := 0
	for _, who := range people {
		seen[who.Character]++
		sittings, err := book.Sittings(ctx, record.Filter{Learner: who.Learner.ID})
		if err != nil {
			t.Fatal(err)
		}
		var assigned, exams, thresholds int
		for _, s := range sittings {
			switch {
			case s.Set().Kind == scoring.TestSet:
				exams++
			case s.Within == given[0].Set().Ref.String():
				assigned++
				if s.Ended.After(given[0].Due) {
					late++
				}
				if diff := cmp.Diff(given[0].Setup.Seed, s.Setup.Seed); diff != "" {
					t.Errorf("%s was assigned other trials", who.Learner.Name)
				}
			case s.Setup.Kind == exercises.Threshold:
				thresholds++
			}
		}
		o := who.Observer
		bias := math.Max(math.Abs(o.BiasL), math.Max(math.Abs(o.BiasC), math.Abs(o.BiasH)))
		last := sittings[len(sittings)-1].Started
		switch who.Character {
		case simulate.Stopped:
			if len(sittings) != 4 || assigned+exams != 0 || last.After(p.From.AddDate(0, 0, 10)) {
				t.Errorf("%s stopped practising, but sat %d drills, the last on %v", who.Learner.Name, len(sittings), last)
			}
			continue
		case simulate.Biased:
			if bias < scoring.Acceptability.Value {
				t.Errorf("%s is biased, but by %.2f only", who.Learner.Name, bias)
			}
		case simulate.Improving:
			if who.PerDoubling >= 1 {
				t.Errorf("%s does not improve", who.Learner.Name)
			}
		case simulate.Worsening:
			if who.PerDoubling <= 1 {
				t.Errorf("%s does not worsen", who.Learner.Name)
			}
		}
		if who.Character != simulate.Biased && bias > 0.31 {
			t.Errorf("%s (%s) is biased by %.2f", who.Learner.Name, who.Character, bias)
		}
		if len(sittings) != 12 || assigned != 1 || exams != 1 || thresholds != 1 || last.Before(p.From.AddDate(0, 0, 25)) {
			t.Errorf("%s: %d drills, of them %d assigned, %d tests, %d thresholds", who.Learner.Name, len(sittings), assigned, exams, thresholds)
		}
	}
	for _, c := range []simulate.Character{simulate.Steady, simulate.Improving, simulate.Biased, simulate.Stopped, simulate.Worsening} {
		if seen[c] == 0 {
			t.Errorf("nobody is %s", c)
		}
	}
	if late == 0 || late > 7 {
		t.Errorf("%d of the class are late", late)
	}
}

func TestTheSameSeedGivesTheSameClass(t *testing.T) {
	p := classPlan(t)
	p.Learners = 3
	one, _ := fill(t, p)
	other, _ := fill(t, p)
	if diff := cmp.Diff(attempts(t, one), attempts(t, other)); diff != "" {
		t.Errorf("answers differ: %s", diff)
	}
	ctx := context.Background()
	a, _ := one.Assignments(ctx, "")
	b, _ := other.Assignments(ctx, "")
	if diff := cmp.Diff(a, b); diff != "" || len(a) != 1 {
		t.Errorf("assignments differ: %s", diff)
	}
	if a[0].Due.Sub(p.From) < 14*24*time.Hour {
		t.Errorf("due %v", a[0].Due)
	}
	p.Learners, p.First = 1, 4 // a second class of one name
	if err := p.Fill(ctx, one, p.Invent(), nil); err == nil {
		t.Error("two classes of one name")
	}
}
