package sqlbook

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// PutRuling writes down what was decided about an assignment.
func (b *Book) PutRuling(ctx context.Context, id scoring.AssignmentID, r scoring.Ruling) error {
	return b.Update(ctx, func(w *Writer) error { return merger{w}.PutRuling(ctx, id, r) })
}

func (m merger) PutRuling(ctx context.Context, id scoring.AssignmentID, r scoring.Ruling) error {
	r, err := record.CheckRuling(r)
	if err != nil {
		return err
	}
	var number int
	if err := m.w.Tx.QueryRowContext(ctx, "SELECT number FROM assignment WHERE ulid = ?", id).Scan(&number); err != nil {
		return found(fmt.Sprintf("assignment %s", id), err)
	}
	rows := [2]any{}
	for i, who := range []*scoring.LearnerID{&r.Learner, &r.By} {
		if *who == "" {
			continue
		}
		l, err := learner(ctx, m.w.Tx, *who)
		if err != nil {
			return err
		}
		if rows[i], err = m.w.learnerRow(ctx, l.ID); err != nil {
			return err
		}
		*who = l.ID
	}
	there := map[int][]scoring.Ruling{}
	if err := rulings(ctx, m.w.Tx, there, "WHERE r.assignment = ?", number); err != nil || slices.Contains(there[number], r) {
		return err
	}
	var until any
	if !r.Until.IsZero() {
		until = r.Until.UnixMilli()
	}
	_, err = m.w.Tx.ExecContext(ctx, "INSERT INTO ruling (id, assignment, what, learner, item, until, back, why, decider, at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
		m.w.Tx.key(), number, r.What, rows[0], r.Item, until, r.Back, r.Why, rows[1], r.At.UnixMilli())
	m.w.Unsealed = true
	return err
}

// rulings gathers what was decided, by the number of the assignment.
func rulings(ctx context.Context, q Session, into map[int][]scoring.Ruling, where string, args ...any) error {
	err := q.Each(ctx, `SELECT r.assignment, r.what, coalesce(l.ulid, ''), r.item, r.until, r.back, r.why, coalesce(d.ulid, ''), r.at
		FROM ruling r LEFT JOIN learner l ON l.id = r.learner LEFT JOIN learner d ON d.id = r.decider `+where, args, func(rows Scanner) error {
		var r scoring.Ruling
		var number int
		var at int64
		var until sql.NullInt64
		err := rows.Scan(&number, &r.What, &r.Learner, &r.Item, &until, &r.Back, &r.Why, &r.By, &at)
		r.At = time.UnixMilli(at).UTC()
		if until.Valid {
			r.Until = time.UnixMilli(until.Int64).UTC()
		}
		into[number] = append(into[number], r)
		return err
	})
	for number, list := range into {
		slices.SortFunc(list, scoring.Ruling.Compare)
		into[number] = slices.Compact(list) // of two people who were joined
	}
	return err
}
