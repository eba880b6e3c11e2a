package serve

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"slices"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/colour/tabs"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// ownBook is the book as one person's trainer sees it: their own sittings, the
// classes they are in and what those are given, and nobody else. So a trainer cannot
// show or change what is another's, whatever its screens ask for. Every method is
// written out: what a later form of the book can do more does not slip through.
type ownBook struct {
	book record.Store
	who  scoring.LearnerID
	// begun, given and ended are told what the person does.
	begun     func(scoring.Sitting)
	given     func(scoring.Attempt)
	ended     func(scoring.SittingID)
	roundTrip func() time.Duration
}

var _ record.Book = (*ownBook)(nil)

var errNotOwn = errors.New("this is not yours")

func notOwn(what string, id any) error {
	return fmt.Errorf("%s %v: %w", what, id, record.ErrNotFound)
}

func (o *ownBook) self(ctx context.Context) ([]scoring.Learner, error) {
	l, err := o.book.Learner(ctx, o.who)
	return []scoring.Learner{l}, err
}

func (o *ownBook) AddLearner(context.Context, scoring.Learner) (scoring.Learner, error) {
	return scoring.Learner{}, errNotOwn
}

func (o *ownBook) Learners(ctx context.Context) ([]scoring.Learner, error) { return o.self(ctx) }

func (o *ownBook) Learner(ctx context.Context, id scoring.LearnerID) (scoring.Learner, error) {
	l, err := o.book.Learner(ctx, id)
	if err == nil && l.ID != o.who {
		return scoring.Learner{}, notOwn("learner", id)
	}
	return l, err
}

func (o *ownBook) LearnerByName(ctx context.Context, name string) (scoring.Learner, error) {
	l, err := o.book.Learner(ctx, o.who)
	if err == nil && record.NameKey(l.Name) != record.NameKey(name) {
		return scoring.Learner{}, notOwn("learner", "of that name")
	}
	return l, err
}

func (o *ownBook) SetRole(context.Context, scoring.LearnerID, scoring.Role, time.Time) error {
	return errNotOwn
}

func (o *ownBook) ChangeLearner(context.Context, scoring.Learner, time.Time) (scoring.Learner, error) {
	return scoring.Learner{}, errNotOwn
}

func (o *ownBook) JoinLearners(context.Context, scoring.LearnerID, scoring.LearnerID, time.Time) (scoring.Learner, error) {
	return scoring.Learner{}, errNotOwn
}

func (o *ownBook) EraseLearner(context.Context, scoring.LearnerID, time.Time) error {
	return errNotOwn
}

func (o *ownBook) Deeds(context.Context) ([]record.Deed, error) { return nil, errNotOwn }

func (o *ownBook) PutSheet(ctx context.Context, s *tabs.Sheet) error { return o.book.PutSheet(ctx, s) }

func (o *ownBook) Sheet(ctx context.Context, fingerprint string) (*tabs.Sheet, error) {
	return o.book.Sheet(ctx, fingerprint)
}

// StartSitting says that the sitting is taken on the server, and how far away.
func (o *ownBook) StartSitting(ctx context.Context, s scoring.Sitting) error {
	if s.Learner != o.who {
		return errNotOwn
	}
	// The trainer may have read before it was closed what it begins now.
	set, err := setOf(ctx, o.book, s.Within)
	switch {
	case err != nil && !errors.Is(err, record.ErrNotFound):
		return err
	case err == nil && !set.Closed.IsZero():
		return fault.New(set.Name()+" is closed.", "what was given is kept; ask whoever leads your class or team")
	}
	who, err := o.book.Learner(ctx, o.who)
	if err != nil {
		return err
	}
	s.Origin = scoring.Origin{Road: scoring.RoadServer, Book: o.book.ID(), Simulated: who.Simulated}
	s.Display.RoundTrip = o.roundTrip()
	if err := o.book.StartSitting(ctx, s); err != nil {
		return err
	}
	o.begun(s)
	return nil
}

func (o *ownBook) mine(ctx context.Context, id scoring.SittingID) (scoring.Sitting, error) {
	s, err := o.book.Sitting(ctx, id)
	if err == nil && s.Learner != o.who {
		return scoring.Sitting{}, notOwn("sitting", id)
	}
	return s, err
}

