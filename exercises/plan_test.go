package exercises

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"
)

// today is the start of the day that is planned.
var today = time.Date(2024, 5, 20, 0, 0, 0, 0, time.UTC)

func ago(days int) time.Time { return today.AddDate(0, 0, -days) }

// practised makes days of practice, the last so long ago, with a share right of 16
// answers each at a level.
func practised(kind KindID, days, last int, right float64, quick bool, level int) Practised {
	p := Practised{Kind: kind}
	for i := range days {
		p.Days = append(p.Days, PracticeDay{Start: ago(last + days - 1 - i), Right: 16 * right, Of: 16, Quick: quick, Level: level})
		p.Tried = append(p.Tried, Tried{Level: level, Right: 16 * right, Of: 16})
	}
	return p
}

func motives(p DayPlan) string {
	var words []string
	for _, s := range p.Drills {
		words = append(words, string(s.Kind)+" "+string(s.Motive))
	}
	return strings.Join(words, ", ")
}

func planned(history []Practised) DayPlan { return PlanDay(today, 10, history, Missed{}, nil) }

// everything is practised well a day ago, but for what is changed.
func everything(change ...Practised) (history []Practised) {
	for _, k := range Kinds() {
		if k.Traits().OffPlan() {
			continue
		}
		if i := slices.IndexFunc(change, func(p Practised) bool { return p.Kind == k.ID() }); i >= 0 {
			history = append(history, change[i])
			continue
		}
		history = append(history, practised(k.ID(), 4, 1, 0.87, false, UsualLevel(k.ID())))
	}
	return history
}

func TestPlan(t *testing.T) {
	for _, c := range []struct {
		name    string
		history []Practised
		want    string // begins so
	}{
		{"a newcomer begins at the beginning", nil, "value-first new, halfway new, line-up new"},
		{"one new exercise after what is known", []Practised{practised(ValueFirst, 2, 1, 0.85, false, 4), practised(Halfway, 2, 1, 0.85, false, 4)},
			"value-first keep, halfway keep, line-up new"},
		{"the weak one may come twice, nothing else", []Practised{practised(ValueFirst, 2, 1, 0.4, false, 1)}, "value-first weak, halfway new, value-first weak"},
		{"a short plan rather than one exercise twice", []Practised{practised(ValueFirst, 2, 1, 0.87, false, 4)}, "value-first keep, halfway new"},
		{"weak first", everything(practised(Thirds, 4, 1, 0.4, false, 5)), "thirds weak"},
		{"a level far below the others is weak", everything(practised(Thirds, 4, 1, 0.87, false, 1)), "thirds weak"},
		{"old before fresh", everything(practised(LineUp, 4, 14, 0.87, false, 18)), "line-up old"},
		{"what was right and quick lasts longer", everything(practised(LineUp, 4, 10, 0.87, true, 17), practised(Thirds, 4, 10, 0.87, false, 8)), "thirds old"},
	} {
		if got := motives(planned(c.history)); !strings.HasPrefix(got, c.want) {
			t.Errorf("%s: %q instead of %q", c.name, got, c.want)
		}
	}
}

// What is mastered recedes, and comes again before half of it is gone; where all is
// mastered the plan is not empty.
func TestMasteredRecedes(t *testing.T) {
	top := func(kind KindID, last int) Practised { return practised(kind, 5, last, 0.95, true, UsualLevel(kind)) }
	if got := motives(planned(everything(top(ValueFirst, 10), top(Halfway, 10)))); strings.Contains(got, "value-first") || strings.Contains(got, "halfway") {
		t.Errorf("mastered ten days ago, and on the plan: %s", got)
	}
	if got := motives(planned(everything(top(ValueFirst, 120)))); !strings.HasPrefix(got, "value-first old") {
		t.Errorf("mastered, and not seen for four months: %s", got)
	}
	var all []Practised
	for _, p := range everything() {
		all = append(all, top(p.Kind, 2))
	}
	plan := planned(all)
	if len(plan.Drills) != 3 || !strings.Contains(plan.Drills[0].Reason, "mastered, right and quick") {
		t.Errorf("with everything mastered the plan is %s: %+v", motives(plan), plan.Drills)
	}
	slow := practised(ValueFirst, 5, 2, 0.95, false, UsualLevel(ValueFirst))
	easy := practised(ValueFirst, 5, 2, 0.95, true, 2)
	for _, p := range []Practised{slow, easy} {
		if mastered(ValueFirst, p.Days) {
			t.Errorf("slow or easy, and called mastered: %+v", p.Days[0])
		}
	}
}

