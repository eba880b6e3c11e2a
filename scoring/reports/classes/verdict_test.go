package classes

import (
	"testing"
	"time"

	"shadedrill/scoring"
)

// A verdict counts from the last time that an item was left out or counted again;
// another due date, longer for one person or an excuse make no pass of a fail.
func TestAVerdictIsAsOldAsTheItemsLeftOut(t *testing.T) {
	at := func(n int) time.Time { return time.Date(2030, 3, n, 12, 0, 0, 0, time.UTC) }
	a := scoring.Assignment{Due: at(20)}
	for _, step := range []struct {
		ruling scoring.Ruling
		since  time.Time
	}{
		{scoring.Ruling{What: scoring.DueMoved, Until: at(25), At: at(1)}, time.Time{}},
		{scoring.Ruling{What: scoring.Dropped, Item: 2, At: at(2)}, at(2)},
		{scoring.Ruling{What: scoring.Extended, Learner: "ada", Until: at(30), At: at(3)}, at(2)},
		{scoring.Ruling{What: scoring.Excused, Learner: "ada", At: at(4)}, at(2)},
		{scoring.Ruling{What: scoring.Dropped, Item: 2, Back: true, At: at(5)}, at(5)},
		{scoring.Ruling{What: scoring.Removed, At: at(6)}, at(5)},
	} {
		a.Rulings = append(a.Rulings, step.ruling)
		if got := lastDropped(a); !got.Equal(step.since) {
			t.Errorf("after %+v: since %v, want %v", step.ruling, got, step.since)
		}
	}
}
