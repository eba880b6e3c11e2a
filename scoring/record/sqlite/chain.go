package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"iter"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// firstChained is the form from which on books have chains and seals.
const firstChained = 5

// blob is a link as a column holds it; the zero link is NULL.
func blob(l record.Link) any {
	if l == (record.Link{}) {
		return nil
	}
	return l[:]
}

func readLink(b []byte) (l record.Link) {
	if len(b) == len(l) {
		copy(l[:], b)
	}
	return l
}

// startChain writes the first link of a sitting that was entered in row id.
func (w *writer) startChain(ctx context.Context, id int64, s scoring.Sitting) error {
	return w.putChain(ctx, id, record.ChainOf(s, nil))
}

// putChain writes a chain's own row, in the place of one that was there.
func (w *writer) putChain(ctx context.Context, id int64, c record.Chain) error {
	last := -1
	if n := len(c.Answers); n > 0 {
		last = c.Answers[n-1].Ordinal
	}
	var begun, why, closed any
	if !c.Begun.IsZero() {
		begun, why = c.Begun.UnixMilli(), c.Why
	}
	if c.Closed {
		closed = blob(c.End)
	}
	_, err := w.tx.ExecContext(ctx, `INSERT INTO chain (sitting, start, answers, last, head, closed, begun, why, lost) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (sitting) DO UPDATE SET start = excluded.start, answers = excluded.answers, last = excluded.last, head = excluded.head,
			closed = excluded.closed, begun = excluded.begun, why = excluded.why, lost = excluded.lost`,
		id, c.Start[:], c.Count, last, c.Head[:], closed, begun, why, c.Lost)
	return err
}

// extend writes that an answer was taken after all others of the current sitting.
func (w *writer) extend(ctx context.Context, ordinal int, l record.Link) (err error) {
	if w.lengthen == nil {
		if w.lengthen, err = w.tx.PrepareContext(ctx, "UPDATE chain SET answers = answers + 1, last = ?, head = ? WHERE sitting = ?"); err != nil {
			return err
		}
	}
	if _, err = w.lengthen.ExecContext(ctx, ordinal, l[:], w.at.id); err == nil {
		w.at.last, w.at.head = ordinal, l
	}
	return err
}

// relink puts an answer into the middle of a chain: an import may bring one that
// was missing. A chain that did not hold before stays as it is, so that this is
// no way to mend it unseen.
func (w *writer) relink(ctx context.Context, added scoring.Attempt) error {
	m := merger{w}
	s, err := sitting(ctx, w.tx, added.Sitting)
	if err != nil {
		return err
	}
	var old, all []scoring.Attempt
	for a, err := range m.Attempts(ctx, record.Filter{Sitting: s.ID, Silent: true}) {
		if err != nil {
			return err
		}
		if all = append(all, a); a.Trial.Ordinal != added.Trial.Ordinal {
			old = append(old, a)
		}
	}
	var c record.Chain
	for c, err = range m.Chains(ctx, record.Filter{Sitting: s.ID}) {
		if err != nil {
			return err
		}
	}
	kept := c.Answers[:0]
	for _, l := range c.Answers {
		if l.Ordinal != added.Trial.Ordinal {
			kept = append(kept, l)
		}
	}
	c.Answers = kept
	lost := c.Lost
	c.Lost = false
	if len(record.VerifyChain(s, old, c)) > 0 {
		return nil
	}
	fresh := record.ChainOf(s, all)
	fresh.Begun, fresh.Why, fresh.Lost = c.Begun, c.Why, lost
	return w.rewrite(ctx, w.at.id, fresh)
}

// rewrite writes a whole chain anew.
func (w *writer) rewrite(ctx context.Context, id int64, c record.Chain) error {
	for _, l := range c.Answers {
		if _, err := w.tx.ExecContext(ctx, "UPDATE attempt SET link = ? WHERE sitting = ? AND ordinal = ?", l.Link[:], id, l.Ordinal); err != nil {
			return err
		}
	}
	if w.at.id == id {
		w.at = place{}
	}
	return w.putChain(ctx, id, c)
}

// takeOver begins the chains of sittings that were in the book before it had any. A
// sitting that cannot be read gets none, which book check then says.
func (w *writer) takeOver(ctx context.Context) error {
	var begun int64
	if err := w.tx.QueryRowContext(ctx, "SELECT at FROM book").Scan(&begun); err != nil {
		return err
	}
	type row struct {
		id   int64
		ulid scoring.SittingID
	}
	var rows []row
	err := each(ctx, w.tx, "SELECT id, ulid FROM sitting ORDER BY id", nil, func(r *sql.Rows) error {
		var one row
		err := r.Scan(&one.id, &one.ulid)
		rows = append(rows, one)
		return err
	})
	if err != nil {
		return err
	}
	for _, r := range rows {
		c, err := w.chainOf(ctx, r.ulid)
		if err != nil {
			if code(err) != 0 || ctx.Err() != nil {
				return err
			}
			continue
		}
		c.Begun, c.Why = time.UnixMilli(begun).UTC(), record.WhyOlderForm
		if err := w.rewrite(ctx, r.id, c); err != nil {
			return err
		}
	}
	return nil
}

