package scoring_test

import (
	"fmt"
	"testing"
	"time"

	"shadedrill/scoring"
)

// What was decided last about the same thing stands, and what was taken back does not.
func TestWhatWasDecidedStandsUntilTakenBack(t *testing.T) {
	day := func(n int) time.Time { return time.Date(2024, 5, n, 12, 0, 0, 0, time.UTC) }
	a := scoring.Assignment{Due: day(10)}
	decide := func(r scoring.Ruling) {
		r.At = day(1).Add(time.Duration(len(a.Rulings)) * time.Hour)
		a.Rulings = append(a.Rulings, r)
	}
	for _, step := range []struct {
		decided       scoring.Ruling
		due, ada, bo  int // until which day
		excused, gone bool
		drops         string
	}{
		{scoring.Ruling{What: scoring.Extended, Learner: "ada", Until: day(14)}, 10, 14, 10, false, false, "[]"},
		{scoring.Ruling{What: scoring.DueMoved, Until: day(12)}, 12, 14, 12, false, false, "[]"},
		{scoring.Ruling{What: scoring.DueMoved, Until: day(16)}, 16, 16, 16, false, false, "[]"}, // longer than Ada's own
		{scoring.Ruling{What: scoring.DueMoved, Back: true}, 10, 14, 10, false, false, "[]"},
		{scoring.Ruling{What: scoring.Extended, Learner: "ada", Back: true}, 10, 10, 10, false, false, "[]"},
		{scoring.Ruling{What: scoring.Excused, Learner: "ada"}, 10, 10, 10, true, false, "[]"},
		{scoring.Ruling{What: scoring.Excused, Learner: "ada", Back: true}, 10, 10, 10, false, false, "[]"},
		{scoring.Ruling{What: scoring.Dropped, Item: 7}, 10, 10, 10, false, false, "[7]"},
		{scoring.Ruling{What: scoring.Dropped, Item: 2}, 10, 10, 10, false, false, "[2 7]"},
		{scoring.Ruling{What: scoring.Dropped, Item: 7, Back: true}, 10, 10, 10, false, false, "[2]"},
		{scoring.Ruling{What: scoring.Dropped, Item: 7}, 10, 10, 10, false, false, "[2 7]"},
		{scoring.Ruling{What: scoring.Removed}, 10, 10, 10, false, true, "[2 7]"},
		{scoring.Ruling{What: scoring.Removed, Back: true}, 10, 10, 10, false, false, "[2 7]"},
	} {
		decide(step.decided)
		for what, c := range map[string][2]any{
			"the class is due": {a.DueNow(), day(step.due)}, "Ada is due": {a.DueFor("ada"), day(step.ada)}, "Bo is due": {a.DueFor("bo"), day(step.bo)},
			"Ada is excused": {a.Excuses("ada"), step.excused}, "Bo is excused": {a.Excuses("bo"), false},
			"it was taken back": {!a.Gone().IsZero(), step.gone}, "items are left out": {fmt.Sprint(a.Drops()), step.drops},
		} {
			if c[0] != c[1] {
				t.Errorf("after %+v: %s: %v, want %v", step.decided, what, c[0], c[1])
			}
		}
	}
}
