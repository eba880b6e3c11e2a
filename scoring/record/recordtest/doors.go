package recordtest

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// doors: what a class server keeps comes back as it was put, is found by nothing but
// its identifier, and is all or nothing in a transaction.
func doors(t *testing.T, b record.Store) {
	ada, ben := Person(t, b, "Ada Finch"), Person(t, b, "Ben Moor")
	class := Class(t, b, "Monday group", ada)

	_, err := b.Account(ctx, ada.ID)
	wantIs(t, err, record.ErrNotFound)
	account := record.Account{Learner: ada.ID, Hash: "$argon2id$x", At: Noon}
	must(t, b.PutAccount(ctx, account))
	account.Wrong, account.WrongAt = 3, Noon.Add(time.Hour)
	must(t, b.PutAccount(ctx, account))
	got, err := b.Account(ctx, ada.ID)
	must(t, err)
	same(t, "account", got, account)
	ids, err := b.Accounts(ctx)
	must(t, err)
	same(t, "accounts", ids, []scoring.LearnerID{ada.ID})
	wantIs(t, b.PutAccount(ctx, record.Account{Learner: "nobody", Hash: "x", At: Noon}), record.ErrNotFound)
	if b.PutAccount(ctx, record.Account{Learner: ada.ID, At: Noon}) == nil {
		t.Error("an account without a passphrase is kept")
	}

	code := record.Ticket{ID: "CODE", Hash: "h1", Kind: record.TicketClass, Class: class.ID, By: ben.ID, At: Noon, Until: Noon.Add(time.Hour), Uses: 30}
	own := record.Ticket{ID: "OWN", Hash: "h2", Kind: record.TicketOwn, Class: class.ID, Learner: ada.ID, By: ben.ID, At: Noon.Add(time.Second), Until: Noon.Add(2 * time.Hour), Uses: 1}
	first := record.Ticket{ID: "FIRST", Hash: "h3", Kind: record.TicketFirst, At: Noon, Until: Noon.Add(time.Minute), Uses: 1}
	for _, ticket := range []record.Ticket{code, own, first} {
		must(t, b.PutTicket(ctx, ticket))
	}
	code.Used, code.Wrong, code.WrongAt = 2, 1, Noon.Add(time.Minute)
	must(t, b.PutTicket(ctx, code))
	for _, want := range []record.Ticket{code, own, first} {
		got, err := b.Ticket(ctx, want.ID)
		must(t, err)
		same(t, "ticket", got, want)
	}
	list, err := b.Tickets(ctx, class.ID)
	must(t, err)
	same(t, "tickets of a class", list, []record.Ticket{code, own})
	_, err = b.Ticket(ctx, "code")
	wantIs(t, err, record.ErrNotFound)
	wantIs(t, b.PutTicket(ctx, record.Ticket{ID: "X", Hash: "h", Kind: record.TicketClass, Class: "none", At: Noon, Until: Noon, Uses: 1}), record.ErrNotFound)
	wantIs(t, b.PutTicket(ctx, record.Ticket{ID: "X", Hash: "h", Kind: record.TicketOwn, Learner: "none", At: Noon, Until: Noon, Uses: 1}), record.ErrNotFound)
	for _, bad := range []record.Ticket{
		{ID: "X", Hash: "h", Kind: "anything", At: Noon, Until: Noon, Uses: 1},
		{ID: "X", Kind: record.TicketFirst, At: Noon, Until: Noon, Uses: 1},
		{ID: "X", Hash: "h", Kind: record.TicketFirst, At: Noon, Until: Noon},
		{ID: "X'", Hash: "h", Kind: record.TicketFirst, At: Noon, Until: Noon, Uses: 1},
		{ID: "X", Hash: "h", Kind: record.TicketFirst, Learner: ada.ID, At: Noon, Until: Noon, Uses: 1},
	} {
		if b.PutTicket(ctx, bad) == nil {
			t.Errorf("%+v is kept", bad)
		}
	}
	must(t, b.RemoveTickets(ctx, "", "", Noon.Add(time.Minute)))
	_, err = b.Ticket(ctx, first.ID)
	wantIs(t, err, record.ErrNotFound)
	must(t, b.RemoveTickets(ctx, class.ID, "", time.Time{}))
	must(t, b.RemoveTickets(ctx, "", ben.ID, time.Time{}))
	list, err = b.Tickets(ctx, class.ID)
	must(t, err)
	same(t, "a person's own stays when the class's goes", list, []record.Ticket{own})
	must(t, b.RemoveTickets(ctx, "", ada.ID, time.Time{}))
	_, err = b.Ticket(ctx, own.ID)
	wantIs(t, err, record.ErrNotFound)

	in := record.SignedIn{ID: "browser-one", Hash: "h", Learner: ada.ID, At: Noon, Seen: Noon}
	must(t, b.PutSignedIn(ctx, in))
	in.Seen = Noon.Add(time.Minute)
	must(t, b.PutSignedIn(ctx, in))
	gotIn, err := b.SignedIn(ctx, "browser-one")
	must(t, err)
	same(t, "signed in", gotIn, in)
	for _, more := range []record.SignedIn{{ID: "browser-two", Hash: "h", Learner: ada.ID, At: Noon, Seen: Noon}, {ID: "browser-three", Hash: "h", Learner: ben.ID, At: Noon, Seen: Noon}} {
		must(t, b.PutSignedIn(ctx, more))
	}
	there := func(what string, want ...string) {
		t.Helper()
		var got []string
		for _, id := range []string{"browser-one", "browser-two", "browser-three"} {
			if _, err := b.SignedIn(ctx, id); err == nil {
				got = append(got, id)
			} else {
				wantIs(t, err, record.ErrNotFound)
			}
		}
		same(t, what, got, want)
	}
	must(t, b.SignOutAll(ctx, "", Noon.Add(time.Second)))
	there("seen lately", "browser-one")
	must(t, b.PutSignedIn(ctx, record.SignedIn{ID: "browser-two", Hash: "h", Learner: ada.ID, At: Noon, Seen: Noon}))
	must(t, b.PutSignedIn(ctx, record.SignedIn{ID: "browser-three", Hash: "h", Learner: ben.ID, At: Noon, Seen: Noon}))
	must(t, b.SignOut(ctx, "browser-two"))
	must(t, b.SignOut(ctx, "browser-two"))
	there("one signed out", "browser-one", "browser-three")
	must(t, b.SignOutAll(ctx, ada.ID, time.Time{}))
	there("all of one person", "browser-three")
	for n := range record.MostSignedIn + 3 { // the one last seen is not the one last entered
		must(t, b.PutSignedIn(ctx, record.SignedIn{ID: fmt.Sprintf("browser-%02d", n), Hash: "h", Learner: ada.ID, At: Noon, Seen: Noon.Add(time.Duration(20-n) * time.Minute)}))
	}
	for n := range record.MostSignedIn + 3 {
		_, err := b.SignedIn(ctx, fmt.Sprintf("browser-%02d", n))
		if want := n < record.MostSignedIn-1 || n == record.MostSignedIn+2; (err == nil) != want {
			t.Errorf("of one person's browsers number %d is kept: %v", n, err == nil)
		}
	}
	there("somebody else's", "browser-three")
	must(t, b.SignOutAll(ctx, ada.ID, time.Time{}))

	done := record.Served{At: Noon, By: ben.ID, What: "code made", Class: class.ID, About: ada.ID}
	must(t, b.WriteServed(ctx, done))
	must(t, b.WriteServed(ctx, record.Served{At: Noon, What: "started"}))
	served, err := b.ServedIn(ctx, class.ID)
	must(t, err)
	same(t, "what was done", served, []record.Served{done})

	// All or nothing.
	failed := errors.New("no")
	wantIs(t, b.Merge(ctx, func(m record.Book) error {
		must(t, m.PutAccount(ctx, record.Account{Learner: ben.ID, Hash: "x", At: Noon}))
		must(t, m.WriteServed(ctx, record.Served{At: Noon, What: "undone"}))
		return failed
	}), failed)
	_, err = b.Account(ctx, ben.ID)
	wantIs(t, err, record.ErrNotFound)
	served, err = b.ServedIn(ctx, "")
	must(t, err)
	same(t, "what was done in no class", len(served), 1)

	// Whoever is joined with another keeps the one account there is; whoever is erased
	// keeps nothing.
	cy := Person(t, b, "Cy Vale")
	must(t, b.PutTicket(ctx, own))
	must(t, b.PutSignedIn(ctx, in))
	_, err = b.JoinLearners(ctx, ada.ID, cy.ID, Noon)
	must(t, err)
	got, err = b.Account(ctx, cy.ID)
	must(t, err)
	account.Learner = cy.ID
	same(t, "the account of whom somebody was joined with", got, account)
	_, err = b.Ticket(ctx, own.ID)
	wantIs(t, err, record.ErrNotFound)
	_, err = b.SignedIn(ctx, in.ID)
	wantIs(t, err, record.ErrNotFound)
	own.Learner, in.Learner = cy.ID, cy.ID
	must(t, b.PutTicket(ctx, own))
	must(t, b.PutSignedIn(ctx, in))
	must(t, b.EraseLearner(ctx, cy.ID, Noon))
	_, err = b.Account(ctx, cy.ID)
	wantIs(t, err, record.ErrNotFound)
	_, err = b.Ticket(ctx, own.ID)
	wantIs(t, err, record.ErrNotFound)
	_, err = b.SignedIn(ctx, in.ID)
	wantIs(t, err, record.ErrNotFound)

	// With a class goes what leads into it.
	must(t, b.PutTicket(ctx, code))
	must(t, b.RemoveClass(ctx, class.ID))
	_, err = b.Ticket(ctx, code.ID)
	wantIs(t, err, record.ErrNotFound)
}
