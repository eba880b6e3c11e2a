package record

import (
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// A mark that cannot be computed is told, not suffered.
func TestAPanickingMarkIsAFinding(t *testing.T) {
	c := colour.Grey(200)
	a := scoring.Attempt{Trial: exercises.Trial{Kind: exercises.Thirds, Target: c}, Answer: exercises.Answer{Colour: &c, Tab: "L78 C16 h86"}}
	var none *scoring.Marking // stands for whatever may be wrong
	if problem := marks(none, a, new(tabs.Sheet)); problem == "" {
		t.Error("nothing was told")
	}
}