// Real tabs, a helper and measurements are never planned, nor a drill much too hard for a
// newcomer.
func TestPlanAsksForNothingThatIsNotThere(t *testing.T) {
	for _, minutes := range PlanMinutes {
		for _, history := range [][]Practised{nil, {practised(Bench, 4, 9, 0.2, false, 0), practised(Threshold, 4, 9, 0.2, false, 0)}, everything()} {
			plan := PlanDay(today, minutes, history, Missed{}, nil)
			seen := map[KindID]bool{}
			for _, s := range plan.Drills {
				if s.Kind == Bench || s.Kind == Threshold {
					t.Errorf("%s is planned", s.Kind)
				}
				if seen[s.Kind] {
					t.Errorf("%s comes twice", s.Kind)
				}
				seen[s.Kind] = true
			}
			if m := plan.Minutes(); m < 0.7*float64(minutes) || m > 1.3*float64(minutes) {
				t.Errorf("a plan of %d minutes takes %.1f: %+v", minutes, m, plan.Drills)
			}
		}
	}
	// Every exercise of the plan has levels: a newcomer to it begins in the lower half.
	for _, k := range Kinds() {
		if s := (Suggestion{Kind: k.ID()}); !k.Traits().OffPlan() {
			if s.SetLevel(nil); s.Level == 0 || 2*s.Level > len(Levels(k.ID()))+1 {
				t.Errorf("%s begins at level %d of %d", k.ID(), s.Level, len(Levels(k.ID())))
			}
		}
	}
}

// Mistakes take a place of their own, and are no more than there are.
func TestPlanAsksMistakesAgain(t *testing.T) {
	plan := PlanDay(today, 10, everything(), Missed{Kind: Halfway, Due: 5}, nil)
	if len(plan.Drills) != 3 || !plan.Drills[1].Again() || plan.Drills[1].Count != 5 || !strings.Contains(plan.Drills[1].Reason, "5 answers") {
		t.Errorf("%+v", plan.Drills)
	}
	if got := motives(PlanDay(today, 10, everything(), Missed{Kind: Halfway, Due: 2}, nil)); strings.Contains(got, "again") {
		t.Errorf("two mistakes make a drill: %s", got)
	}
}

// The plan ends: what was sat is done, what was broken off goes on, and what was done
// twice counts once for each.
func TestPlanEnds(t *testing.T) {
	plan := planned([]Practised{practised(ValueFirst, 2, 1, 0.4, false, 1)}) // value first, halfway, value first
	first := plan.Drills[0].Count
	part := plan.Since([]Sat{{Kind: ValueFirst, Answers: 2}})
	if part.Next() != 0 || part.Drills[0].Left() != first-2 || part.Done() || !(part.Minutes() < plan.Minutes()) {
		t.Errorf("after two answers: %+v", part.Drills)
	}
	once := plan.Since([]Sat{{Kind: ValueFirst, Answers: first, Whole: true}})
	if once.Next() != 1 || once.Drills[2].Done {
		t.Errorf("after one drill: %+v", once.Drills)
	}
	all := plan.Since([]Sat{{Kind: ValueFirst, Answers: first, Whole: true}, {Kind: Halfway, Answers: 50}, {Kind: ValueFirst, Answers: 3}, {Kind: ValueFirst, Answers: first - 3}})
	if !all.Done() || all.Minutes() != 0 {
		t.Errorf("after all: %+v", all.Drills)
	}
	if other := plan.Since([]Sat{{Kind: TryIn, Answers: 90, Whole: true}, {Kind: ValueFirst, Again: true, Answers: 9, Whole: true}}); other.Next() != 0 {
		t.Errorf("another exercise counts: %+v", other.Drills)
	}
}

