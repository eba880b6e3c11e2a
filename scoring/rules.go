package scoring

import "shadedrill/exercises"

// Rules are how answers to an exercise are marked and counted. Each exercise's file
// in this package registers those of its own.
type Rules struct {
	// Mark marks an answer by itself; Scene, where there is something, adds what only
	// several answers of a scene can show.
	Mark  Marker
	Scene SceneMarker
	// Singly says that each yes-or-no part of an answer counts for itself wherever
	// shares of right answers are taken; see [Mark.Judgements]. SinglyWords tell the
	// reader of a certificate.
	Singly      bool
	SinglyWords string
	// Together is the design effect to be expected of the answers of one scene: how
	// many times the variance of a share over them is that of answers that have nothing
	// to do with each other; 1 where they have not. TogetherWords stand below a table.
	Together      float64
	TogetherWords string
	// Shade says that an answer is a shade taken from a library, which is right where it is
	// an acceptable match in forms of the test that say so.
	Shade bool
	// InOrder says that levels count an answer as right where nothing stands in the wrong
	// order, although a small slip of it is accepted.
	InOrder bool
	// LightIsEnough says that whatever is computed of the answers needs no more of
	// them than a light reading gives, although they hold more.
	LightIsEnough bool
}

var rules = map[exercises.KindID]*Rules{}

var plainRules = &Rules{Mark: markColour, Together: 1}

func register(id exercises.KindID, r Rules) {
	if r.Together == 0 {
		r.Together = 1
	}
	rules[id] = &r
}

// RulesOf are an exercise's rules. An unknown kind, from a newer program, gets the
// plain colour mark.
func RulesOf(id exercises.KindID) *Rules {
	if r, ok := rules[id]; ok {
		return r
	}
	return plainRules
}