// chainOf computes the chain that a sitting in the book has by what is there.
func (w *writer) chainOf(ctx context.Context, id scoring.SittingID) (record.Chain, error) {
	s, err := sitting(ctx, w.tx, id)
	if err != nil {
		return record.Chain{}, err
	}
	var answers []scoring.Attempt
	for a, err := range (merger{w}).Attempts(ctx, record.Filter{Sitting: id, Silent: true}) {
		if err != nil {
			return record.Chain{}, err
		}
		answers = append(answers, a)
	}
	return record.ChainOf(s, answers), nil
}

// Chains yields what was written down about each sitting as it grew.
func (b *Book) Chains(ctx context.Context, f record.Filter) iter.Seq2[record.Chain, error] {
	return gathered(func(take func(record.Chain)) error {
		return b.reading(ctx, func(conn *sql.Conn) error { return chains(ctx, conn, f, take) })
	})
}

func (m merger) Chains(ctx context.Context, f record.Filter) iter.Seq2[record.Chain, error] {
	return gathered(func(take func(record.Chain)) error { return chains(ctx, m.w.tx, f, take) })
}

func chains(ctx context.Context, q querier, f record.Filter, take func(record.Chain)) error {
	where, args := ofSittings(f)
	links := map[int64][]record.Linked{}
	err := each(ctx, q, "SELECT a.sitting, a.ordinal, a.link FROM sitting s CROSS JOIN attempt a ON a.sitting = s.id WHERE "+where+" ORDER BY a.sitting, a.ordinal", args,
		func(rows *sql.Rows) error {
			var id int64
			var l record.Linked
			var raw sql.RawBytes
			err := rows.Scan(&id, &l.Ordinal, &raw)
			l.Link = readLink(raw)
			links[id] = append(links[id], l)
			return err
		})
	if err != nil {
		return err
	}
	return each(ctx, q, `SELECT s.id, s.ulid, c.start, ifnull(c.answers, 0), c.head, c.closed, c.begun, ifnull(c.why, ''), ifnull(c.lost, 0)
		FROM sitting s LEFT JOIN chain c ON c.sitting = s.id WHERE `+where+" ORDER BY s.started, s.ulid", args,
		func(rows *sql.Rows) error {
			var c record.Chain
			var id int64
			var start, head, closed []byte
			var begun sql.NullInt64
			if err := rows.Scan(&id, &c.Sitting, &start, &c.Count, &head, &closed, &begun, &c.Why, &c.Lost); err != nil {
				return err
			}
			c.Start, c.Head, c.End, c.Closed, c.Answers = readLink(start), readLink(head), readLink(closed), closed != nil, links[id]
			if begun.Valid {
				c.Begun = time.UnixMilli(begun.Int64).UTC()
			}
			take(c)
			return nil
		})
}

// reading calls f with a connection in one transaction, so that all that f reads is
// of one moment.
func (b *Book) reading(ctx context.Context, f func(*sql.Conn) error) error {
	var conn *sql.Conn
	err := patiently(ctx, func() (err error) {
		conn, err = b.read.Conn(ctx)
		return err
	})
	if err != nil {
		return explain(b.path, err)
	}
	defer conn.Close()
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return explain(b.path, err)
	}
	defer tx.Rollback()
	return explain(b.path, f(conn))
}

// Whole says whether the file is sound, every row that carries a seal is as it was
// sealed, and the chains of the sittings that the filter takes hold.
func (b *Book) Whole(ctx context.Context, f record.Filter) error {
	var found record.Inventory
	if err := checkFile(ctx, b.path, &found); err != nil {
		return err
	}
	for _, check := range []func(context.Context, *record.Inventory) error{b.checkLayout, b.checkSeals} {
		if found.Sound() {
			if err := check(ctx, &found); err != nil {
				return err
			}
		}
	}
	if !found.Sound() {
		return fault.New(fmt.Sprintf("the book %s is damaged: %s", b.path, found.Findings[0]), damaged)
	}
	broken, err := record.VerifyChains(ctx, b, f)
	if err != nil {
		return err
	}
	return broken.Err()
}

const damaged = `see "shadedrill book check"; "shadedrill book salvage" saves into a new book what can still be read`