// Reasons are true: the level named is the one asked, and the numbers those of the book.
func TestReasonsAreTrue(t *testing.T) {
	history := everything(practised(ValueFirst, 6, 1, 0.3, false, 6), practised(LineUp, 6, 30, 0.95, false, 3))
	plan := PlanDay(today, 20, history, Missed{}, nil)
	for _, s := range plan.Drills {
		i := slices.IndexFunc(history, func(p Practised) bool { return p.Kind == s.Kind })
		was := history[i].Tried[len(history[i].Tried)-1].Level
		if (s.Level > was) != strings.Contains(s.Why(), "harder") || (s.Level < was) != strings.Contains(s.Why(), "easier") {
			t.Errorf("%s was at level %d, comes at %d: %s", s.Kind, was, s.Level, s.Why())
		}
		if d := max(s.Level-was, was-s.Level); d > 1 && !strings.Contains(s.Why(), fmt.Sprintf("%d levels", d)) {
			t.Errorf("%s: from %d to %d: %s", s.Kind, was, s.Level, s.Why())
		}
	}
	for _, want := range []string{"9 of the last 32 right", "last practised 30 days ago: coming back before it fades"} {
		if !slices.ContainsFunc(plan.Drills, func(s Suggestion) bool { return strings.Contains(s.Reason, want) }) {
			t.Errorf("no reason says %q: %+v", want, plan.Drills)
		}
	}
}

// Pace decides how many answers fill the time; scenes are never left half asked.
func TestPlanKeepsTheLearnersPace(t *testing.T) {
	slow, quick := practised(ValueFirst, 2, 1, 0.87, false, 4), practised(ValueFirst, 2, 1, 0.87, false, 4)
	slow.Pace, quick.Pace = 40, 12
	s, q := planned([]Practised{slow}).Drills[0], planned([]Practised{quick}).Drills[0]
	if !(s.Count < q.Count) || math.Abs(s.Minutes-40*float64(s.Count)/60) > 1e-9 {
		t.Errorf("slow %+v, quick %+v", s, q)
	}
	for _, pace := range []float64{0, 1, 7, 33, 500, math.NaN()} {
		if n, m := howMany(Thirds, 3, pace); n%3 != 0 || n == 0 || !(m > 0) {
			t.Errorf("at %g s an answer thirds has %d answers, %g minutes", pace, n, m)
		}
	}
}

// Odd histories make no odd plan: a clock set back, no days, years of practice, a kind
// of a newer program.
// Five minutes keep up what is known though there are mistakes to ask again and exercises
// that are new.
func TestAShortDayKeepsUpWhatIsKnown(t *testing.T) {
	history := []Practised{practised(ValueFirst, 2, 6, 0.85, false, 4), practised(Halfway, 2, 1, 0.85, false, 4)}
	if got := motives(PlanDay(today, 5, history, Missed{Kind: Halfway, Due: 4}, nil)); !strings.HasPrefix(got, "value-first old, halfway again") {
		t.Error(got)
	}
	if got := motives(PlanDay(today, 5, history, Missed{}, nil)); got != "value-first old, line-up new" {
		t.Error(got)
	}
}

// A day is as long as it was set, whatever the pace and however few mistakes there are to
// ask again.
func TestPlanIsAsLongAsItWasSet(t *testing.T) {
	few := []Practised{practised(ValueFirst, 2, 1, 0.4, false, 4)}
	for _, minutes := range PlanMinutes {
		for name, history := range map[string][]Practised{"a newcomer": nil, "one exercise": few, "everything": everything()} {
			for _, pace := range []float64{0, 7, 12, 25} {
				for _, due := range []int{0, 3, 8} {
					history = slices.Clone(history)
					for i := range history {
						history[i].Pace = pace
					}
					plan := PlanDay(today, minutes, history, Missed{Kind: ValueFirst, Due: due, Pace: pace}, nil)
					if m := plan.Minutes(); math.Abs(m-float64(minutes)) > max(1, 0.15*float64(minutes)) {
						t.Errorf("%s, a pace of %.0f s, %d mistakes: %.1f minutes of %d in %s", name, pace, due, m, minutes, motives(plan))
					}
				}
			}
		}
	}
}

