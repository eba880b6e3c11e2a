package sqlbook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
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
	return l, b.Update(ctx, func(w *Writer) error { return w.addLearner(ctx, l) })
}

func (w *Writer) addLearner(ctx context.Context, l scoring.Learner) error {
	switch _, err := learner(ctx, w.Tx, l.ID); {
	case err == nil:
		return fmt.Errorf("learner %s: %w", l.ID, record.ErrTaken)
	case errors.Is(err, record.ErrErased) || !errors.Is(err, record.ErrNotFound):
		return err
	}
	if err := w.clashes(ctx, l); err != nil {
		return err
	}
	_, err := w.Tx.ExecContext(ctx, `INSERT INTO learner (id, ulid, name, name_key, number, email, role, role_at, at, simulated, pseudonym) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		w.Tx.key(), l.ID, l.Name, record.NameKey(l.Name), l.Number, l.Email, l.Role, l.RoleAt.UnixMilli(), l.At.UnixMilli(), l.Simulated, l.Pseudonym)
	w.Unsealed = true
	return err
}

// clashes finds somebody else in the book who cannot be there beside a person.
func (w *Writer) clashes(ctx context.Context, l scoring.Learner) error {
	return w.Tx.Each(ctx, nameOrNumber(w.Tx), []any{record.NameKey(l.Name), l.Number}, func(rows Scanner) error {
		other, err := scanLearner(rows)
		if err == nil && other.ID != l.ID && record.Clash(l, other) {
			err = record.ClashError(l, other)
		}
		return err
	})
}

// nameOrNumber are the people who have a name or a number.
func nameOrNumber(q Session) string {
	return learnerColumns + " WHERE name_key = ? UNION ALL " + learnerColumns + " WHERE number <> '' AND " + q.in.SameNumber
}

const learnerColumns = "SELECT ulid, name, number, email, role, role_at, at, simulated, pseudonym FROM learner"

func scanLearner(row interface{ Scan(...any) error }) (l scoring.Learner, err error) {
	var at, roleAt int64
	err = row.Scan(&l.ID, &l.Name, &l.Number, &l.Email, &l.Role, &roleAt, &at, &l.Simulated, &l.Pseudonym)
	l.At, l.RoleAt = time.UnixMilli(at).UTC(), time.UnixMilli(roleAt).UTC()
	return l, err
}

// Learners lists everybody, by name.
func (b *Book) Learners(ctx context.Context) ([]scoring.Learner, error) {
	list, err := learners(ctx, b.read)
	return list, b.Explain(err)
}

func learners(ctx context.Context, q Session) (list []scoring.Learner, err error) {
	err = q.Each(ctx, learnerColumns+" ORDER BY name_key, number", nil, func(rows Scanner) error {
		l, err := scanLearner(rows)
		list = append(list, l)
		return err
	})
	return list, err
}

// Learner finds a person by identifier.
func (b *Book) Learner(ctx context.Context, id scoring.LearnerID) (scoring.Learner, error) {
	l, err := learner(ctx, b.read, id)
	return l, b.Explain(err)
}

func learner(ctx context.Context, q Session, id scoring.LearnerID) (scoring.Learner, error) {
	var l scoring.Learner
	err := q.Patiently(ctx, func() (err error) {
		l, err = scanLearner(q.QueryRowContext(ctx, learnerColumns+" WHERE id = "+whose, id, id))
		return err
	})
	if !errors.Is(err, sql.ErrNoRows) {
		return l, err
	}
	err = q.QueryRowContext(ctx, "SELECT ulid FROM former WHERE ulid = ?", id).Scan(&l.ID)
	if err == nil {
		return scoring.Learner{}, record.Erased(id)
	}
	return scoring.Learner{}, found(fmt.Sprintf("learner %s", id), err)
}

// whose is the row of the person who has an identifier or took it over; it takes the
// identifier twice.
const whose = "coalesce((SELECT id FROM learner WHERE ulid = ?), (SELECT learner FROM former WHERE ulid = ?))"

// LearnerByName finds a person by name, or by number.
func (b *Book) LearnerByName(ctx context.Context, name string) (scoring.Learner, error) {
	l, err := learnerByName(ctx, b.read, name)
	return l, b.Explain(err)
}

func learnerByName(ctx context.Context, q Session, name string) (scoring.Learner, error) {
	var named []scoring.Learner
	var numbered *scoring.Learner
	key := record.NameKey(name)
	number, err := record.CheckNumber(name)
	if err != nil { // a name that can be nobody's number
		number = ""
	}
	err = q.Each(ctx, nameOrNumber(q), []any{key, number}, func(rows Scanner) error {
		l, err := scanLearner(rows)
		if record.NameKey(l.Name) != key {
			numbered = &l
		} else if !slices.Contains(named, l) {
			named = append(named, l)
		}
		return err
	})
	slices.SortFunc(named, func(a, b scoring.Learner) int { return strings.Compare(a.Number, b.Number) })
	if err != nil {
		return scoring.Learner{}, err
	}
	return record.Pick(name, named, numbered)
}

// found puts "not in the book" for "no rows".
func found(what string, err error) error {
	if errors.Is(err, sql.ErrNoRows) {
		return fmt.Errorf("%s: %w", what, record.ErrNotFound)
	}
	return err
}
