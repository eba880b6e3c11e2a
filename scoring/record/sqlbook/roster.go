package sqlbook

import (
	"context"
	"fmt"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// SetRole says what a person does from that time on.
func (b *Book) SetRole(ctx context.Context, id scoring.LearnerID, role scoring.Role, at time.Time) error {
	return b.Update(ctx, func(w *Writer) error { return merger{w}.SetRole(ctx, id, role, at) })
}

func (m merger) SetRole(ctx context.Context, id scoring.LearnerID, role scoring.Role, at time.Time) error {
	role, err := record.CheckRole(role)
	if err != nil {
		return err
	}
	if err := record.CheckMoment("the role of a learner", at); err != nil {
		return err
	}
	row, err := m.w.learnerRow(ctx, id)
	if err != nil {
		return err
	}
	return m.w.touching(ctx, fmt.Errorf("learner %s: %w", id, record.ErrNotFound),
		"UPDATE learner SET seal = NULL, role = ?1, role_at = CASE WHEN ?2 > role_at THEN ?2 ELSE role_at + 1 END WHERE id = ?3", role, at.UnixMilli(), row)
}

// Enrol puts a person on the roster.
func (b *Book) Enrol(ctx context.Context, class scoring.ClassID, who scoring.LearnerID, at time.Time) error {
	return b.Update(ctx, func(w *Writer) error { return merger{w}.Enrol(ctx, class, who, at) })
}

func (m merger) Enrol(ctx context.Context, class scoring.ClassID, who scoring.LearnerID, at time.Time) error {
	return m.member(ctx, class, scoring.Membership{Learner: who, At: at},
		"SET seal = NULL, at = CASE WHEN excluded.at > enrolment.at THEN excluded.at ELSE enrolment.at + 1 END, off = 0 WHERE enrolment.off <> 0")
}

// PutMembership enters what another book says of a person.
func (b *Book) PutMembership(ctx context.Context, class scoring.ClassID, in scoring.Membership) error {
	return b.Update(ctx, func(w *Writer) error { return merger{w}.PutMembership(ctx, class, in) })
}

func (m merger) PutMembership(ctx context.Context, class scoring.ClassID, in scoring.Membership) error {
	// As record.Supersedes has it.
	return m.member(ctx, class, in, "SET seal = NULL, at = excluded.at, off = excluded.off WHERE excluded.at > enrolment.at OR excluded.at = enrolment.at AND excluded.off < enrolment.off")
}

// member enters what is said of a person of whom nothing was known in this
// class, or else does what known says.
func (m merger) member(ctx context.Context, class scoring.ClassID, in scoring.Membership, known string) error {
	in, err := record.CheckMembership(in)
	if err != nil {
		return err
	}
	c, err := classRow(ctx, m.w.Tx, class)
	if err != nil {
		return found(fmt.Sprintf("class %s", class), err)
	}
	l, err := m.w.learnerRow(ctx, in.Learner)
	if err != nil {
		return err
	}
	_, err = m.w.Tx.ExecContext(ctx, "INSERT INTO enrolment (class, learner, at, off) VALUES (?, ?, ?, ?) ON CONFLICT (class, learner) DO UPDATE "+known,
		c, l, in.At.UnixMilli(), in.Off)
	m.w.Unsealed = true
	return err
}

// Unenrol takes a person off the roster.
func (b *Book) Unenrol(ctx context.Context, class scoring.ClassID, who scoring.LearnerID, at time.Time) error {
	return b.Update(ctx, func(w *Writer) error { return merger{w}.Unenrol(ctx, class, who, at) })
}

func (m merger) Unenrol(ctx context.Context, class scoring.ClassID, who scoring.LearnerID, at time.Time) error {
	if _, err := record.CheckMembership(scoring.Membership{Learner: who, At: at}); err != nil {
		return err
	}
	c, err := classRow(ctx, m.w.Tx, class)
	if err != nil {
		return found(fmt.Sprintf("class %s", class), err)
	}
	return m.w.touching(ctx, record.NotEnrolled(who), `UPDATE enrolment SET seal = NULL, at = CASE WHEN ?1 > at THEN ?1 ELSE at + 1 END, off = 1
		WHERE class = ?2 AND learner = `+whose+` AND off = 0`, at.UnixMilli(), c, who, who)
}

// Roster lists who is in a class, by name.
func (b *Book) Roster(ctx context.Context, class scoring.ClassID) ([]scoring.Learner, error) {
	list, err := roster(ctx, b.read, class)
	return list, b.Explain(err)
}

func (m merger) Roster(ctx context.Context, class scoring.ClassID) ([]scoring.Learner, error) {
	return roster(ctx, m.w.Tx, class)
}

func roster(ctx context.Context, q Session, class scoring.ClassID) (list []scoring.Learner, err error) {
	c, err := classRow(ctx, q, class)
	if err != nil {
		return nil, found(fmt.Sprintf("class %s", class), err)
	}
	err = q.Each(ctx, learnerColumns+" WHERE id IN (SELECT e.learner FROM enrolment e WHERE e.class = ? AND e.off = 0) ORDER BY name_key, number", []any{c}, func(rows Scanner) error {
		l, err := scanLearner(rows)
		list = append(list, l)
		return err
	})
	return list, err
}

// Memberships lists who is or was in a class, by identifier.
func (b *Book) Memberships(ctx context.Context, class scoring.ClassID) ([]scoring.Membership, error) {
	list, err := memberships(ctx, b.read, class)
	return list, b.Explain(err)
}

func (m merger) Memberships(ctx context.Context, class scoring.ClassID) ([]scoring.Membership, error) {
	return memberships(ctx, m.w.Tx, class)
}

func memberships(ctx context.Context, q Session, class scoring.ClassID) (list []scoring.Membership, err error) {
	c, err := classRow(ctx, q, class)
	if err != nil {
		return nil, found(fmt.Sprintf("class %s", class), err)
	}
	err = q.Each(ctx, "SELECT l.ulid, e.at, e.off FROM enrolment e JOIN learner l ON l.id = e.learner WHERE e.class = ? ORDER BY l.ulid", []any{c}, func(rows Scanner) error {
		var in scoring.Membership
		var at int64
		err := rows.Scan(&in.Learner, &at, &in.Off)
		in.At = time.UnixMilli(at).UTC()
		list = append(list, in)
		return err
	})
	return list, err
}
