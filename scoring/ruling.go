package scoring

import (
	"cmp"
	"slices"
	"time"
)

// RulingKind is what a ruling is about. The texts stand in books.
type RulingKind string

const (
	// DueMoved gives everybody another due date.
	DueMoved RulingKind = "due"
	// Extended gives one person longer.
	Extended RulingKind = "extended"
	// Excused says that one person need not do it: it counts neither for nor against them.
	Excused RulingKind = "excused"
	// Dropped leaves one item out of everybody's grade.
	Dropped RulingKind = "dropped"
	// Removed takes the assignment back. What was answered stays in the book.
	Removed RulingKind = "removed"
)

// Ruling is what was decided about an assignment after it was given. Rulings are only
// ever added: of those about one thing the latest stands, and what it was before can
// be read.
type Ruling struct {
	What    RulingKind
	Learner LearnerID // whom it is about: Extended, Excused
	Item    int       // which trial, from 1: Dropped
	Until   time.Time // DueMoved, Extended
	// Back takes back what was decided before about the same thing.
	Back bool
	Why  string
	By   LearnerID // who decided; empty where that is not known
	At   time.Time
}

// Same reports whether two rulings are about one thing, so that the later stands.
func (r Ruling) Same(o Ruling) bool {
	return r.What == o.What && r.Learner == o.Learner && r.Item == o.Item
}

// Compare puts rulings in the order in which they stand: by time, and those of one
// time in an order that is the same in every book.
func (r Ruling) Compare(o Ruling) int {
	back := func(b bool) int {
		if b {
			return 1
		}
		return 0
	}
	return cmp.Or(r.At.Compare(o.At), cmp.Compare(r.What, o.What), cmp.Compare(r.Learner, o.Learner), cmp.Compare(r.Item, o.Item),
		r.Until.Compare(o.Until), cmp.Compare(back(r.Back), back(o.Back)), cmp.Compare(r.Why, o.Why), cmp.Compare(r.By, o.By))
}

// Standing finds what stands about the thing that a ruling is about; false where
// nothing was decided, or what was decided was taken back.
func (a Assignment) Standing(of Ruling) (Ruling, bool) {
	for _, r := range slices.Backward(a.Rulings) {
		if r.Same(of) {
			return r, !r.Back
		}
	}
	return Ruling{}, false
}

// DueNow is until when the assignment counts as in time for the class.
func (a Assignment) DueNow() time.Time {
	if r, moved := a.Standing(Ruling{What: DueMoved}); moved {
		return r.Until
	}
	return a.Due
}

// DueFor is until when it counts as in time for one person: an extension never makes
// it shorter.
func (a Assignment) DueFor(who LearnerID) time.Time {
	due := a.DueNow()
	if r, longer := a.Standing(Ruling{What: Extended, Learner: who}); longer && r.Until.After(due) {
		return r.Until
	}
	return due
}

// Excuses reports whether a person need not do it.
func (a Assignment) Excuses(who LearnerID) bool {
	_, excused := a.Standing(Ruling{What: Excused, Learner: who})
	return excused
}

// Gone is when it was taken back; zero while it is to be done.
func (a Assignment) Gone() time.Time {
	r, _ := a.Standing(Ruling{What: Removed})
	if r.Back {
		return time.Time{}
	}
	return r.At
}

// Drops lists the items that are left out of the grade, from 1.
func (a Assignment) Drops() (items []int) {
	for _, r := range a.Rulings {
		if r.What != Dropped || slices.Contains(items, r.Item) {
			continue
		}
		if _, dropped := a.Standing(r); dropped {
			items = append(items, r.Item)
		}
	}
	slices.Sort(items)
	return items
}
