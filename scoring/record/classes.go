package record

import (
	"context"
	"fmt"
	"time"

	"github.com/oklog/ulid/v2"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
)

// Classes are groups of people. To leave a class, or to remove one, never
// takes a person or an answer out of the book.
type Classes interface {
	// AddClass enters a class. Its name is cleaned; a name already taken, ignoring
	// case, is ErrTaken. An empty ID is filled in.
	AddClass(context.Context, scoring.Class) (scoring.Class, error)
	// Classes lists all, by name.
	Classes(context.Context) ([]scoring.Class, error)
	// ClassByName finds a class, ignoring case; ErrNotFound.
	ClassByName(context.Context, string) (scoring.Class, error)
	// RemoveClass takes out a class with its roster and its assignments;
	// ErrNotFound.
	RemoveClass(context.Context, scoring.ClassID) error
	// Enrol puts a person on the roster; one who is on it stays, and that is no
	// error. Like Unenrol it counts as later than what came before, whatever the
	// clock says.
	Enrol(ctx context.Context, class scoring.ClassID, who scoring.LearnerID, at time.Time) error
	// Unenrol takes a person off the roster; ErrNotFound for one who is not on it.
	Unenrol(ctx context.Context, class scoring.ClassID, who scoring.LearnerID, at time.Time) error
	// Memberships lists who is or was in a class, by identifier; ErrNotFound
	// without the class.
	Memberships(context.Context, scoring.ClassID) ([]scoring.Membership, error)
	// PutMembership enters what another book says of a person, who must be in this
	// one. The later of the two stands; of two of one time, being in the class.
	PutMembership(context.Context, scoring.ClassID, scoring.Membership) error
	// Roster lists who is in a class, by name; ErrNotFound without the class.
	Roster(context.Context, scoring.ClassID) ([]scoring.Learner, error)
}

// Assignments are the drills that classes are to do.
type Assignments interface {
	// AddAssignment enters an assignment. Its class and its sheet must be in the
	// book. An empty ID is filled in. Number is filled in: the one that it had
	// before its class was taken out, else the one it comes with where that was
	// never given (see MayWish), else the next.
	AddAssignment(context.Context, scoring.Assignment) (scoring.Assignment, error)
	// Assignments lists those of a class, or with no class all, by number: with the
	// rulings on each, and also those that were taken back.
	Assignments(context.Context, scoring.ClassID) ([]scoring.Assignment, error)
	// Assignment finds one by its number; ErrNotFound.
	Assignment(ctx context.Context, number int) (scoring.Assignment, error)
	// PutRuling writes down what was decided about an assignment. The same again
	// changes nothing. ErrNotFound without the assignment or somebody named. See [Rule].
	PutRuling(context.Context, scoring.AssignmentID, scoring.Ruling) error
}

// CheckClass brings a class into the form in which a book keeps it.
func CheckClass(c scoring.Class) (scoring.Class, error) {
	if err := CheckMoment("a class", c.At); err != nil {
		return c, err
	}
	c.At = moment(c.At)
	if c.ID == "" {
		c.ID = scoring.ClassID(newID(c.At))
	}
	if err := checkID("a class", string(c.ID)); err != nil {
		return c, err
	}
	var err error
	c.Name, err = CleanName(c.Name)
	return c, err
}

// CheckMembership brings what is said of a person in a class into the form in
// which a book keeps it.
func CheckMembership(m scoring.Membership) (scoring.Membership, error) {
	const what = "somebody in a class"
	err := firstError(CheckMoment(what, m.At), checkID(what, string(m.Learner)))
	m.At = moment(m.At)
	return m, err
}

// Supersedes reports whether what is said of a person in a class stands above
// what was known.
func Supersedes(said, known scoring.Membership) bool {
	return said.At.After(known.At) || said.At.Equal(known.At) && known.Off && !said.Off
}

// MayWish reports whether an assignment from another book may keep its number: a
// low one, so that the next do not grow long. House choice.
func MayWish(number int) bool { return number >= 1 && number <= 9_999 }

// CheckAssignment brings an assignment into the form in which a book keeps it:
// the sheet's fingerprint stands for the sheet. Rulings are entered one by one.
func CheckAssignment(a scoring.Assignment) (scoring.Assignment, error) {
	const what = "an assignment"
	if err := firstError(CheckMoment(what, a.At), CheckMoment("the due date of "+what, a.Due)); err != nil {
		return a, err
	}
	a.At, a.Due = moment(a.At), moment(a.Due)
	if a.ID == "" {
		a.ID = scoring.AssignmentID(newID(a.At))
	}
	a.Setup.Adaptive, a.Setup.Experience, a.Setup.Again, a.Rulings = false, nil, nil, nil
	var err error
	if a.Setup, err = checkSetup(what, a.Setup); err != nil {
		return a, err
	}
	if a.Pass.Rule == "" {
		a.Pass.Rule = scoring.PassNone
	}
	return a, firstError(checkID(what, string(a.ID)), checkID(what+"'s class", string(a.Class)), CheckPass(a.Pass))
}

// CheckPass says what is wrong with a pass mark. The highest median is a house
// choice: no two tooth colours lie 100 apart.
func CheckPass(p scoring.PassMark) error {
	const advice = "such as 2.5 (a median ΔE00 of at most that) or 80% (that many answers right)"
	if err := checkNumber("a pass mark", p.Value); err != nil {
		return fault.New(err.Error(), advice)
	}
	switch {
	case p.Rule == scoring.PassNone && p.Value == 0:
	case p.Rule == scoring.PassMedian && p.Value > 0 && p.Value <= 100:
	case p.Rule == scoring.PassShare && p.Value > 0 && p.Value <= 1:
	default:
		return fault.New(fmt.Sprintf("%g is no pass mark (%s)", p.Value, p.Rule), advice)
	}
	return nil
}

// ClassTaken is the error for a second class of one name.
func ClassTaken(name string) error {
	return fault.Wrap(fmt.Errorf("the class %q: %w", name, ErrTaken), "give it another name, or enrol into the one that is there")
}

// NoClass is the error for a class that is not there.
func NoClass(what any) error { return fmt.Errorf("class %v: %w", what, ErrNotFound) }

// NotEnrolled is the error for a person who is not on a roster.
func NotEnrolled(id scoring.LearnerID) error {
	return fmt.Errorf("learner %s is not on the roster: %w", id, ErrNotFound)
}

// NoAssignment is the error for an assignment that is not there.
func NoAssignment(what any) error { return fmt.Errorf("assignment %v: %w", what, ErrNotFound) }

// newID makes an identifier that sorts by time.
func newID(at time.Time) string {
	return ulid.MustNew(ulid.Timestamp(at), ulid.DefaultEntropy()).String()
}
