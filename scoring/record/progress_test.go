package record_test

import (
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Which of a person's sittings counts. Of a session or a test the first with an
// answer: whoever leaves and begins again has seen the questions. Of an assignment the
// first that came to its end, whatever was begun before or after it.
func TestWhichSittingCounts(t *testing.T) {
	type sitting struct {
		given int
		end   string // "", "end" or "left"
	}
	asked := exercises.Setup{Kind: exercises.ValueFirst, Version: 1, Seed: 5, Count: 4}
	noon := time.Date(2030, 3, 1, 12, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		what     string
		over     scoring.Over
		sittings []sitting
		counts   int // from 0; −1 for none
		is       bool
		left     int
	}{
		{"nothing", scoring.OnLeaving, nil, -1, false, 0},
		{"begun, no answer", scoring.OnLeaving, []sitting{{0, ""}}, 0, false, 0},
		{"left at once", scoring.OnLeaving, []sitting{{0, "left"}}, -1, false, 0},
		{"left at once, then begun", scoring.OnLeaving, []sitting{{0, "left"}, {0, ""}}, 1, false, 0},
		{"left after an answer, then done", scoring.OnLeaving, []sitting{{1, "left"}, {4, "end"}}, 0, true, 0},
		{"broken off, then done elsewhere", scoring.OnLeaving, []sitting{{2, ""}, {4, "end"}}, 0, false, 0},
		{"begun, then answered elsewhere", scoring.OnLeaving, []sitting{{0, ""}, {3, ""}}, 1, false, 0},
		{"answered, then begun again", scoring.OnLeaving, []sitting{{3, ""}, {0, ""}}, 0, false, 0},
		{"left early", scoring.AtItsEnd, []sitting{{3, "left"}}, -1, false, 1},
		{"left early, then broken off", scoring.AtItsEnd, []sitting{{3, "left"}, {2, ""}}, 1, false, 1},
		{"broken off twice", scoring.AtItsEnd, []sitting{{3, ""}, {2, ""}}, 1, false, 0},
		{"done, then done again", scoring.AtItsEnd, []sitting{{4, "end"}, {4, "end"}}, 0, true, 0},
		{"done, then begun again", scoring.AtItsEnd, []sitting{{4, "end"}, {1, ""}}, 0, true, 0},
		{"broken off, then done elsewhere", scoring.AtItsEnd, []sitting{{2, ""}, {4, "end"}}, 1, true, 0},
	} {
		set := scoring.Set{Ref: scoring.SetRef{Kind: scoring.PanelSet, Name: "one"}, Parts: []exercises.Setup{asked}, Over: c.over}
		p := record.NewProgress(set)
		for i, s := range c.sittings {
			sitting := scoring.Sitting{ID: scoring.SittingID(rune('0' + i)), Setup: asked, Within: "panel:one", Left: s.end == "left"}
			if s.end != "" {
				sitting.Ended = noon
			}
			p.Take(set, sitting, s.given)
		}
		want := scoring.SittingID("")
		if c.counts >= 0 {
			want = scoring.SittingID(rune('0' + c.counts))
		}
		if got := p.Parts[0].Sitting.ID; got != want || p.Over() != c.is || p.Left != c.left || p.Begun() != (want != "") {
			t.Errorf("%s, over %q: %q counts, want %q; over %v, left %d", c.what, c.over, got, want, p.Over(), p.Left)
		}
	}
	set := scoring.Set{Ref: scoring.SetRef{Kind: scoring.PanelSet, Name: "one"}, Parts: []exercises.Setup{asked}}
	p := record.NewProgress(set)
	p.Take(set, scoring.Sitting{ID: "x", Setup: asked, Within: "panel:two"}, 3)
	if p.Begun() || len(p.Others) != 0 {
		t.Errorf("a sitting of another set counts: %+v", p)
	}
}
