// Package serve is the class server: how people come in, who may do what, one trainer a
// person, and the pages of whoever runs a class or a team.
package serve

import (
	"slices"

	"shadedrill/scoring"
)

// Action is something that a person asks the server to do.
type Action string

const (
	Drill           Action = "drill"            // take sittings, answer, go on
	ReadAnswers     Action = "read answers"     // a person's answers and what is computed from them
	TakeOut         Action = "take out"         // export what is kept about a person
	MakeClass       Action = "make class"       // a class or team of one's own
	ReadClass       Action = "read class"       // who is on the list and where, what is to be done and who has done it
	ReadResults     Action = "read results"     // review, grades, tests, what the training did
	Assign          Action = "assign"           // drills, tests, their opening and collecting
	Invite          Action = "invite"           // codes and links into a class
	ResetPassphrase Action = "reset passphrase" // give a person a code for one new passphrase
	Move            Action = "move"             // a person between classes
	Merge           Action = "merge"            // two entries that are one person
	Erase           Action = "erase"            // a person and all that is kept about them
	MakeSession     Action = "make session"     // calibration sessions, their opening, collecting and closing
	ReadSession     Action = "read session"     // what those who took part answered
	ReadLog         Action = "read log"         // what was done in a class or session
	AppointLead     Action = "appoint"          // make somebody a lead
)

// reach is how far a role may go with an action.
type reach int

const (
	nobody  reach = iota
	own           // what is about oneself
	runs          // what belongs to a class or team that one runs
	both          // either
	anybody       // it is about nobody yet
)

// may is the one table of who may what. What it does not name is forbidden.
var may = map[Action]map[scoring.Role]reach{
	Drill:           {scoring.RoleLearner: own, scoring.RoleLead: own, scoring.RoleInstructor: own},
	ReadAnswers:     {scoring.RoleLearner: own, scoring.RoleLead: own, scoring.RoleInstructor: both},
	TakeOut:         {scoring.RoleLearner: own, scoring.RoleLead: own, scoring.RoleInstructor: both},
	MakeClass:       {scoring.RoleLead: anybody, scoring.RoleInstructor: anybody},
	ReadClass:       {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	ReadResults:     {scoring.RoleInstructor: runs},
	Assign:          {scoring.RoleInstructor: runs},
	Invite:          {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	ResetPassphrase: {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	Move:            {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	Merge:           {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	Erase:           {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	MakeSession:     {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	ReadSession:     {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	ReadLog:         {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	AppointLead:     {scoring.RoleInstructor: runs},
}

// Thing is what an action is about, as the book knows it: nothing of it comes from
// the request but the identifier with which it was looked up.
type Thing struct {
	// Of is the person whose it is; "" for a class or team.
	Of scoring.LearnerID
	// RunBy are those who run all the classes and teams that it belongs to. A
	// person in two classes that different people run is moved, merged or erased by
	// neither alone: RunBy then holds only who runs both.
	RunBy []scoring.LearnerID
}

// May says whether a signed-in person may do something. The role is the one in the
// book at the time of asking.
func May(who scoring.Learner, do Action, on Thing) bool {
	if who.ID == "" {
		return false
	}
	isOwn, isRun := on.Of == who.ID, slices.Contains(on.RunBy, who.ID)
	switch may[do][who.Role] {
	case own:
		return isOwn
	case runs:
		return isRun
	case both:
		return isOwn || isRun
	case anybody:
		return on.Of == "" && on.RunBy == nil
	}
	return false
}
