package sqlbook

import (
	"context"
	"fmt"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// The doors of a class server. Each statement that enters a row finds the class and
// the person by their identifiers; where one is not there it enters nothing.

func (w *Writer) enter(ctx context.Context, what, query string, args ...any) error {
	done, err := w.Tx.ExecContext(ctx, query, args...)
	if err != nil {
		return err
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return fmt.Errorf("%s: %w", what, record.ErrNotFound)
	}
	return nil
}

func (m merger) PutAccount(ctx context.Context, a record.Account) error {
	a, err := record.CheckAccount(a)
	if err != nil {
		return err
	}
	return m.w.enter(ctx, "learner "+string(a.Learner), `INSERT INTO account (learner, hash, at, wrong, wrong_at) SELECT id, ?, ?, ?, ? FROM learner WHERE ulid = ?
		ON CONFLICT (learner) DO UPDATE SET hash = excluded.hash, at = excluded.at, wrong = excluded.wrong, wrong_at = excluded.wrong_at`,
		a.Hash, a.At.UnixMilli(), a.Wrong, milli(a.WrongAt), a.Learner)
}

func (m merger) PutTicket(ctx context.Context, t record.Ticket) error {
	t, err := record.CheckTicket(t)
	if err != nil {
		return err
	}
	return m.w.enter(ctx, "the class or the person of a ticket", `INSERT INTO ticket (id, hash, kind, class, learner, by_id, at, until, uses, used, wrong, wrong_at)
		SELECT ?1, ?2, ?3, c.id, l.id, ?4, ?5, ?6, ?7, ?8, ?9, ?10
		FROM (SELECT 1) one LEFT JOIN class c ON c.ulid = ?11 LEFT JOIN learner l ON l.ulid = ?12
		WHERE (c.id IS NOT NULL OR ?11 = '') AND (l.id IS NOT NULL OR ?12 = '')
		ON CONFLICT (id) DO UPDATE SET hash = excluded.hash, kind = excluded.kind, class = excluded.class, learner = excluded.learner, by_id = excluded.by_id,
			at = excluded.at, until = excluded.until, uses = excluded.uses, used = excluded.used, wrong = excluded.wrong, wrong_at = excluded.wrong_at`,
		t.ID, t.Hash, t.Kind, t.By, t.At.UnixMilli(), t.Until.UnixMilli(), t.Uses, t.Used, t.Wrong, milli(t.WrongAt), t.Class, t.Learner)
}

func (m merger) RemoveTickets(ctx context.Context, class scoring.ClassID, who scoring.LearnerID, past time.Time) error {
	_, err := m.w.Tx.ExecContext(ctx, `DELETE FROM ticket WHERE until <= ?1 OR ?2 <> '' AND learner = (SELECT id FROM learner WHERE ulid = ?2)
		OR ?2 = '' AND learner IS NULL AND class = (SELECT id FROM class WHERE ulid = ?3)`, milli(past), who, class)
	return err
}

func (m merger) PutSignedIn(ctx context.Context, s record.SignedIn) error {
	s, err := record.CheckSignedIn(s)
	if err != nil {
		return err
	}
	err = m.w.enter(ctx, "learner "+string(s.Learner), `INSERT INTO signed_in (id, hash, learner, at, seen) SELECT ?, ?, id, ?, ? FROM learner WHERE ulid = ?
		ON CONFLICT (id) DO UPDATE SET hash = excluded.hash, learner = excluded.learner, at = excluded.at, seen = excluded.seen`,
		s.ID, s.Hash, s.At.UnixMilli(), s.Seen.UnixMilli(), s.Learner)
	if err != nil {
		return err
	}
	_, err = m.w.Tx.ExecContext(ctx, `DELETE FROM signed_in WHERE learner = (SELECT id FROM learner WHERE ulid = ?) AND id <> ? AND id NOT IN
		(SELECT id FROM signed_in WHERE learner = (SELECT id FROM learner WHERE ulid = ?) AND id <> ? ORDER BY seen DESC, id LIMIT ?)`,
		s.Learner, s.ID, s.Learner, s.ID, record.MostSignedIn-1)
	return err
}

func (m merger) SignOut(ctx context.Context, id string) error {
	_, err := m.w.Tx.ExecContext(ctx, "DELETE FROM signed_in WHERE id = ?", id)
	return err
}

func (m merger) SignOutAll(ctx context.Context, who scoring.LearnerID, seenBefore time.Time) error {
	_, err := m.w.Tx.ExecContext(ctx, `DELETE FROM signed_in WHERE ?1 <> '' AND learner = (SELECT id FROM learner WHERE ulid = ?1) OR ?1 = '' AND seen < ?2`,
		who, milli(seenBefore))
	return err
}

func (m merger) WriteServed(ctx context.Context, s record.Served) error {
	s, err := record.CheckServed(s)
	if err != nil {
		return err
	}
	_, err = m.w.Tx.ExecContext(ctx, "INSERT INTO served (id, at, by_id, what, class, about) VALUES (?, ?, ?, ?, ?, ?)", m.w.Tx.key(), s.At.UnixMilli(), s.By, s.What, s.Class, s.About)
	return err
}

// milli is a time as it is stored; 0 for none.
func milli(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMilli()
}

// stored is a time as it was stored.
func stored(ms int64) time.Time {
	if ms == 0 {
		return time.Time{}
	}
	return time.UnixMilli(ms).UTC()
}

func account(ctx context.Context, q Session, id scoring.LearnerID) (a record.Account, err error) {
	var at, wrongAt int64
	err = q.Patiently(ctx, func() error {
		return q.QueryRowContext(ctx, "SELECT l.ulid, a.hash, a.at, a.wrong, a.wrong_at FROM account a JOIN learner l ON l.id = a.learner WHERE l.ulid = ?", id).
			Scan(&a.Learner, &a.Hash, &at, &a.Wrong, &wrongAt)
	})
	a.At, a.WrongAt = stored(at), stored(wrongAt)
	return a, found("an account of learner "+string(id), err)
}

func accounts(ctx context.Context, q Session) (list []scoring.LearnerID, err error) {
	err = q.Each(ctx, "SELECT l.ulid FROM account a JOIN learner l ON l.id = a.learner ORDER BY l.ulid", nil, func(rows Scanner) error {
		var id scoring.LearnerID
		err := rows.Scan(&id)
		list = append(list, id)
		return err
	})
	return list, err
}

const ticketColumns = `SELECT t.id, t.hash, t.kind, coalesce(c.ulid, ''), coalesce(l.ulid, ''), t.by_id, t.at, t.until, t.uses, t.used, t.wrong, t.wrong_at
	FROM ticket t LEFT JOIN class c ON c.id = t.class LEFT JOIN learner l ON l.id = t.learner`

func scanTicket(row interface{ Scan(...any) error }) (t record.Ticket, err error) {
	var at, until, wrongAt int64
	err = row.Scan(&t.ID, &t.Hash, &t.Kind, &t.Class, &t.Learner, &t.By, &at, &until, &t.Uses, &t.Used, &t.Wrong, &wrongAt)
	t.At, t.Until, t.WrongAt = stored(at), stored(until), stored(wrongAt)
	return t, err
}

func ticket(ctx context.Context, q Session, id string) (t record.Ticket, err error) {
	err = q.Patiently(ctx, func() error {
		t, err = scanTicket(q.QueryRowContext(ctx, ticketColumns+" WHERE t.id = ?", id))
		return err
	})
	return t, found("ticket", err)
}

func tickets(ctx context.Context, q Session, class scoring.ClassID) (list []record.Ticket, err error) {
	err = q.Each(ctx, ticketColumns+" WHERE coalesce(c.ulid, '') = ? ORDER BY t.at, t.id", []any{class}, func(rows Scanner) error {
		t, err := scanTicket(rows)
		list = append(list, t)
		return err
	})
	return list, err
}

func signedIn(ctx context.Context, q Session, id string) (s record.SignedIn, err error) {
	var at, seen int64
	err = q.Patiently(ctx, func() error {
		return q.QueryRowContext(ctx, "SELECT s.id, s.hash, l.ulid, s.at, s.seen FROM signed_in s JOIN learner l ON l.id = s.learner WHERE s.id = ?", id).
			Scan(&s.ID, &s.Hash, &s.Learner, &at, &seen)
	})
	s.At, s.Seen = stored(at), stored(seen)
	return s, found("a browser", err)
}

func servedIn(ctx context.Context, q Session, class scoring.ClassID) (list []record.Served, err error) {
	err = q.Each(ctx, "SELECT at, by_id, what, class, about FROM served WHERE class = ? ORDER BY id", []any{class}, func(rows Scanner) error {
		var s record.Served
		var at int64
		err := rows.Scan(&at, &s.By, &s.What, &s.Class, &s.About)
		s.At = stored(at)
		list = append(list, s)
		return err
	})
	return list, err
}
