package scoring

import (
	"time"

	"shadedrill/exercises"
)

// ClassID and AssignmentID are stable across machines (ULIDs), as those of
// learners and sittings are.
type (
	ClassID      string
	AssignmentID string
)

// Class is a group of people whose results are looked at together. Who is in
// it is its roster, which the book keeps.
type Class struct {
	ID   ClassID
	Name string // as shown; cleaned by the book
	At   time.Time
}

// Membership says that a person is in a class, or was and is not any more.
type Membership struct {
	Learner LearnerID
	At      time.Time // when they came, or went
	Off     bool      // they went
}

// Assignment is a drill that everybody in a class is to do.
type Assignment struct {
	ID AssignmentID
	// Number is how people call it: 1 and on within a book, never given to two.
	Number int
	Class  ClassID
	// Setup is the drill, the same for everybody: seed, count, viewing and the
	// sheet are part of it. Adaptive and Experience are not: they would make it
	// another drill for each.
	Setup exercises.Setup
	Pass  PassMark
	Due   time.Time // until when it was to count as in time, see DueNow
	At    time.Time // when it was given
	// Rulings are what was decided since, in the order of [Ruling.Compare].
	Rulings []Ruling
}

// Set is the assignment as those take it who are in its class: once, to its end.
// Whoever leaves it early may do it over. Once it was taken back nobody begins it.
func (a Assignment) Set() Set {
	return Set{Ref: SetRef{Kind: AssignmentSet, Name: string(a.ID)}, Number: a.Number, Parts: []exercises.Setup{a.Setup},
		Class: a.Class, Due: a.DueNow(), Closed: a.Gone(), Pass: a.Pass, Over: AtItsEnd}
}

// SetFor is the assignment as one person takes it.
func (a Assignment) SetFor(who LearnerID) Set {
	s := a.Set()
	s.Due = a.DueFor(who)
	return s
}

// PassRule says which number of a sitting the pass mark is laid against.
type PassRule string

const (
	// PassNone asks only that the drill is done.
	PassNone PassRule = "none"
	// PassMedian asks for a median ΔE00 of at most the value.
	PassMedian PassRule = "median"
	// PassShare asks that at least the value, 0..1, of the answers are right.
	PassShare PassRule = "share"
)

// PassMark is what a sitting must reach to pass.
type PassMark struct {
	Rule  PassRule
	Value float64
}

// Verdict says whether a sitting reached a pass mark.
type Verdict struct {
	Passed bool
	// Since is when what it is graded by was last decided anew; zero for never.
	Since time.Time
}
