package transfer

import (
	"strings"
	"testing"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record/recordtest"
)

// Of a sitting that has not ended the links of its answers alone say whether the last ones
// were taken out, whatever its count says.
func TestTheLastAnswersCannotBeTakenOut(t *testing.T) {
	s := scoring.Sitting{ID: "S1", Learner: "L1", Started: recordtest.Noon, Setup: exercises.Setup{Kind: exercises.ValueFirst, Count: 9}}
	var given []scoring.Attempt
	for i := range 4 {
		given = append(given, recordtest.Plain(s, i))
	}
	chain := travelChain(s, given)
	for _, c := range []struct {
		rows, count int
		says        string
	}{
		{4, 4, ""}, {3, 4, "1 answer is missing"}, {4, 3, "1 answer more than"}, {3, 3, "its last answer is not the last that was given"},
	} {
		told := chainOf(chain)
		told.Answers = c.count
		f, err := follow(s, told)
		if err != nil {
			t.Fatal(err)
		}
		for i := range c.rows {
			if err := f.answer(given[i], &linked{link: chain.Answers[i].Link}, false); err != nil {
				t.Fatal(err)
			}
		}
		switch err := f.end(); {
		case c.says == "" && err != nil, c.says != "" && (err == nil || !strings.Contains(err.Error(), c.says)):
			t.Errorf("%d rows, %d counted: %v, want %q", c.rows, c.count, err, c.says)
		}
	}
}
