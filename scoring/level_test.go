package scoring_test

import (
	"math"
	"strings"
	"testing"

	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

// A cut-off belongs to the level above it: 17 of 20 is exactly 85 %, 15 exactly 75.
func TestCutsBelongToTheLevelAbove(t *testing.T) {
	for right, want := range map[int]scoring.Level{18: scoring.LevelSuperior, 17: scoring.LevelSuperior, 16: scoring.LevelAverage, 15: scoring.LevelAverage, 14: scoring.LevelPoor} {
		share := trend.Share(right, 20, 0.95)
		if level, _ := scoring.HouseCuts.Classify(share, "items"); level != want {
			t.Errorf("%d of 20 (%v): %s, want %s", right, share.Value, level, want)
		}
		clustered := trend.ShareClustered([]int{right - 10, 10}, []int{10, 10}, 1, 0.95)
		if level, _ := scoring.HouseCuts.Classify(clustered, "judgements"); level != want {
			t.Errorf("%d of 20 in two scenes: %s, want %s", right, level, want)
		}
	}
	// So do the ends of an interval.
	for _, c := range []struct {
		lo, hi float64
		says   string
	}{
		{0.85, 0.99, ""},
		{math.Nextafter(0.85, 0), 0.99, "20 items cannot separate superior from average"},
		{0.75, math.Nextafter(0.85, 0), ""},
		{0.75, 0.85, "20 items cannot separate superior from average"},
	} {
		if _, uncertain := scoring.HouseCuts.Classify(scoring.Interval(0.9, c.lo, c.hi, 0.95, 20), "items"); uncertain != c.says {
			t.Errorf("%v to %v: %q, want %q", c.lo, c.hi, uncertain, c.says)
		}
	}
}

// The intervals are those of the worked example: 14, 12 and 10 of 16 right give
// Wilson intervals of 64–97, 51–90 and 39–82 %.
func TestLevelsSayWhatTheyCannotSeparate(t *testing.T) {
	for _, c := range []struct {
		right, of int
		level     scoring.Level
		says      string
		long      string
	}{
		{14, 16, scoring.LevelSuperior, "16 items cannot separate superior from average from poor", "with 88 % right, the share in the long run may lie anywhere from 64 to 97 %"},
		{12, 16, scoring.LevelAverage, "16 items cannot separate superior from average from poor", "with 75 % right, the share in the long run may lie anywhere from 51 to 90 %"},
		{10, 16, scoring.LevelPoor, "16 items cannot separate average from poor", "with 62 % right, the share in the long run may lie anywhere from 39 to 82 %"},
		{4, 16, scoring.LevelPoor, "", "with 25 % right"},
		{198, 200, scoring.LevelSuperior, "", "with 99 % right"},
		{160, 200, scoring.LevelAverage, "200 items cannot separate average from poor", "with 80 % right"},
		{168, 200, scoring.LevelAverage, "200 items cannot separate superior from average", "with 84 % right"},
		{0, 0, scoring.LevelUnknown, "there is no answer to judge", ""},
	} {
		share := trend.Share(c.right, c.of, 0.95)
		level, uncertain := scoring.HouseCuts.Classify(share, "items")
		if level != c.level || uncertain != c.says {
			t.Errorf("%d of %d: %s, %q; want %s, %q", c.right, c.of, level, uncertain, c.level, c.says)
		}
		if long := scoring.LongRun(share); !strings.HasPrefix(long, c.long) || c.long == "" && long != "" {
			t.Errorf("%d of %d: %q; want %q", c.right, c.of, long, c.long)
		}
	}
}

func TestCutsAreChecked(t *testing.T) {
	for _, bad := range []scoring.Cuts{nil, {{"pass", 0}}, {{"a", 0.5}, {"b", 0.6}, {"c", 0}}, {{"a", 1.2}, {"b", 0}}, {{"a", 0.5}, {"b", 0.1}},
		{{"a", 0.7}, {"b", 0.7}, {"c", 0}}, {{"a", 0.7}, {"a", 0}}, {{"", 0.5}, {"b", 0}}, {{"unknown", 0.5}, {"b", 0}}, {{"a", math.NaN()}, {"b", 0}}} {
		if bad.Check() == nil {
			t.Errorf("levels %v are taken", bad)
		}
	}
	if err := scoring.HouseCuts.Check(); err != nil {
		t.Error(err)
	}
}

// A school's own levels are what results are called, and it is said whose they are.
func TestLevelsOfASchool(t *testing.T) {
	own := scoring.Cuts{{"passed", 0.8}, {"to be repeated", 0}}
	for right, want := range map[int]scoring.Level{40: "passed", 32: "passed", 31: "to be repeated", 0: "to be repeated"} {
		if level, _ := own.Classify(trend.Share(right, 40, 0.95), "items"); level != want {
			t.Errorf("%d of 40: %s, want %s", right, level, want)
		}
	}
	if _, uncertain := own.Classify(trend.Share(32, 40, 0.95), "items"); uncertain != "40 items cannot separate passed from to be repeated" {
		t.Error(uncertain)
	}
	if words := own.Words(); !strings.HasPrefix(words, "passed from 80 % right, to be repeated below. ") || strings.Contains(words, "memory") {
		t.Error(words)
	}
	if words := scoring.HouseCuts.Words(); !strings.HasPrefix(words, "superior from 85 % right, average from 75 %, poor below. ") || !strings.Contains(words, "from memory") || !strings.Contains(words, "can set others") {
		t.Error(words)
	}
}
