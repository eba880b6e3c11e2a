package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// AddLearner enters a person.
func (b *Book) AddLearner(ctx context.Context, l scoring.Learner) (scoring.Learner, error) {
	l, err := record.CheckLearner(l)
	if err != nil {
		return l, err
	}
	return l, b.update(ctx, func(tx *sql.Tx) error { return addLearner(ctx, tx, l) })
}

func addLearner(ctx context.Context, tx *sql.Tx, l scoring.Learner) error {
	var name string
	switch err := tx.QueryRowContext(ctx, "SELECT name FROM learner WHERE ulid = ?", l.ID).Scan(&name); {
	case err == nil:
		return fmt.Errorf("learner %s: %w", l.ID, record.ErrTaken)
	case !errors.Is(err, sql.ErrNoRows):
		return err
	}
	done, err := tx.ExecContext(ctx, `INSERT INTO learner (ulid, name, name_key, role, at, simulated) VALUES (?, ?, ?, ?, ?, ?)
		ON CONFLICT (name_key) DO NOTHING`, l.ID, l.Name, record.NameKey(l.Name), l.Role, l.At.UnixMilli(), l.Simulated)
	if err != nil {
		return err
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return errors.Join(err, record.NameTaken(l.Name))
	}
	return nil
}

const learnerColumns = "SELECT ulid, name, role, at, simulated FROM learner"

func scanLearner(row interface{ Scan(...any) error }) (l scoring.Learner, err error) {
	var at int64
	err = row.Scan(&l.ID, &l.Name, &l.Role, &at, &l.Simulated)
	l.At = time.UnixMilli(at).UTC()
	return l, err
}

// Learners lists everybody, by name.
func (b *Book) Learners(ctx context.Context) (list []scoring.Learner, err error) {
	err = b.query(ctx, learnerColumns+" ORDER BY name_key", nil, func(rows *sql.Rows) error {
		l, err := scanLearner(rows)
		list = append(list, l)
		return err
	})
	return list, err
}

// Learner finds a person by identifier.
func (b *Book) Learner(ctx context.Context, id scoring.LearnerID) (scoring.Learner, error) {
	return b.oneLearner(ctx, fmt.Sprintf("learner %s", id), learnerColumns+" WHERE ulid = ?", id)
}

// LearnerByName finds a person, ignoring case.
func (b *Book) LearnerByName(ctx context.Context, name string) (scoring.Learner, error) {
	return b.oneLearner(ctx, fmt.Sprintf("learner %q", name), learnerColumns+" WHERE name_key = ?", record.NameKey(name))
}

func (b *Book) oneLearner(ctx context.Context, what, query string, arg any) (l scoring.Learner, err error) {
	err = patiently(ctx, func() error {
		l, err = scanLearner(b.read.QueryRowContext(ctx, query, arg))
		return err
	})
	return l, b.found(what, err)
}

// found puts "not in the book" for "no rows".
func (b *Book) found(what string, err error) error {
	if errors.Is(err, sql.ErrNoRows) {
		return fmt.Errorf("%s: %w", what, record.ErrNotFound)
	}
	return explain(b.path, err)
}

// query calls each for every row.
func (b *Book) query(ctx context.Context, query string, args []any, each func(*sql.Rows) error) error {
	var rows *sql.Rows
	err := patiently(ctx, func() (err error) {
		rows, err = b.read.QueryContext(ctx, query, args...)
		return err
	})
	if err != nil {
		return explain(b.path, err)
	}
	defer rows.Close()
	for rows.Next() {
		if err := each(rows); err != nil {
			return explain(b.path, err)
		}
	}
	return explain(b.path, rows.Err())
}