func (o *ownBook) EndSitting(ctx context.Context, id scoring.SittingID, at time.Time, left bool) error {
	if _, err := o.mine(ctx, id); err != nil {
		return err
	}
	if err := o.book.EndSitting(ctx, id, at, left); err != nil {
		return err
	}
	o.ended(id)
	return nil
}

func (o *ownBook) Sitting(ctx context.Context, id scoring.SittingID) (scoring.Sitting, error) {
	s, err := o.mine(ctx, id)
	if err == nil && s.Ended.IsZero() { // it is read to be gone on with
		o.begun(s)
	}
	return s, err
}

func (o *ownBook) narrowed(f record.Filter) (record.Filter, error) {
	if f.Learner != "" && f.Learner != o.who {
		return f, errNotOwn
	}
	f.Learner = o.who
	return f, nil
}

func (o *ownBook) Sittings(ctx context.Context, f record.Filter) ([]scoring.Sitting, error) {
	f, err := o.narrowed(f)
	if err != nil {
		return nil, err
	}
	return o.book.Sittings(ctx, f)
}

func (o *ownBook) Append(ctx context.Context, a scoring.Attempt) error {
	if a.Learner != o.who { // and the book compares it with the sitting's
		return errNotOwn
	}
	if err := o.book.Append(ctx, a); err != nil {
		return err
	}
	o.given(a)
	return nil
}

func (o *ownBook) Attempts(ctx context.Context, f record.Filter) iter.Seq2[scoring.Attempt, error] {
	f, err := o.narrowed(f)
	if err != nil {
		return failing[scoring.Attempt](err)
	}
	return o.book.Attempts(ctx, f)
}

func (o *ownBook) Chains(ctx context.Context, f record.Filter) iter.Seq2[record.Chain, error] {
	f, err := o.narrowed(f)
	if err != nil {
		return failing[record.Chain](err)
	}
	return o.book.Chains(ctx, f)
}

func failing[T any](err error) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		var none T
		yield(none, err)
	}
}

func (o *ownBook) AddPanel(context.Context, record.Panel) (record.Panel, error) {
	return record.Panel{}, errNotOwn
}

func (o *ownBook) ClosePanel(context.Context, string, time.Time) error { return errNotOwn }

// Panels are those of the person's own classes, and of those for everybody the ones that
// somebody has laid down who runs one of them, or is the person, or nobody.
func (o *ownBook) Panels(ctx context.Context) ([]record.Panel, error) {
	all, err := o.book.Panels(ctx)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	near, mine := map[scoring.LearnerID]bool{"": true, o.who: true}, map[scoring.ClassID]bool{"": true}
	classes, err := classesOf(ctx, o.book, o.who)
	if err != nil {
		return nil, err
	}
	for _, c := range classes {
		mine[c.ID] = true
		roster, err := o.book.Roster(ctx, c.ID)
		if err != nil {
			return nil, err
		}
		run, err := runners(ctx, o.book, c.ID, roster)
		if err != nil {
			return nil, err
		}
		for _, id := range run {
			near[id] = true
		}
	}
	return slices.DeleteFunc(all, func(p record.Panel) bool { return !mine[p.Class] || p.Class == "" && !near[p.By] }), nil
}

func (o *ownBook) PanelByName(ctx context.Context, name string) (record.Panel, error) {
	list, err := o.Panels(ctx)
	for _, p := range list {
		if record.NameKey(p.Name) == record.NameKey(name) {
			return p, nil
		}
	}
	if err != nil {
		return record.Panel{}, err
	}
	return record.Panel{}, record.PanelNotFound(name)
}

func (o *ownBook) CloseForm(context.Context, string, time.Time) error { return errNotOwn }

func (o *ownBook) AddClass(context.Context, scoring.Class) (scoring.Class, error) {
	return scoring.Class{}, errNotOwn
}

// Classes are none: classes are looked at on the server's own pages.
func (o *ownBook) Classes(context.Context) ([]scoring.Class, error) { return nil, nil }

func (o *ownBook) ClassByName(context.Context, string) (scoring.Class, error) {
	return scoring.Class{}, notOwn("class", "of that name")
}

func (o *ownBook) RemoveClass(context.Context, scoring.ClassID) error { return errNotOwn }

func (o *ownBook) Enrol(context.Context, scoring.ClassID, scoring.LearnerID, time.Time) error {
	return errNotOwn
}

