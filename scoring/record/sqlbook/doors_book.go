package sqlbook

import (
	"context"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// What the doors of a class server are on the book itself and in a transaction.

func (b *Book) Account(ctx context.Context, id scoring.LearnerID) (record.Account, error) {
	v, err := account(ctx, b.read, id)
	return v, b.Explain(err)
}

func (m merger) Account(ctx context.Context, id scoring.LearnerID) (record.Account, error) {
	return account(ctx, m.w.Tx, id)
}

func (b *Book) Accounts(ctx context.Context) ([]scoring.LearnerID, error) {
	v, err := accounts(ctx, b.read)
	return v, b.Explain(err)
}

func (m merger) Accounts(ctx context.Context) ([]scoring.LearnerID, error) {
	return accounts(ctx, m.w.Tx)
}

func (b *Book) Ticket(ctx context.Context, id string) (record.Ticket, error) {
	v, err := ticket(ctx, b.read, id)
	return v, b.Explain(err)
}

func (m merger) Ticket(ctx context.Context, id string) (record.Ticket, error) {
	return ticket(ctx, m.w.Tx, id)
}

func (b *Book) Tickets(ctx context.Context, class scoring.ClassID) ([]record.Ticket, error) {
	v, err := tickets(ctx, b.read, class)
	return v, b.Explain(err)
}

func (m merger) Tickets(ctx context.Context, class scoring.ClassID) ([]record.Ticket, error) {
	return tickets(ctx, m.w.Tx, class)
}

func (b *Book) SignedIn(ctx context.Context, id string) (record.SignedIn, error) {
	v, err := signedIn(ctx, b.read, id)
	return v, b.Explain(err)
}

func (m merger) SignedIn(ctx context.Context, id string) (record.SignedIn, error) {
	return signedIn(ctx, m.w.Tx, id)
}

func (b *Book) ServedIn(ctx context.Context, class scoring.ClassID) ([]record.Served, error) {
	v, err := servedIn(ctx, b.read, class)
	return v, b.Explain(err)
}

func (m merger) ServedIn(ctx context.Context, class scoring.ClassID) ([]record.Served, error) {
	return servedIn(ctx, m.w.Tx, class)
}

func (b *Book) PutAccount(ctx context.Context, a record.Account) error {
	return b.updateRows(ctx, func(w *Writer) error { return merger{w}.PutAccount(ctx, a) })
}

func (b *Book) PutTicket(ctx context.Context, t record.Ticket) error {
	return b.updateRows(ctx, func(w *Writer) error { return merger{w}.PutTicket(ctx, t) })
}

func (b *Book) RemoveTickets(ctx context.Context, class scoring.ClassID, who scoring.LearnerID, past time.Time) error {
	return b.Update(ctx, func(w *Writer) error { return merger{w}.RemoveTickets(ctx, class, who, past) })
}

func (b *Book) PutSignedIn(ctx context.Context, s record.SignedIn) error {
	return b.updateRows(ctx, func(w *Writer) error { return merger{w}.PutSignedIn(ctx, s) })
}

func (b *Book) SignOut(ctx context.Context, id string) error {
	return b.updateRows(ctx, func(w *Writer) error { return merger{w}.SignOut(ctx, id) })
}

func (b *Book) SignOutAll(ctx context.Context, who scoring.LearnerID, seenBefore time.Time) error {
	return b.updateRows(ctx, func(w *Writer) error { return merger{w}.SignOutAll(ctx, who, seenBefore) })
}

func (b *Book) WriteServed(ctx context.Context, s record.Served) error {
	return b.updateRows(ctx, func(w *Writer) error { return merger{w}.WriteServed(ctx, s) })
}
