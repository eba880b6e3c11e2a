package record

import (
	"context"
	"fmt"
	"time"

	"shadedrill/scoring"
)

// Account is how a person signs in on a class server.
type Account struct {
	Learner scoring.LearnerID
	Hash    string    // of the passphrase
	At      time.Time // when it was chosen
	// Wrong are the wrong passphrases since the last right one, WrongAt is the time of
	// the last of them.
	Wrong   int
	WrongAt time.Time
}

// Ticket is a link or a code: whoever shows its secret may do one thing. A book keeps
// only a hash of the secret.
type Ticket struct {
	ID, Hash string
	Kind     TicketKind
	Class    scoring.ClassID   // that it leads into, or empty
	Learner  scoring.LearnerID // whom alone it is for, or empty
	By       scoring.LearnerID // who made it; empty for the server itself
	At       time.Time
	Until    time.Time // it is good before that
	Uses     int       // how often it may be used
	Used     int
	Wrong    int // wrong secrets shown with its identifier in a row
	WrongAt  time.Time
}

// TicketKind is what a ticket is good for. The texts stand in books.
type TicketKind string

const (
	TicketFirst TicketKind = "first instructor" // makes somebody instructor of an empty house
	TicketClass TicketKind = "class"            // takes somebody of the roster into a class
	TicketOwn   TicketKind = "own"              // lets one person choose a passphrase
)

// Good reports whether the ticket can be used at a time.
func (t Ticket) Good(now time.Time) bool { return t.Used < t.Uses && now.Before(t.Until) }

// SignedIn is a browser in which a person has signed in.
type SignedIn struct {
	ID, Hash string
	Learner  scoring.LearnerID
	At, Seen time.Time
}

// Served is something that was done on a class server. No name stands in it.
type Served struct {
	At    time.Time
	By    scoring.LearnerID // who did it; empty for the server itself
	What  string
	Class scoring.ClassID   // that it was about, or empty
	About scoring.LearnerID // whom it was about, or empty
}

// doors are what a class server keeps: how people sign in, and what was done there.
// What is about a person goes with them when they are taken out of the book, but for
// what was done, which holds identifiers alone.
type doors interface {
	// PutAccount enters or replaces the account of a person of the book.
	PutAccount(context.Context, Account) error
	// Account finds a person's; ErrNotFound for who has none.
	Account(context.Context, scoring.LearnerID) (Account, error)
	// Accounts lists those who have one, by identifier.
	Accounts(context.Context) ([]scoring.LearnerID, error)

	// PutTicket enters or replaces a ticket; its class and person must be in the book.
	PutTicket(context.Context, Ticket) error
	// Ticket finds one; ErrNotFound.
	Ticket(ctx context.Context, id string) (Ticket, error)
	// Tickets lists those into a class, by time.
	Tickets(context.Context, scoring.ClassID) ([]Ticket, error)
	// RemoveTickets takes out those for one person, or of one class for nobody in
	// particular, and all that were good until then.
	RemoveTickets(ctx context.Context, class scoring.ClassID, who scoring.LearnerID, past time.Time) error

	// PutSignedIn enters or replaces where a person is signed in. Of one person the
	// [MostSignedIn] that were last seen are kept, and this one.
	PutSignedIn(context.Context, SignedIn) error
	// SignedIn finds one; ErrNotFound.
	SignedIn(ctx context.Context, id string) (SignedIn, error)
	// SignOut ends one; that it is not there is no error.
	SignOut(ctx context.Context, id string) error
	// SignOutAll ends all of a person, and with nobody named all that were last seen
	// before a time.
	SignOutAll(ctx context.Context, who scoring.LearnerID, seenBefore time.Time) error

	// WriteServed writes down what was done.
	WriteServed(context.Context, Served) error
	// ServedIn lists what was done in a class, oldest first; with no class, what
	// was done in none.
	ServedIn(context.Context, scoring.ClassID) ([]Served, error)
}

// MostSignedIn bounds in how many browsers one person is signed in. House choice: a
// laptop, a telephone, a tablet and what the clinic has, a few times over.
const MostSignedIn = 10

// CheckAccount brings an account into the form in which a book keeps it.
func CheckAccount(a Account) (Account, error) {
	const what = "an account"
	err := firstError(checkID(what, string(a.Learner)), CheckMoment(what, a.At), checkText(what, a.Hash))
	if err == nil && a.Hash == "" {
		err = fmt.Errorf("%s has no passphrase", what)
	}
	a.At, a.WrongAt = moment(a.At), moment(a.WrongAt)
	return a, err
}

// CheckTicket brings a ticket into the form in which a book keeps it.
func CheckTicket(t Ticket) (Ticket, error) {
	const what = "a ticket"
	err := firstError(checkID(what, t.ID), CheckMoment(what, t.At), CheckMoment("the end of "+what, t.Until), checkText(what, t.Hash, string(t.By)))
	switch {
	case err != nil:
	case t.Hash == "":
		err = fmt.Errorf("%s has no secret", what)
	case t.Uses < 1 || t.Used < 0 || t.Wrong < 0:
		err = fmt.Errorf("%s is counted wrong", what)
	case t.Kind == TicketFirst && t.Class == "" && t.Learner == "":
	case t.Kind == TicketClass && t.Class != "" && t.Learner == "":
	case t.Kind == TicketOwn && t.Learner != "":
	default:
		err = fmt.Errorf("%s of kind %q opens nothing", what, string(t.Kind))
	}
	t.At, t.Until, t.WrongAt = moment(t.At), moment(t.Until), moment(t.WrongAt)
	return t, err
}

// CheckSignedIn brings where somebody is signed in into the form of a book.
func CheckSignedIn(s SignedIn) (SignedIn, error) {
	const what = "a browser"
	err := firstError(checkID(what, s.ID), checkID(what, string(s.Learner)), CheckMoment(what, s.At), CheckMoment(what, s.Seen), checkText(what, s.Hash))
	if err == nil && s.Hash == "" {
		err = fmt.Errorf("%s has no secret", what)
	}
	s.At, s.Seen = moment(s.At), moment(s.Seen)
	return s, err
}

// CheckServed brings what was done into the form in which a book keeps it.
func CheckServed(s Served) (Served, error) {
	const what = "what was done"
	err := firstError(CheckMoment(what, s.At), checkText(what, s.What, string(s.By), string(s.Class), string(s.About)))
	s.At = moment(s.At)
	return s, err
}
