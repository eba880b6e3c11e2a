// Package serve is the class server: how people come in, who may do what, one trainer a
// person, and the pages of whoever runs a class or a team.
package serve

import (
	"slices"

	"shadedrill/scoring"
)

// action is something that a person asks the server to do.
type action string

const (
	takeDrills      action = "drill"            // take sittings, answer, go on
	readAnswers     action = "read answers"     // a person's answers and what is computed from them
	takeOut         action = "take out"         // export what is kept about a person
	makeClass       action = "make class"       // a class or team of one's own
	readClass       action = "read class"       // who is on the list and where, what is to be done and who has done it
	readResults     action = "read results"     // review, grades, tests, what the training did
	assign          action = "assign"           // drills, tests, their opening and collecting
	decide          action = "decide"           // due dates, excuses, items left out, taking back
	invite          action = "invite"           // codes and links into a class
	resetPassphrase action = "reset passphrase" // give a person a code for one new passphrase
	move            action = "move"             // a person between classes
	merge           action = "merge"            // two entries that are one person
	erase           action = "erase"            // a person and all that is kept about them
	makeSession     action = "make session"     // calibration sessions, their opening, collecting and closing
	readSession     action = "read session"     // what those who took part answered
	readLog         action = "read log"         // what was done in a class or session
	appointLead     action = "appoint"          // make somebody a lead
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
var may = map[action]map[scoring.Role]reach{
	takeDrills:      {scoring.RoleLearner: own, scoring.RoleLead: own, scoring.RoleInstructor: own},
	readAnswers:     {scoring.RoleLearner: own, scoring.RoleLead: own, scoring.RoleInstructor: both},
	takeOut:         {scoring.RoleLearner: own, scoring.RoleLead: own, scoring.RoleInstructor: both},
	makeClass:       {scoring.RoleLead: anybody, scoring.RoleInstructor: anybody},
	readClass:       {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	readResults:     {scoring.RoleInstructor: runs},
	assign:          {scoring.RoleInstructor: runs},
	decide:          {scoring.RoleInstructor: runs},
	invite:          {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	resetPassphrase: {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	move:            {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	merge:           {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	erase:           {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	makeSession:     {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	readSession:     {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	readLog:         {scoring.RoleLead: runs, scoring.RoleInstructor: runs},
	appointLead:     {scoring.RoleInstructor: runs},
}

// thing is what an action is about, as the book knows it: nothing of it comes from
// the request but the identifier with which it was looked up.
type thing struct {
	// Of is the person whose it is; "" for a class or team.
	Of scoring.LearnerID
	// RunBy are those who run all the classes and teams that it belongs to. A
	// person in two classes that different people run is moved, merged or erased by
	// neither alone: RunBy then holds only who runs both.
	RunBy []scoring.LearnerID
}

// allowed says whether a signed-in person may do something. The role is the one in the
// book at the time of asking.
func allowed(who scoring.Learner, do action, on thing) bool {
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
