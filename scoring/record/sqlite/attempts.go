package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"iter"
	"strings"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

var insertAttempt = "INSERT INTO attempt (" + columns + ") VALUES (?" + strings.Repeat(", ?", colCount-1) + ") ON CONFLICT DO NOTHING"

// Append records an answer.
func (b *Book) Append(ctx context.Context, a scoring.Attempt) error {
	a, err := record.CheckAttempt(a)
	if err != nil {
		return err
	}
	var e *entry
	err = b.update(ctx, func(tx *sql.Tx) error {
		e = &entry{words: &b.words, tx: tx}
		var sitting int64
		var learner scoring.LearnerID
		var ended sql.NullInt64
		err := tx.QueryRowContext(ctx, "SELECT s.id, l.ulid, s.ended FROM sitting s JOIN learner l ON l.id = s.learner WHERE s.ulid = ?", a.Sitting).
			Scan(&sitting, &learner, &ended)
		switch {
		case errors.Is(err, sql.ErrNoRows):
			return fmt.Errorf("sitting %s: %w", a.Sitting, record.ErrNotFound)
		case err != nil:
			return err
		case learner != a.Learner:
			return record.WrongLearner(a)
		}
		if !ended.Valid {
			row, err := e.row(ctx, sitting, a)
			if err != nil {
				return err
			}
			done, err := tx.ExecContext(ctx, insertAttempt, row...)
			if err != nil {
				return err
			}
			if n, err := done.RowsAffected(); err != nil || n == 1 {
				return err
			}
		}
		// It is there already, or the sitting has ended.
		old, err := e.existing(ctx, sitting, owner{learner, a.Sitting, ""}, a.Trial.Ordinal)
		switch {
		case errors.Is(err, sql.ErrNoRows):
			return fmt.Errorf("sitting %s: %w", a.Sitting, record.ErrEnded)
		case err != nil:
			return err
		case !record.SameAttempt(old, a):
			return fmt.Errorf("attempt %s: %w", a.ID(), record.ErrTaken)
		}
		return nil
	})
	if err == nil {
		e.done()
	}
	return err
}

// existing reads one attempt within the transaction.
func (e *entry) existing(ctx context.Context, sitting int64, of owner, ordinal int) (scoring.Attempt, error) {
	cells, pointers := make([]any, colCount), make([]any, colCount)
	for i := range cells {
		pointers[i] = &cells[i]
	}
	err := e.tx.QueryRowContext(ctx, "SELECT "+columns+" FROM attempt WHERE sitting = ? AND ordinal = ?", sitting, ordinal).Scan(pointers...)
	if err != nil {
		return scoring.Attempt{}, err
	}
	row := make([]driver.Value, colCount)
	for i, v := range cells {
		row[i] = v
	}
	var w words // its own: what this transaction entered may yet be taken back
	r := reader{owners: map[int64]owner{sitting: of}, refresh: func() ([]string, error) {
		err := w.refresh(ctx, e.tx)
		return w.texts(), err
	}}
	return r.attempt(row)
}

// Attempts yields attempts, whole.
func (b *Book) Attempts(ctx context.Context, f record.Filter) iter.Seq2[scoring.Attempt, error] {
	return func(yield func(scoring.Attempt, error) bool) {
		err := b.scan(ctx, f, func(r *reader, row []driver.Value) (bool, error) {
			a, err := r.attempt(row)
			if err != nil {
				return false, err
			}
			return yield(a, nil), nil
		})
		if err != nil {
			yield(scoring.Attempt{}, err)
		}
	}
}

// Briefs yields the same attempts, with only what most statistics need.
func (b *Book) Briefs(ctx context.Context, f record.Filter) iter.Seq2[record.Brief, error] {
	return func(yield func(record.Brief, error) bool) {
		var brief record.Brief
		err := b.scan(ctx, f, func(r *reader, row []driver.Value) (bool, error) {
			if _, err := r.brief(row, &brief); err != nil {
				return false, err
			}
			return yield(brief, nil), nil
		})
		if err != nil {
			yield(record.Brief{}, err)
		}
	}
}

// scan runs over attempts in their order, until each says that it has enough.
// It speaks to the driver below database/sql, whose conversions would take as
// long as the reading.
func (b *Book) scan(ctx context.Context, f record.Filter, each func(*reader, []driver.Value) (bool, error)) error {
	conn, err := b.read.Conn(ctx)
	if err != nil {
		return explain(b.path, err)
	}
	defer conn.Close()
	// One transaction, so that sittings and attempts are of one moment.
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return explain(b.path, err)
	}
	defer tx.Rollback()
	r, err := b.reader(ctx, tx, f)
	if err != nil {
		return explain(b.path, err)
	}
	where, args := ofSittings(f)
	if f.Kind != "" {
		where, args = where+" AND a.kind = (SELECT id FROM word WHERE text = ?)", append(args, f.Kind)
	}
	where, args = between(where, args, "a.at", f)
	query := "SELECT a." + strings.ReplaceAll(columns, ", ", ", a.") +
		" FROM sitting s CROSS JOIN attempt a ON a.sitting = s.id WHERE " + where + " ORDER BY s.started, s.ulid, a.ordinal"
	named := make([]driver.NamedValue, len(args))
	for i, v := range args {
		if v, err = driver.DefaultParameterConverter.ConvertValue(v); err != nil {
			return err
		}
		named[i] = driver.NamedValue{Ordinal: i + 1, Value: v}
	}
	return explain(b.path, conn.Raw(func(c any) error {
		rows, err := c.(driver.QueryerContext).QueryContext(ctx, query, named)
		if err != nil {
			return err
		}
		defer rows.Close()
		row := make([]driver.Value, colCount)
		for n := 0; ; n++ {
			if n%1024 == 0 && ctx.Err() != nil {
				return ctx.Err()
			}
			switch err := rows.Next(row); {
			case err == io.EOF:
				return nil
			case err != nil:
				return err
			}
			if more, err := each(r, row); err != nil || !more {
				return err
			}
		}
	}))
}

// reader prepares to read the attempts of the sittings that a filter takes.
func (b *Book) reader(ctx context.Context, tx *sql.Tx, f record.Filter) (*reader, error) {
	r := &reader{text: b.words.texts(), owners: map[int64]owner{}, refresh: func() ([]string, error) {
		err := b.words.refresh(ctx, b.read)
		return b.words.texts(), err
	}}
	where, args := ofSittings(f)
	// The first read of a transaction may meet a log in recovery; later ones may not.
	return r, patiently(ctx, func() error {
		rows, err := tx.QueryContext(ctx, "SELECT s.id, l.ulid, s.ulid, ifnull(s.sheet, '') FROM sitting s JOIN learner l ON l.id = s.learner WHERE "+where, args...)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var id int64
			var o owner
			if err := rows.Scan(&id, &o.learner, &o.sitting, &o.sheet); err != nil {
				return err
			}
			r.owners[id] = o
		}
		return rows.Err()
	})
}
