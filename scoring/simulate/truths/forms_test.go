package truths_test

import (
	"os"
	"testing"

	"shadedrill/scoring/simulate/truths"
)

// The usual form's results follow the true error, whoever answers, and nobody whose
// error is beyond acceptability comes out superior. The table behind this, of many more
// people and forms: shadedrill simulate --tests.
func TestResultsFollowErrors(t *testing.T) {
	learners, forms := 60, 3
	if os.Getenv("SHADEDRILL_HEAVY") == "1" {
		learners, forms = truths.TestLearners, 100
	}
	for _, ways := range truths.TestWays {
		r, err := truths.Forms{Learners: learners, Ways: ways}.Measure(truths.Plan{Runs: forms, Seed: 11})
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: share %.3f, median %.3f, level %.3f; superior beyond %.3f of %d", ways.Name, r.TauShare, r.TauMedian, r.TauLevel, r.SuperiorBeyond, r.Beyond)
		if r.Beyond < learners/3 || r.SuperiorBeyond > 0.05 {
			t.Errorf("%s: of %d people beyond acceptability one is superior in %.3f of the forms", ways.Name, r.Beyond, r.SuperiorBeyond)
		}
		if ways.Name != truths.Guesses.Name && (r.TauShare < 0.55 || r.TauMedian < 0.5 || r.TauLevel < 0.45) {
			t.Errorf("%s: results do not follow errors: share %.3f, median %.3f, level %.3f", ways.Name, r.TauShare, r.TauMedian, r.TauLevel)
		}
	}
}
