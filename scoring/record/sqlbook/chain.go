package sqlbook

import (
	"context"
	"database/sql"
	"iter"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// blob is a link as a column holds it; the zero link is NULL.
func blob(l record.Link) any {
	if l == (record.Link{}) {
		return nil
	}
	return l[:]
}

// readLink is a link as a column holds it; anything else is the zero link.
func readLink(b []byte) (l record.Link) {
	if len(b) == len(l) {
		copy(l[:], b)
	}
	return l
}

// startChain writes the first link of a sitting that was entered in row id.
func (w *Writer) startChain(ctx context.Context, id int64, s scoring.Sitting) error {
	return w.putChain(ctx, id, record.ChainOf(s, nil))
}

// putChain writes a chain's own row, in the place of one that was there.
func (w *Writer) putChain(ctx context.Context, id int64, c record.Chain) error {
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
	_, err := w.Tx.ExecContext(ctx, `INSERT INTO chain (sitting, start, answers, last, head, closed, begun, why, lost) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (sitting) DO UPDATE SET start = excluded.start, answers = excluded.answers, last = excluded.last, head = excluded.head,
			closed = excluded.closed, begun = excluded.begun, why = excluded.why, lost = excluded.lost`,
		id, c.Start[:], c.Count, last, c.Head[:], closed, begun, why, c.Lost)
	return err
}

// extend writes that an answer was taken after all others of the current sitting.
func (w *Writer) extend(ctx context.Context, ordinal int, l record.Link) (err error) {
	if w.lengthen == nil {
		if w.lengthen, err = w.Tx.prepare(ctx, lengthenChain); err != nil {
			return err
		}
	}
	if _, err = w.lengthen(ctx, ordinal, l[:], w.at.id); err == nil {
		w.at.last, w.at.head = ordinal, l
	}
	return err
}

// relink puts an answer into the middle of a chain: an import may bring one that
// was missing. A chain that did not hold before stays as it is, so that this is
// no way to mend it unseen.
func (w *Writer) relink(ctx context.Context, added scoring.Attempt) error {
	m := merger{w}
	s, err := sitting(ctx, w.Tx, added.Sitting)
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
func (w *Writer) rewrite(ctx context.Context, id int64, c record.Chain) error {
	if w.link == nil {
		var err error
		if w.link, err = w.Tx.prepare(ctx, "UPDATE attempt SET link = ? WHERE sitting = ? AND ordinal = ?"); err != nil {
			return err
		}
	}
	for _, l := range c.Answers {
		if _, err := w.link(ctx, l.Link[:], id, l.Ordinal); err != nil {
			return err
		}
	}
	if w.at.id == id {
		w.at = place{}
	}
	return w.putChain(ctx, id, c)
}

// Rechain begins the chain of a sitting anew, by what is in the book; begun and why
// stand in it.
func (w *Writer) Rechain(ctx context.Context, row int64, id scoring.SittingID, begun time.Time, why string) error {
	c, err := w.chainOf(ctx, id)
	if err != nil {
		return err
	}
	c.Begun, c.Why = begun, why
	return w.rewrite(ctx, row, c)
}

// chainOf computes the chain that a sitting in the book has by what is there.
func (w *Writer) chainOf(ctx context.Context, id scoring.SittingID) (record.Chain, error) {
	s, err := sitting(ctx, w.Tx, id)
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
		return b.moment(ctx, func(_ Reading, q Session) error { return chains(ctx, q, f, take) })
	})
}

func (m merger) Chains(ctx context.Context, f record.Filter) iter.Seq2[record.Chain, error] {
	return gathered(func(take func(record.Chain)) error { return chains(ctx, m.w.Tx, f, take) })
}

func chains(ctx context.Context, q Session, f record.Filter, take func(record.Chain)) error {
	where, args := ofSittings(f)
	links := map[int64][]record.Linked{}
	err := q.Each(ctx, "SELECT a.sitting, a.ordinal, a.link FROM sitting s CROSS JOIN attempt a ON a.sitting = s.id WHERE "+where+" ORDER BY a.sitting, a.ordinal", args,
		func(rows Scanner) error {
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
	return q.Each(ctx, `SELECT s.id, s.ulid, c.start, coalesce(c.answers, 0), c.head, c.closed, c.begun, coalesce(c.why, ''), coalesce(c.lost, 0)
		FROM sitting s LEFT JOIN chain c ON c.sitting = s.id WHERE `+where+" ORDER BY s.started, s.ulid", args,
		func(rows Scanner) error {
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
