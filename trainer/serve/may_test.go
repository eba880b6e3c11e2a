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
		do                        Action
		learner, lead, instructor string
	}{
		{Drill, "o---", "o---", "o---"},
		{ReadAnswers, "o---", "o---", "or--"},
		{TakeOut, "o---", "o---", "or--"},
		{MakeClass, "----", "---n", "---n"},
		{ReadClass, "----", "-r--", "-r--"},
		{ReadResults, "----", "----", "-r--"},
		{Assign, "----", "----", "-r--"},
		{Invite, "----", "-r--", "-r--"},
		{ResetPassphrase, "----", "-r--", "-r--"},
		{Move, "----", "-r--", "-r--"},
		{Merge, "----", "-r--", "-r--"},
		{Erase, "----", "-r--", "-r--"},
		{MakeSession, "----", "-r--", "-r--"},
		{ReadSession, "----", "-r--", "-r--"},
		{ReadLog, "----", "-r--", "-r--"},
		{AppointLead, "----", "----", "-r--"},
	}
	if len(want) != len(may) {
		t.Errorf("the table has %d actions, the test %d", len(may), len(want))
	}
	things := []struct {
		letter string
		thing  Thing
	}{
		{"o", Thing{Of: "me", RunBy: []scoring.LearnerID{"other"}}},
		{"r", Thing{Of: "somebody", RunBy: []scoring.LearnerID{"other", "me"}}},
		{"x", Thing{Of: "somebody", RunBy: []scoring.LearnerID{"other"}}},
		{"n", Thing{}},
	}
	for _, row := range want {
		for role, letters := range map[scoring.Role]string{scoring.RoleLearner: row.learner, scoring.RoleLead: row.lead, scoring.RoleInstructor: row.instructor} {
			got := ""
			for _, th := range things {
				if May(scoring.Learner{ID: "me", Role: role}, row.do, th.thing) {
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
	all := Thing{Of: "", RunBy: []scoring.LearnerID{""}}
	for do := range may {
		for _, who := range []scoring.Learner{{}, {Role: scoring.RoleInstructor}, {ID: "me"}, {ID: "me", Role: "owner"}} {
			for _, thing := range []Thing{all, {}, {Of: who.ID, RunBy: []scoring.LearnerID{who.ID}}} {
				if May(who, do, thing) {
					t.Errorf("%+v may %s", who, do)
				}
			}
		}
	}
	if May(scoring.Learner{ID: "me", Role: scoring.RoleInstructor}, "anything", Thing{Of: "me", RunBy: []scoring.LearnerID{"me"}}) {
		t.Error("an action without a row is allowed")
	}
}
