package learners_test

import (
	"context"
	"math"
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

func (d *desk) glance(now time.Time) learners.Glance {
	d.t.Helper()
	g, err := learners.GlanceOf(context.Background(), d.book, "ada", now)
	if err != nil {
		d.t.Fatal(err)
	}
	return g
}

// Half of what is seen with a scatter σ along three axes lies within 1.538 σ (the median
// of a chi distribution of three degrees of freedom, from standard tables). Whoever sees
// better now than a month ago is told so, whichever level they practise at.
func TestDistanceNowAndAMonthAgo(t *testing.T) {
	d := newDesk(t, "ada")
	const median3 = 1.5382
	for day := range 6 {
		d.now = start.AddDate(0, 0, day)
		d.sit("ada", exercises.Setup{Kind: exercises.ValueFirst, Count: 16}, observer.Observer{Noise: 1.6}, 0)
	}
	for day := range 6 {
		d.now = start.AddDate(0, 0, 30+day)
		d.sit("ada", exercises.Setup{Kind: exercises.ValueFirst, Count: 16, Level: 6}, observer.Observer{Noise: 0.7}, 0)
	}
	g := d.glance(d.now)
	off := func(e scoring.Estimate, noise float64) float64 { return math.Abs(e.Value - noise*median3) }
	if off(g.Before, 1.6) > 0.4 || off(g.Now, 0.7) > 0.15 || !(g.Now.Hi < g.Before.Lo) {
		t.Errorf("now %.2f (%.2f to %.2f), a month ago %.2f (%.2f to %.2f)", g.Now.Value, g.Now.Lo, g.Now.Hi, g.Before.Value, g.Before.Lo, g.Before.Hi)
	}
	if words := g.Distance(); !strings.Contains(words, "a month ago") || !strings.Contains(words, "to go to 0.8, which half do not see") {
		t.Errorf("%s", words)
	}
	// Whoever stops is not told an old distance as that of now.
	if late := d.glance(d.now.AddDate(0, 0, 25)); late.Now.Defined() || !strings.Contains(late.Distance(), "since then too few") {
		t.Errorf("%s", late.Distance())
	}
}

// From fewer than twenty shades the interval is called rough; from tabs that lie too far
// apart nothing is told, and not that too few were taken.
func TestDistanceSaysWhatItRestsOn(t *testing.T) {
	g := learners.Glance{Now: scoring.Interval(1.2, 0.8, 1.8, 0.95, 16)}
	if words := g.Distance(); !strings.Contains(words, "(0.8 to 1.8, rough)") {
		t.Error(words)
	}
	if g.Now.N = scoring.FewItems; strings.Contains(g.Distance(), "rough") {
		t.Error(g.Distance())
	}
	g.Now = scoring.Undefined(30, "")
	if words := g.Distance(); !strings.Contains(words, "too far apart") {
		t.Error(words)
	}
	if g.Before = scoring.Interval(1.2, 0.8, 1.8, 0.95, 40); !strings.Contains(g.Distance(), "too far apart") || !strings.Contains(g.Distance(), "A month ago") {
		t.Error(g.Distance())
	}
}

// The calendar counts every day once, knows the days to come, and forgets what is older
// than twelve weeks.
func TestCalendar(t *testing.T) {
	d := newDesk(t, "ada")
	for _, ago := range []int{100, 84, 14, 1, 0, 0} {
		d.now = start.AddDate(0, 0, 100-ago)
		d.sit("ada", exercises.Setup{Kind: exercises.Halfway, Count: 5}, sharp, 0)
	}
	g := d.glance(d.now)
	days, answers, coming := 0, 0, 0
	for _, week := range g.Calendar {
		for _, n := range week {
			switch {
			case n < 0:
				coming++
			case n > 0:
				days++
				answers += n
			}
		}
	}
	last := int(d.now.Weekday()+6) % 7
	if coming != 6-last || days != g.Days || answers != 5*(days+1) || g.Calendar[learners.Weeks-1][last] != 10 {
		t.Errorf("%d days, %d answers, %d to come: %v", days, answers, coming, g.Calendar)
	}
}

// An empty book has a first page, in words.
func TestGlanceOfNothing(t *testing.T) {
	d := newDesk(t, "ada")
	lines := strings.Join(d.glance(d.now).Lines(), "\n")
	for _, want := range []string{"No answers yet.", "from a dozen", "0 days", "none yet", "not enough answers", "Next: value first"} {
		if !strings.Contains(lines, want) {
			t.Errorf("%q is not in:\n%s", want, lines)
		}
	}
	if strings.Contains(lines, "NaN") {
		t.Error(lines)
	}
	// What explains figures is not read by whoever has none.
	r, err := learners.Progress(context.Background(), d.book, scoring.Learner{ID: "ada", Name: "Ada"}, record.Filter{}, d.now, false)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range r.Sections {
		if len(s.Table.Rows) == 0 && len(s.Notes) > 0 {
			t.Errorf("%s has no figures, and explains them: %q", s.Key, s.Notes)
		}
	}
}

// A learner who climbs from level to level has no trend of errors made of levels.
func TestLevelsAreNoTrend(t *testing.T) {
	d := newDesk(t, "ada")
	for day, level := range []int{1, 1, 1, 1, 1, 1, 7, 7, 7, 7, 7, 7} {
		d.now = start.AddDate(0, 0, day)
		thin := exercises.Setup{Kind: exercises.ValueFirst, Count: 12}.AtLevel(level)
		thin.Sheet = reporttest.Sheet(t, "natural")
		d.sit("ada", thin, observer.Observer{Noise: 1}, 0)
	}
	r, err := learners.Progress(context.Background(), d.book, scoring.Learner{ID: "ada", Name: "Ada"}, record.Filter{}, d.now, false)
	if err != nil {
		t.Fatal(err)
	}
	table := reporttest.Section(t, r, "trend")
	if got := reporttest.Cell(t, table, 0, "sittings"); len(table.Rows) != 1 || got != report.Cell(report.Count(6)) {
		t.Errorf("%v sittings are compared", got)
	}
	if got := reporttest.Cell(t, table, 0, "trend").(report.Word); got.Key == "rising" || got.Key == "falling" {
		t.Errorf("levels look like a trend: %s", got.Shown)
	}
	text := ""
	for _, x := range r.Sections {
		if x.Key == "trend" {
			text = strings.Join(x.Notes, " ")
		}
	}
	if !strings.Contains(text, "those of level 7 are compared; 6 sittings of other levels would look like a trend") {
		t.Errorf("the notes do not say which level: %s", text)
	}
}

// Who has taken too few shades is told how many of a dozen there are.
func TestTooFewShadesAreCounted(t *testing.T) {
	d := newDesk(t, "ada")
	d.sit("ada", exercises.Setup{Kind: exercises.ValueFirst, Count: 5}, observer.Observer{Noise: 2}, 0)
	d.sit("ada", exercises.Setup{Kind: exercises.Halfway, Count: 13}, observer.Observer{Noise: 2}, 0)
	if words := d.glance(d.now).Distance(); !strings.Contains(words, "from a dozen on") || !strings.Contains(words, "you took 5.") {
		t.Error(words)
	}
}
