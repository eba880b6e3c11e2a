package ask

import (
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

// Asker is the part of the drill screen that belongs to one kind of exercise. A
// kind's file registers it from init:
//
//	func init() { register(exercises.Halfway, Screen{Brief: …, Ask: newHalfway}) }
type Asker interface {
	// Prompt says in one line what is to be done now.
	Prompt() string
	// Draw paints the question. Once the look is over, covered is true and no
	// colour of the trial may be seen; the choice still may.
	Draw(c *draw.Canvas, in draw.Rect, covered bool)
	// Keys lists the keys that do something now.
	Keys() []draw.KeyHelp
	// Key handles a key and pick a click on the canvas item i.
	Key(k string) Reply
	Pick(i int) Reply
}

// Stepped is an asker that asks several things of one trial, one after the other. What
// is pressed together with one answer must not answer the next, which nobody has seen.
type Stepped interface {
	// Step is another text at every question.
	Step() string
}

// Unsaved is an asker that whoever answers works at for minutes.
type Unsaved interface {
	// Unsaved says what is lost if the drill is left now; "" where nothing is.
	Unsaved() string
}

// Reply is what a key or click has led to.
type Reply struct {
	Unknown bool   // the key has no use in this exercise
	Say     string // a line for the person: why nothing happened, what comes now
	Begun   bool   // the trial's time starts now: what came before was preparation
	Decided bool   // a first decision was taken
	Answer  *exercises.Answer
}

var noKey = Reply{Unknown: true}

func why(text string) Reply { return Reply{Say: text} }

// Question is all that an asker is told.
type Question struct {
	Trial exercises.Trial
	Setup exercises.Setup
	// Earlier are the answers already given to trials of the same scene.
	Earlier []scoring.Attempt
}