func TestPlanTakesOddHistories(t *testing.T) {
	for name, p := range map[string]Practised{
		"from tomorrow":      practised(ValueFirst, 3, -3, 0.8, true, 4),
		"long ago":           practised(ValueFirst, 3, 100000, 0.8, true, 4),
		"nothing counted":    {Kind: ValueFirst, Days: []PracticeDay{{Start: ago(1)}}, Tried: []Tried{{}}},
		"no days":            {Kind: ValueFirst},
		"of a newer program": practised("later", 3, 1, 0.8, true, 4),
		"many days":          practised(ValueFirst, 2000, 1, 1, true, 7),
	} {
		plan := planned([]Practised{p})
		if len(plan.Drills) < 2 {
			t.Errorf("%s: %s", name, motives(plan))
		}
		for _, s := range plan.Drills {
			if s.Reason == "" || strings.Contains(s.Reason, "NaN") || s.Count < 1 || !(s.Minutes > 0) || strings.Contains(s.Reason, "-") {
				t.Errorf("%s: %+v", name, s)
			}
		}
	}
}

// Half is left after the half-life, which grows with days that went right.
func TestRetained(t *testing.T) {
	day := func(right float64, quick bool) PracticeDay { return PracticeDay{Right: right, Of: 1, Quick: quick} }
	for _, c := range []struct {
		since float64
		days  []PracticeDay
		want  float64
	}{
		{0, nil, 1}, {3, []PracticeDay{day(1, true)}, 0.5}, {6, []PracticeDay{day(1, true)}, 0.25},
		{4.5, []PracticeDay{day(1, true), day(1, false)}, 0.5}, {6, []PracticeDay{day(0, true), day(1, true)}, 0.5},
		{2.4, []PracticeDay{day(1, true), day(0.5, true)}, 0.5}, {-5, nil, 1},
	} {
		if got := Retained(c.since, c.days); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%g days after %+v %g is left, want %g", c.since, c.days, got, c.want)
		}
	}
}

// From three of four right on, a day went right and what was learnt lasts longer; below
// it lasts less long.
func TestARightDayLastsLonger(t *testing.T) {
	begun := PracticeDay{Right: 8, Of: 16}
	for _, c := range []struct {
		day  PracticeDay
		want float64 // days
	}{
		{PracticeDay{Right: 12, Of: 16}, 4.5},
		{PracticeDay{Right: 12, Of: 16, Quick: true}, 6},
		{PracticeDay{Right: 11.9, Of: 16, Quick: true}, 2.4},
		{PracticeDay{}, 3}, // nothing was judged
	} {
		if got := lasts([]PracticeDay{begun, c.day}); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("after %+v half is left for %g days, want %g", c.day, got, c.want)
		}
	}
}

// What was mastered on three days is not called weak for its last few answers.
func TestMasteredIsNotWeak(t *testing.T) {
	p := practised(Thirds, 4, 1, 0.9, true, UsualLevel(Thirds))
	last := &p.Tried[len(p.Tried)-1]
	last.Right, last.Of = 2, 24
	weak := practised(LineUp, 4, 1, 0.69, false, UsualLevel(LineUp)) // less so
	plan := planned(everything(p, weak))
	if !strings.HasPrefix(motives(plan), "line-up weak") || strings.Contains(motives(plan), "thirds") {
		t.Errorf("%s", motives(plan))
	}
	for i := range p.Days {
		p.Days[i].Quick = false // not mastered
	}
	if plan = planned(everything(p, weak)); !strings.HasPrefix(motives(plan), "thirds weak") {
		t.Errorf("as long as it is not mastered: %s", motives(plan))
	}
}

// Who answers within a second is not asked more than thirty times in a drill.
func TestNoDrillOfThePlanIsLong(t *testing.T) {
	history := everything()
	for i := range history {
		history[i].Pace = 1
	}
	for _, minutes := range PlanMinutes {
		plan := PlanDay(today, minutes, history, Missed{}, nil)
		for _, d := range plan.Drills {
			if d.Count > mostTrials {
				t.Errorf("%d minutes: %d trials of %s", minutes, d.Count, d.Kind)
			}
		}
		if len(plan.Drills) < 2 {
			t.Errorf("%d minutes: %s", minutes, motives(plan))
		}
	}
}
