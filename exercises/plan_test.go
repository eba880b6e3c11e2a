package exercises

import (
	"math"
	"strings"
	"testing"
	"time"
)

var today = time.Date(2024, 5, 20, 9, 0, 0, 0, time.UTC)

func ago(days int) time.Time { return today.AddDate(0, 0, -days) }

func motives(list []Suggestion) string {
	var words []string
	for _, a := range list {
		words = append(words, string(a.Kind)+" "+string(a.Motive))
	}
	return strings.Join(words, ", ")
}

func TestPlan(t *testing.T) {
	// Everything tried, so that only weakness and age count.
	all := func(change map[KindID]Practised) (history []Practised) {
		for _, k := range Kinds() {
			p := Practised{Kind: k.ID(), Sittings: 8, Answers: 40, Right: 0.95, Last: ago(0)}
			if c, ok := change[k.ID()]; ok {
				c.Kind = k.ID()
				p = c
			}
			history = append(history, p)
		}
		return history
	}
	for _, c := range []struct {
		name    string
		history []Practised
		n       int
		want    string
	}{
		{"a newcomer begins at the beginning", nil, 1, "value-first new"},
		{"weak first", all(map[KindID]Practised{Thirds: {Sittings: 8, Answers: 40, Right: 0.4, Last: ago(0)}}), 1, "thirds weak"},
		{"old before fresh", all(map[KindID]Practised{Lighting: {Sittings: 2, Answers: 40, Right: 0.9, Last: ago(14)}}), 1, "lighting old"},
		{"weaker before weak", all(map[KindID]Practised{
			Thirds:     {Sittings: 8, Answers: 40, Right: 0.4, Last: ago(0)},
			ValueFirst: {Sittings: 8, Answers: 40, Right: 0.5, Last: ago(0)},
		}), 2, "thirds weak, value-first weak"},
		{"much practice lasts longer", all(map[KindID]Practised{
			Thirds:     {Sittings: 2, Answers: 40, Right: 0.9, Last: ago(10)},
			ValueFirst: {Sittings: 12, Answers: 40, Right: 0.9, Last: ago(10)},
		}), 1, "thirds old"},
		{"nothing wanted", all(nil), 0, ""},
	} {
		if got := motives(PlanToday(today, c.history, c.n, nil)); got != c.want {
			t.Errorf("%s: %q instead of %q", c.name, got, c.want)
		}
	}
}

// One new exercise a day, after what is known; the bench and the thresholds only
// for those who took them up.
func TestPlanBringsOneNewExercise(t *testing.T) {
	plan := PlanToday(today, []Practised{{Kind: ValueFirst, Sittings: 3, Answers: 60, Right: 0.6, Last: ago(1)}}, 5, nil)
	if len(plan) != 2 || plan[0].Kind != ValueFirst || plan[1].Motive != MotiveNew {
		t.Fatalf("plan is %s", motives(plan))
	}
	if next := Kinds()[1].ID(); plan[1].Kind != next {
		t.Errorf("the new exercise is %s instead of %s", plan[1].Kind, next)
	}
	for _, a := range PlanToday(today, nil, 100, nil) {
		if a.Kind == Bench || a.Kind == Threshold {
			t.Errorf("%s is on a newcomer's plan", a.Kind)
		}
	}
	taken := PlanToday(today, []Practised{{Kind: Bench, Sittings: 1, Answers: 16, Right: 0.5, Last: ago(30)}}, 3, nil)
	if taken[0].Kind != Bench {
		t.Errorf("whoever took up the bench gets %s", motives(taken))
	}
}

func TestPlanSaysWhy(t *testing.T) {
	weak := Practised{Kind: ValueFirst, Sittings: 4, Answers: 80, Right: 0.6, Last: ago(1), Regions: []PractisedRegion{
		{"L* 65 to 72, C* 22 to 32", 20, 0.2}, {"L* 79 to 86, C* 10 to 16", 30, 0.75}, {"L* 58 to 65, C* 0 to 10", 2, 0},
	}}
	old := Practised{Kind: Whitening, Sittings: 1, Answers: 20, Right: 0.9, Last: ago(9)}
	plan := PlanToday(today, []Practised{weak, old}, 3, nil)
	for i, want := range []struct{ kind, words string }{
		{"whitening", "last practised 9 days ago; of what practice gained about 12 % is left by then"},
		{"value-first", "40 % of the last 80 answers missed acceptability, most of all at L* 65 to 72, C* 22 to 32 (80 %)"},
		{"", "never tried; trains "},
	} {
		if !strings.HasPrefix(plan[i].Reason, want.words) || want.kind != "" && string(plan[i].Kind) != want.kind {
			t.Errorf("%d: %s because %q", i, plan[i].Kind, plan[i].Reason)
		}
		if strings.Contains(plan[i].Reason, "\n") {
			t.Errorf("%q is more than a line", plan[i].Reason)
		}
	}
}

// An even learner has no weak region; odd numbers make no odd sentences.
func TestPlanTakesOddHistories(t *testing.T) {
	even := Practised{Kind: ValueFirst, Sittings: 4, Answers: 80, Right: 0.6, Last: ago(0), Regions: []PractisedRegion{{"one", 20, 0.5}, {"two", 60, 0.63}}}
	if r := PlanToday(today, []Practised{even}, 1, nil); len(r) != 1 || strings.Contains(r[0].Reason, "most of all") {
		t.Errorf("%+v", r)
	}
	for _, p := range []Practised{
		{Kind: ValueFirst, Sittings: 1, Right: math.NaN()},
		{Kind: ValueFirst, Sittings: 1, Answers: 10, Right: 0.7, Last: today.AddDate(1, 0, 0)},
		{Kind: ValueFirst, Sittings: 1 << 40, Answers: 10, Right: 7, Last: ago(100000)},
		{Kind: "from a newer program", Sittings: 3},
	} {
		for _, a := range PlanToday(today, []Practised{p}, 3, nil) {
			if a.Reason == "" || strings.Contains(a.Reason, "NaN") || !(a.Expected >= 0 && a.Expected <= 1) {
				t.Errorf("%+v gives %+v", p, a)
			}
		}
	}
}

// Half is left after the half-life, and the half-life grows with practice.
func TestRetained(t *testing.T) {
	for _, c := range []struct {
		days     float64
		sittings int
		want     float64
	}{{0, 1, 1}, {3, 1, 0.5}, {6, 1, 0.25}, {4.5, 2, 0.5}, {90, 1000, 0.5}, {-5, 1, 1}} {
		if got := Retained(c.days, c.sittings); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("after %g days and %d sittings %g is left, want %g", c.days, c.sittings, got, c.want)
		}
	}
}
