package learners_test

import (
	"context"
	"testing"
	"time"
	_ "time/tzdata"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/reports/learners"
)

// The days on which clocks go forward at midnight, and those after them: the plan is that
// of the day it is, what was done late the evening before is no part of it, and after the
// half hour past midnight the day still ends.
func TestDaysThatBeginAtOne(t *testing.T) {
	for zone, date := range map[string][3]int{"Atlantic/Azores": {2025, 3, 30}, "America/Santiago": {2025, 9, 7}, "America/Havana": {2025, 3, 9}} {
		where, err := time.LoadLocation(zone)
		if err != nil {
			t.Fatal(err)
		}
		d := newDesk(t, "ada")
		// The evening before, and half an hour past midnight the day before that.
		for _, begun := range []time.Time{time.Date(date[0], time.Month(date[1]), date[2]-1, 0, 30, 0, 0, where), time.Date(date[0], time.Month(date[1]), date[2], 1, 5, 0, 0, where)} {
			d.now = begun
			if day := d.day("ada"); scoring.DaysBetween(day.Start, begun) != 0 || !day.Start.Before(begun) {
				t.Errorf("%s: on %v the day is that of %v", zone, begun, day.Start)
			}
			for n := 0; !d.day("ada").Plan.Done(); n++ {
				if n > 6 {
					t.Fatalf("%s: the day of %v does not end", zone, begun)
				}
				d.next("ada", sharp, 0)
			}
		}
		d = newDesk(t, "ada")
		d.now = time.Date(date[0], time.Month(date[1]), date[2]-1, 23, 20, 0, 0, where)
		d.sit("ada", exercises.Setup{Kind: exercises.ValueFirst, Count: 5}, observer.Observer{Noise: 3}, 0)
		d.now = time.Date(date[0], time.Month(date[1]), date[2], 20, 0, 0, 0, where)
		day := d.day("ada")
		if day.Answers != 0 || day.Newcomer {
			t.Errorf("%s: %d answers of the evening before are told as today's", zone, day.Answers)
		}
		if m := day.Mistakes; m.Due == 0 {
			t.Errorf("%s: what was missed the evening before is due today: %+v", zone, m)
		}
		g, err := learners.GlanceOf(context.Background(), d.book, "ada", d.now)
		if err != nil || g.Calendar[learners.Weeks-1][5] != 5 || g.Calendar[learners.Weeks-1][6] != 0 || g.Days != 1 {
			t.Errorf("%s: the calendar has %v in its last week, %v", zone, g.Calendar[learners.Weeks-1], err)
		}
	}
}

// What is said of the next practice after midnight is what it holds.
func TestWhatIsSaidAfterMidnight(t *testing.T) {
	d := newDesk(t, "ada")
	d.now = time.Date(2024, 5, 20, 23, 58, 0, 0, time.UTC)
	begun := d.now
	for n := 0; !d.dayOf("ada", begun).Plan.Done(); n++ {
		day := d.dayOf("ada", begun)
		s := day.Plan.Drills[day.Plan.Next()]
		d.sit("ada", exercises.Setup{Kind: s.Kind, Count: s.Left()}.AtLevel(s.Level), sharp, 0)
	}
	if d.now.Day() != 21 {
		t.Fatalf("it ended at %v", d.now)
	}
	said := d.dayOf("ada", begun)
	d.now = d.now.Add(18 * time.Hour)
	if got := kinds(said.Tomorrow); !said.Late || got == "" || got != left(d.day("ada").Plan) {
		t.Errorf("it said %s, and holds %s", got, left(d.day("ada").Plan))
	}
}

// left are the drills that are not done.
func left(p exercises.DayPlan) string {
	var open exercises.DayPlan
	for _, s := range p.Drills {
		if !s.Done {
			open.Drills = append(open.Drills, s)
		}
	}
	return kinds(open)
}
