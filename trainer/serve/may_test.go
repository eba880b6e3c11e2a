package serve

import (
	"testing"

	"shadedrill/scoring"
)

// The table, said again in another form: for every action and role a letter for one's
// own, for what one runs, for somebody else's, and for nothing in particular; "-"
// where it is refused.
func TestWhoMayWhat(t *testing.T) {
	want := []struct {
		do                        action
		learner, lead, instructor string
	}{
		{takeDrills, "o---", "o---", "o---"},
		{readAnswers, "o---", "o---", "or--"},
		{takeOut, "o---", "o---", "or--"},
		{makeClass, "----", "---n", "---n"},
		{readClass, "----", "-r--", "-r--"},
		{readResults, "----", "----", "-r--"},
		{assign, "----", "----", "-r--"},
		{decide, "----", "----", "-r--"},
		{invite, "----", "-r--", "-r--"},
		{resetPassphrase, "----", "-r--", "-r--"},
		{move, "----", "-r--", "-r--"},
		{merge, "----", "-r--", "-r--"},
		{erase, "----", "-r--", "-r--"},
		{makeSession, "----", "-r--", "-r--"},
		{readSession, "----", "-r--", "-r--"},
		{readLog, "----", "-r--", "-r--"},
		{appointLead, "----", "----", "-r--"},
	}
	if len(want) != len(may) {
		t.Errorf("the table has %d actions, the test %d", len(may), len(want))
	}
	things := []struct {
		letter string
		thing  thing
	}{
		{"o", thing{Of: "me", RunBy: []scoring.LearnerID{"other"}}},
		{"r", thing{Of: "somebody", RunBy: []scoring.LearnerID{"other", "me"}}},
		{"x", thing{Of: "somebody", RunBy: []scoring.LearnerID{"other"}}},
		{"n", thing{}},
	}
	for _, row := range want {
		for role, letters := range map[scoring.Role]string{scoring.RoleLearner: row.learner, scoring.RoleLead: row.lead, scoring.RoleInstructor: row.instructor} {
			got := ""
			for _, th := range things {
				if allowed(scoring.Learner{ID: "me", Role: role}, row.do, th.thing) {
					got += th.letter
				} else {
					got += "-"
				}
			}
			if got != letters {
				t.Errorf("%s, %s: %s, want %s", row.do, role, got, letters)
			}
		}
	}
}

// Who is nobody, has no role, or asks for what is not named, may nothing.
func TestNobodyMayNothing(t *testing.T) {
	all := thing{Of: "", RunBy: []scoring.LearnerID{""}}
	for do := range may {
		for _, who := range []scoring.Learner{{}, {Role: scoring.RoleInstructor}, {ID: "me"}, {ID: "me", Role: "owner"}} {
			for _, thing := range []thing{all, {}, {Of: who.ID, RunBy: []scoring.LearnerID{who.ID}}} {
				if allowed(who, do, thing) {
					t.Errorf("%+v may %s", who, do)
				}
			}
		}
	}
	if allowed(scoring.Learner{ID: "me", Role: scoring.RoleInstructor}, "anything", thing{Of: "me", RunBy: []scoring.LearnerID{"me"}}) {
		t.Error("an action without a row is allowed")
	}
}
