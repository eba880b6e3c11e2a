package sqlbook

import (
	"context"
	"errors"
	"strconv"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// ChangeLearner gives a person another name, number and address.
func (b *Book) ChangeLearner(ctx context.Context, l scoring.Learner, at time.Time) (scoring.Learner, error) {
	err := b.Update(ctx, func(w *Writer) (err error) {
		l, err = merger{w}.ChangeLearner(ctx, l, at)
		return err
	})
	return l, err
}

func (m merger) ChangeLearner(ctx context.Context, l scoring.Learner, at time.Time) (scoring.Learner, error) {
	old, err := learner(ctx, m.w.Tx, l.ID)
	if err != nil {
		return l, err
	}
	changed, err := record.Changed(old, l)
	if err != nil {
		return l, err
	}
	if err := m.w.clashes(ctx, changed); err != nil {
		return l, err
	}
	if kind := record.ChangeKind(old, changed); kind != "" {
		if err := m.w.forgetting(ctx); err != nil {
			return l, err
		}
		if err := m.w.Deed(ctx, record.Deed{At: at, What: kind, Learner: changed.ID}); err != nil {
			return l, err
		}
	}
	return changed, m.w.touching(ctx, record.ErrNotFound, "UPDATE learner SET seal = NULL, name = ?, name_key = ?, number = ?, email = ?, pseudonym = ? WHERE ulid = ?",
		changed.Name, record.NameKey(changed.Name), changed.Number, changed.Email, changed.Pseudonym, changed.ID)
}

// forgetting is said before something is taken out that must leave no trace.
func (w *Writer) forgetting(ctx context.Context) error { return w.book.engine.Forget(ctx, w, false) }

// Deed writes down what was done to a person.
func (w *Writer) Deed(ctx context.Context, d record.Deed) error {
	if err := record.CheckMoment("what is done to a person", d.At); err != nil {
		return err
	}
	_, err := w.Tx.ExecContext(ctx, "INSERT INTO deed (id, at, what, learner, into_id, sittings, answers, wiped) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
		w.Tx.key(), d.At.UnixMilli(), d.What, d.Learner, d.Into, d.Sittings, d.Answers, !d.What.Leaves())
	return err
}

// about counts what a person has in the book.
func (w *Writer) about(ctx context.Context, row any, d *record.Deed) error {
	return w.Tx.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM sitting WHERE learner = ?1),
		(SELECT count(*) FROM sitting s CROSS JOIN attempt a ON a.sitting = s.id WHERE s.learner = ?1)`, row).Scan(&d.Sittings, &d.Answers)
}

// JoinLearners makes one person of two.
func (b *Book) JoinLearners(ctx context.Context, from, into scoring.LearnerID, at time.Time) (scoring.Learner, error) {
	var l scoring.Learner
	err := b.Update(ctx, func(w *Writer) (err error) {
		l, err = merger{w}.JoinLearners(ctx, from, into, at)
		return err
	})
	return l, err
}

func (m merger) JoinLearners(ctx context.Context, from, into scoring.LearnerID, at time.Time) (scoring.Learner, error) {
	w := m.w
	theirs, err := learner(ctx, w.Tx, from)
	if err != nil {
		return theirs, err
	}
	stays, err := learner(ctx, w.Tx, into)
	if err != nil {
		return stays, err
	}
	joined, err := record.Joined(stays, theirs)
	if err != nil {
		return stays, err
	}
	f, err := w.learnerRow(ctx, theirs.ID)
	if err != nil {
		return stays, err
	}
	t, err := w.learnerRow(ctx, stays.ID)
	if err != nil {
		return stays, err
	}
	d := record.Deed{At: at, What: record.DeedJoined, Learner: theirs.ID, Into: stays.ID}
	if err := w.about(ctx, f, &d); err != nil {
		return stays, err
	}
	w.at, w.Unsealed = place{}, true
	for _, step := range []struct {
		query string
		args  []any
	}{
		{"UPDATE sitting SET begun_as = CASE WHEN begun_as = '' THEN ? ELSE begun_as END, learner = ? WHERE learner = ?", []any{theirs.ID, t, f}},
		// On a roster is who was on it under either name.
		{`INSERT INTO enrolment (class, learner, at, off) SELECT class, ?, at, off FROM enrolment WHERE learner = ?
			ON CONFLICT (class, learner) DO UPDATE SET seal = NULL, at = CASE WHEN excluded.at > enrolment.at THEN excluded.at ELSE enrolment.at END,
				off = CASE WHEN excluded.off < enrolment.off THEN excluded.off ELSE enrolment.off END`, []any{t, f}},
		{"DELETE FROM enrolment WHERE learner = ?", []any{f}},
		{"UPDATE panel SET seal = NULL, lead = ? WHERE lead = ?", []any{t, f}},
		{"UPDATE former SET seal = NULL, learner = ? WHERE learner = ?", []any{t, f}},
		{"UPDATE ruling SET seal = NULL, learner = ? WHERE learner = ?", []any{t, f}},
		{"UPDATE ruling SET seal = NULL, decider = ? WHERE decider = ?", []any{t, f}},
		// How they sign in stays where only one of the two could; what was open ends.
		{"UPDATE account SET learner = ?1 WHERE learner = ?2 AND NOT EXISTS (SELECT 1 FROM account WHERE learner = ?1)", []any{t, f}},
		{"DELETE FROM learner WHERE id = ?", []any{f}}, // and by reference what is left of their account, tickets and browsers
		{"INSERT INTO former (ulid, learner) VALUES (?, ?)", []any{theirs.ID, t}},
		{"UPDATE learner SET seal = NULL, number = ?, email = ?, role = ?, role_at = ?, at = ? WHERE id = ?",
			[]any{joined.Number, joined.Email, joined.Role, joined.RoleAt.UnixMilli(), joined.At.UnixMilli(), t}},
	} {
		if _, err := w.Tx.ExecContext(ctx, step.query, step.args...); err != nil {
			return stays, err
		}
	}
	return joined, w.Deed(ctx, d)
}

// EraseLearner takes a person and all that they answered out of the book.
func (b *Book) EraseLearner(ctx context.Context, id scoring.LearnerID, at time.Time) error {
	return b.Update(ctx, func(w *Writer) error { return merger{w}.EraseLearner(ctx, id, at) })
}

// EraseLearner leaves a row of the table former for each identifier of the person. A
// table of a later form that points to people must be emptied of them here; until it
// is, the erasure is refused as a whole.
func (m merger) EraseLearner(ctx context.Context, id scoring.LearnerID, at time.Time) error {
	w := m.w
	who, err := learner(ctx, w.Tx, id)
	if err != nil {
		return err
	}
	l, err := w.learnerRow(ctx, who.ID)
	if err != nil {
		return err
	}
	d := record.Deed{At: at, What: record.DeedErased, Learner: who.ID}
	if err := w.about(ctx, l, &d); err != nil {
		return err
	}
	if err := w.forgetting(ctx); err != nil {
		return err
	}
	words, err := w.wordsOf(ctx, l)
	if err != nil {
		return err
	}
	w.at, w.Unsealed = place{}, true
	const theirs = "(SELECT id FROM sitting WHERE learner = ?)"
	for _, query := range []string{
		"DELETE FROM chain WHERE sitting IN " + theirs,
		"DELETE FROM attempt WHERE sitting IN " + theirs,
		"DELETE FROM sitting WHERE learner = ?",
		"DELETE FROM enrolment WHERE learner = ?",
		"UPDATE panel SET seal = NULL, lead = NULL WHERE lead = ?",
		"UPDATE former SET seal = NULL, learner = NULL WHERE learner = ?",
		"DELETE FROM ruling WHERE learner = ?",
		"UPDATE ruling SET seal = NULL, decider = NULL WHERE decider = ?",
		"DELETE FROM learner WHERE id = ?",
	} {
		if _, err := w.Tx.ExecContext(ctx, query, l); err != nil {
			return err
		}
	}
	if _, err := w.Tx.ExecContext(ctx, "INSERT INTO former (ulid) VALUES (?)", who.ID); err != nil {
		return err
	}
	if err := w.dropWords(ctx, words); err != nil {
		return err
	}
	return w.Deed(ctx, d)
}

// wordsOf are the words that a person's answers point to.
func (w *Writer) wordsOf(ctx context.Context, learner any) (ids []int64, err error) {
	seen := map[int64]bool{}
	for _, i := range wordColumns {
		column := columnNames[i]
		err := w.Tx.Each(ctx, "SELECT DISTINCT a."+column+" FROM sitting s CROSS JOIN attempt a ON a.sitting = s.id WHERE s.learner = ? AND a."+column+" IS NOT NULL", []any{learner}, func(rows Scanner) error {
			var id int64
			if err := rows.Scan(&id); err != nil {
				return err
			}
			if !seen[id] {
				seen[id] = true
				ids = append(ids, id)
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return ids, nil
}

// dropWords takes words out to which no answer points any more. Their rows stay, so
// that no other word ever gets their number.
func (w *Writer) dropWords(ctx context.Context, ids []int64) error {
	if len(ids) == 0 {
		return nil
	}
	used := map[int64]bool{}
	for _, i := range wordColumns {
		column := columnNames[i]
		err := w.Tx.Each(ctx, "SELECT DISTINCT "+column+" FROM attempt WHERE "+column+" IS NOT NULL", nil, func(rows Scanner) error {
			var id int64
			err := rows.Scan(&id)
			used[id] = true
			return err
		})
		if err != nil {
			return err
		}
	}
	for _, id := range ids {
		if used[id] {
			continue
		}
		if _, err := w.Tx.ExecContext(ctx, "UPDATE word SET text = ? WHERE id = ?", "erased "+strconv.FormatInt(random(63), 36), id); err != nil {
			return err
		}
	}
	// Whoever has read them forgets them before the next answer, see words.follow.
	w.fresh, w.text = nil, nil
	return w.book.engine.Forget(ctx, w, true)
}

// Deeds lists what was done to people, oldest first.
func (b *Book) Deeds(ctx context.Context) ([]record.Deed, error) {
	list, err := deeds(ctx, b.read)
	return list, b.Explain(err)
}

func (m merger) Deeds(ctx context.Context) ([]record.Deed, error) { return deeds(ctx, m.w.Tx) }

func deeds(ctx context.Context, q Session) (list []record.Deed, err error) {
	err = q.Each(ctx, "SELECT at, what, learner, into_id, sittings, answers, wiped FROM deed ORDER BY id", nil, func(rows Scanner) error {
		var d record.Deed
		var at int64
		err := rows.Scan(&at, &d.What, &d.Learner, &d.Into, &d.Sittings, &d.Answers, &d.Wiped)
		d.At = time.UnixMilli(at).UTC()
		list = append(list, d)
		return err
	})
	return list, err
}

// Wiped writes down that nothing is left any more of what was taken out so far.
func (b *Book) Wiped(ctx context.Context) error {
	return b.Update(ctx, func(w *Writer) error {
		_, err := w.Tx.ExecContext(ctx, "UPDATE deed SET wiped = 1")
		return err
	})
}

// Label is a name for something that is the same in every copy of this book and
// cannot be guessed back.
func (b *Book) Label(ctx context.Context, kind, id string) (string, error) {
	var secret []byte
	err := b.read.Patiently(ctx, func() error { return b.read.QueryRowContext(ctx, "SELECT secret FROM book").Scan(&secret) })
	if err == nil && len(secret) == 0 {
		err = errors.New("the book has no secret")
	}
	if err != nil {
		return "", b.Explain(err)
	}
	return record.Label(secret, kind, id), nil
}
