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
	return l, b.update(ctx, func(w *writer) error { return w.addLearner(ctx, l) })
}

func (w *writer) addLearner(ctx context.Context, l scoring.Learner) error {
	var name string
	switch err := w.tx.QueryRowContext(ctx, "SELECT name FROM learner WHERE ulid = ?", l.ID).Scan(&name); {
	case err == nil:
		return fmt.Errorf("learner %s: %w", l.ID, record.ErrTaken)
	case !errors.Is(err, sql.ErrNoRows):
		return err
	}
	done, err := w.tx.ExecContext(ctx, `INSERT INTO learner (ulid, name, name_key, role, role_at, at, simulated) VALUES (?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (name_key) DO NOTHING`, l.ID, l.Name, record.NameKey(l.Name), l.Role, l.RoleAt.UnixMilli(), l.At.UnixMilli(), l.Simulated)
	if err != nil {
		return err
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return errors.Join(err, record.NameTaken(l.Name))
	}
	w.unsealed = true
	return nil
}

const learnerColumns = "SELECT ulid, name, role, role_at, at, simulated FROM learner"

func scanLearner(row interface{ Scan(...any) error }) (l scoring.Learner, err error) {
	var at, roleAt int64
	err = row.Scan(&l.ID, &l.Name, &l.Role, &roleAt, &at, &l.Simulated)
	l.At, l.RoleAt = time.UnixMilli(at).UTC(), time.UnixMilli(roleAt).UTC()
	return l, err
}

// Learners lists everybody, by name.
func (b *Book) Learners(ctx context.Context) ([]scoring.Learner, error) {
	list, err := learners(ctx, b.read)
	return list, explain(b.path, err)
}

func learners(ctx context.Context, q querier) (list []scoring.Learner, err error) {
	err = each(ctx, q, learnerColumns+" ORDER BY name_key", nil, func(rows *sql.Rows) error {
		l, err := scanLearner(rows)
		list = append(list, l)
		return err
	})
	return list, err
}

// Learner finds a person by identifier.
func (b *Book) Learner(ctx context.Context, id scoring.LearnerID) (scoring.Learner, error) {
	l, err := learner(ctx, b.read, id)
	return l, explain(b.path, err)
}

func learner(ctx context.Context, q querier, id scoring.LearnerID) (scoring.Learner, error) {
	return oneLearner(ctx, q, fmt.Sprintf("learner %s", id), learnerColumns+" WHERE ulid = ?", id)
}

// LearnerByName finds a person, ignoring case.
func (b *Book) LearnerByName(ctx context.Context, name string) (scoring.Learner, error) {
	l, err := learnerByName(ctx, b.read, name)
	return l, explain(b.path, err)
}

func learnerByName(ctx context.Context, q querier, name string) (scoring.Learner, error) {
	return oneLearner(ctx, q, fmt.Sprintf("learner %q", name), learnerColumns+" WHERE name_key = ?", record.NameKey(name))
}

func oneLearner(ctx context.Context, q querier, what, query string, arg any) (l scoring.Learner, err error) {
	err = patiently(ctx, func() error {
		l, err = scanLearner(q.QueryRowContext(ctx, query, arg))
		return err
	})
	return l, found(what, err)
}

// found puts "not in the book" for "no rows".
func found(what string, err error) error {
	if errors.Is(err, sql.ErrNoRows) {
		return fmt.Errorf("%s: %w", what, record.ErrNotFound)
	}
	return err
}

// querier is where rows come from: the book, or a transaction on it.
type querier interface {
	QueryContext(context.Context, string, ...any) (*sql.Rows, error)
	QueryRowContext(context.Context, string, ...any) *sql.Row
}

// each calls f for every row.
func each(ctx context.Context, q querier, query string, args []any, f func(*sql.Rows) error) error {
	var rows *sql.Rows
	err := patiently(ctx, func() (err error) {
		rows, err = q.QueryContext(ctx, query, args...)
		return err
	})
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := f(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}