func (o *ownBook) Unenrol(context.Context, scoring.ClassID, scoring.LearnerID, time.Time) error {
	return errNotOwn
}

func (o *ownBook) Memberships(context.Context, scoring.ClassID) ([]scoring.Membership, error) {
	return nil, errNotOwn
}

func (o *ownBook) PutMembership(context.Context, scoring.ClassID, scoring.Membership) error {
	return errNotOwn
}

// Roster is the person where they are on it, and otherwise nobody.
func (o *ownBook) Roster(ctx context.Context, class scoring.ClassID) ([]scoring.Learner, error) {
	list, err := o.book.Roster(ctx, class)
	return slices.DeleteFunc(list, func(l scoring.Learner) bool { return l.ID != o.who }), err
}

func (o *ownBook) AddAssignment(context.Context, scoring.Assignment) (scoring.Assignment, error) {
	return scoring.Assignment{}, errNotOwn
}

func (o *ownBook) PutRuling(context.Context, scoring.AssignmentID, scoring.Ruling) error {
	return errNotOwn
}

// Assignments are those of the person's classes, without what was decided about others.
func (o *ownBook) Assignments(ctx context.Context, class scoring.ClassID) ([]scoring.Assignment, error) {
	list, err := o.book.Assignments(ctx, class)
	if err != nil || len(list) == 0 {
		return nil, err
	}
	mine := map[scoring.ClassID]bool{}
	classes, err := classesOf(ctx, o.book, o.who)
	for _, c := range classes {
		mine[c.ID] = true
	}
	for i := range list {
		list[i].Rulings = slices.DeleteFunc(list[i].Rulings, func(r scoring.Ruling) bool { return r.Learner != "" && r.Learner != o.who })
	}
	return slices.DeleteFunc(list, func(a scoring.Assignment) bool { return !mine[a.Class] }), err
}

func (o *ownBook) Assignment(ctx context.Context, number int) (scoring.Assignment, error) {
	list, err := o.Assignments(ctx, "")
	for _, a := range list {
		if a.Number == number {
			return a, nil
		}
	}
	if err != nil {
		return scoring.Assignment{}, err
	}
	return scoring.Assignment{}, record.NoAssignment(number)
}

// The doors are the server's alone.

func (o *ownBook) PutAccount(context.Context, record.Account) error { return errNotOwn }
func (o *ownBook) Account(context.Context, scoring.LearnerID) (record.Account, error) {
	return record.Account{}, errNotOwn
}
func (o *ownBook) Accounts(context.Context) ([]scoring.LearnerID, error) { return nil, errNotOwn }
func (o *ownBook) PutTicket(context.Context, record.Ticket) error        { return errNotOwn }
func (o *ownBook) Ticket(context.Context, string) (record.Ticket, error) {
	return record.Ticket{}, errNotOwn
}
func (o *ownBook) Tickets(context.Context, scoring.ClassID) ([]record.Ticket, error) {
	return nil, errNotOwn
}
func (o *ownBook) RemoveTickets(context.Context, scoring.ClassID, scoring.LearnerID, time.Time) error {
	return errNotOwn
}
func (o *ownBook) PutSignedIn(context.Context, record.SignedIn) error { return errNotOwn }
func (o *ownBook) SignedIn(context.Context, string) (record.SignedIn, error) {
	return record.SignedIn{}, errNotOwn
}
func (o *ownBook) SignOut(context.Context, string) error                          { return errNotOwn }
func (o *ownBook) SignOutAll(context.Context, scoring.LearnerID, time.Time) error { return errNotOwn }
func (o *ownBook) WriteServed(context.Context, record.Served) error               { return errNotOwn }
func (o *ownBook) ServedIn(context.Context, scoring.ClassID) ([]record.Served, error) {
	return nil, errNotOwn
}

// classesOf are the classes on whose roster a person is.
func classesOf(ctx context.Context, book record.Classes, who scoring.LearnerID) (mine []scoring.Class, err error) {
	all, err := book.Classes(ctx)
	if err != nil {
		return nil, err
	}
	for _, c := range all {
		in, err := book.Memberships(ctx, c.ID)
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(in, func(m scoring.Membership) bool { return m.Learner == who && !m.Off }) {
			mine = append(mine, c)
		}
	}
	return mine, nil
}
