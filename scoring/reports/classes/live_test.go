package classes

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
)

// Who is at which answer of a drill now; not who is through, nor who left it open
// hours ago; and nothing of what is asked.
func TestWhoIsAtADrillNow(t *testing.T) {
	ctx := context.Background()
	book, class := classOf(t, 5, pupil{name: "Through", observer: observer.Observer{Noise: 1}, sittings: 1}, pupil{name: "Here"}, pupil{name: "Away"}, pupil{name: "Silent"})
	now := classStart.AddDate(0, 0, 3)
	// The silent one began an hour ago, and answered a moment ago: counted, not forgotten.
	for i, at := range []time.Time{now.Add(-time.Minute), now.Add(-5 * time.Hour), now.Add(-time.Hour)} {
		clock := func() time.Time { at = at.Add(5 * time.Second); return at }
		drill, err := record.Begin(ctx, book, scoring.Sitting{Learner: class.People[i+1].ID, Setup: exercises.Setup{Kind: exercises.Thirds, Seed: 3, Silent: i == 2, Count: 9, Sheet: reporttest.Sheet(t, "natural")}}, clock)
		if err != nil {
			t.Fatal(err)
		}
		kind, err := exercises.ByID(exercises.Thirds)
		if err != nil {
			t.Fatal(err)
		}
		for range 4 {
			if i == 2 {
				at = now.Add(-time.Minute)
			}
			trial, _ := drill.Trial()
			if _, _, err := drill.Answer(ctx, kind.Simulate(trial, drill.Sitting().Setup, observer.Observer{Noise: 1}, rand.New(rand.NewPCG(1, 2)))); err != nil {
				t.Fatal(err)
			}
		}
	}
	r, err := Live(ctx, book, class, now)
	if err != nil {
		t.Fatal(err)
	}
	s := reporttest.Section(t, r, "live")
	if len(s.Rows) != 2 || reporttest.Cell(t, s, 1, "learner") != report.Text("Silent") || reporttest.Cell(t, s, 1, "answers") != report.Count(4) || reporttest.Cell(t, s, 0, "learner") != report.Text("Here") || reporttest.Cell(t, s, 0, "answers") != report.Count(4) {
		t.Errorf("now: %v", s.Rows)
	}
	if r.Lead[0] != "2 of 4 are at a drill." {
		t.Error(r.Lead[0])
	}
}
