package scoring

import (
	"fmt"
	"slices"
	"time"

	"shadedrill/exercises"
)

// LearnerID and SittingID are stable across machines (ULIDs), so that records
// from several books can be merged.
type (
	LearnerID string
	SittingID string
)

// Learner is a person in the book.
type Learner struct {
	ID   LearnerID
	Name string // as shown; cleaned of control characters by the book
	Role Role
	// RoleAt is when the role was last set; what a later one says of it stands
	// where books are merged.
	RoleAt time.Time
	At     time.Time // when first entered
	// Simulated marks a simulated person, so that no report takes one for real.
	Simulated bool
	// Number is a number of their own, such as a student number, and Email an address;
	// both may be empty. Two people of a book are called alike only with numbers that
	// differ.
	Number, Email string
	// Pseudonym says that the name is a label which was put in the place of one.
	Pseudonym bool
}

// Role is what a person does here.
type Role string

const (
	RoleLearner    Role = "learner"
	RoleLead       Role = "lead"
	RoleInstructor Role = "instructor"
)

// Above reports whether a role may do more than another.
func (r Role) Above(other Role) bool {
	rank := func(r Role) int { return slices.Index([]Role{RoleLearner, RoleLead, RoleInstructor}, r) }
	return rank(r) > max(rank(other), 0)
}

// Sitting is one person's run of one drill.
type Sitting struct {
	ID      SittingID
	Learner LearnerID
	Started time.Time
	Setup   exercises.Setup
	Display DisplayCheck
	// Within names the set that the sitting belongs to, if any; see [SetRef].
	Within string
	// Ended is zero while the drill can still be resumed.
	Ended time.Time
	// Left says that the drill was ended before its last trial.
	Left bool
	// BegunAs is the identifier of its person when it was begun, where that person has
	// been joined with another since; empty otherwise.
	BegunAs LearnerID
	// Origin is where the sitting was taken. A book that starts a sitting without
	// one says that it was taken here; nothing changes it afterwards.
	Origin Origin
}

// Road is how a sitting came into its book.
type Road string

const (
	RoadHere     Road = "here"     // taken in this book
	RoadImported Road = "imported" // taken in another book and read from a file
	RoadServer   Road = "server"   // taken on the class server, which owned trial, clock and order
	RoadUnknown  Road = "unknown"  // from before books wrote it down
)

// Origin says where a sitting was taken, and by whom: a person or a program.
type Origin struct {
	Road Road `json:"road"`
	// Book identifies the book in which it was taken; empty where that is not known.
	Book string `json:"book,omitempty"`
	// At is when it was imported; zero otherwise.
	At time.Time `json:"at,omitzero"`
	// Simulated says that a program answered.
	Simulated bool `json:"simulated,omitempty"`
}

// DisplayCheck is what the person saw when the display was last checked.
type DisplayCheck struct {
	At         time.Time `json:"at"`
	Colours    int       `json:"colours"`              // what the terminal claims
	SmallStep  string    `json:"small_step,omitempty"` // "seen", "not seen": two patches one code apart
	Ramp       string    `json:"ramp,omitempty"`       // "all steps", "dark steps lost", "light steps lost"
	Gamma      string    `json:"gamma,omitempty"`      // which patch melted into the pattern
	Terminal   string    `json:"terminal,omitempty"`
	NightTint  string    `json:"night_tint,omitempty"` // what the person said of night-tint modes and brightness
	Acceptable bool      `json:"acceptable"`
	// RoundTrip is what a picture and a key took together between a class server and
	// the page when the sitting was begun; 0 where there was no way between them.
	RoundTrip time.Duration `json:"round_trip,omitempty"`
}

// Attempt is an answered trial: the unit of the record.
type Attempt struct {
	Sitting SittingID
	Learner LearnerID
	At      time.Time // when the answer was given
	Trial   exercises.Trial
	Answer  exercises.Answer
	// Cut says that the book holds more of the attempt than was asked for. It tells of
	// the reading and is stored nowhere.
	Cut bool `json:"-"`
}

// ID is the attempt's stable identifier: its sitting and its place in it.
func (a Attempt) ID() string { return fmt.Sprintf("%s-%04d", a.Sitting, a.Trial.Ordinal) }
