package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// ChangeLearner gives a person another name, number and address.
func (b *Book) ChangeLearner(ctx context.Context, l scoring.Learner, at time.Time) (scoring.Learner, error) {
	err := b.update(ctx, func(w *writer) (err error) {
		l, err = merger{w}.ChangeLearner(ctx, l, at)
		return err
	})
	return l, err
}

func (m merger) ChangeLearner(ctx context.Context, l scoring.Learner, at time.Time) (scoring.Learner, error) {
	old, err := learner(ctx, m.w.tx, l.ID)
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
		if err := m.w.deed(ctx, record.Deed{At: at, What: kind, Learner: changed.ID}); err != nil {
			return l, err
		}
	}
	return changed, m.w.touching(ctx, record.ErrNotFound, "UPDATE learner SET seal = NULL, name = ?, name_key = ?, number = ?, email = ?, pseudonym = ? WHERE ulid = ?",
		changed.Name, record.NameKey(changed.Name), changed.Number, changed.Email, changed.Pseudonym, changed.ID)
}

// forgetting makes SQLite write zeros over what is taken out from here on.
func (w *writer) forgetting(ctx context.Context) error {
	_, err := w.tx.ExecContext(ctx, "PRAGMA secure_delete = 1")
	return err
}

func (w *writer) deed(ctx context.Context, d record.Deed) error {
	if err := record.CheckMoment("what is done to a person", d.At); err != nil {
		return err
	}
	_, err := w.tx.ExecContext(ctx, "INSERT INTO deed (at, what, learner, into_id, sittings, answers, wiped) VALUES (?, ?, ?, ?, ?, ?, ?)",
		d.At.UnixMilli(), d.What, d.Learner, d.Into, d.Sittings, d.Answers, !d.What.Leaves())
	return err
}

// about counts what a person has in the book.
func (w *writer) about(ctx context.Context, row any, d *record.Deed) error {
	return w.tx.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM sitting WHERE learner = ?1),
		(SELECT count(*) FROM sitting s CROSS JOIN attempt a ON a.sitting = s.id WHERE s.learner = ?1)`, row).Scan(&d.Sittings, &d.Answers)
}

// JoinLearners makes one person of two.
func (b *Book) JoinLearners(ctx context.Context, from, into scoring.LearnerID, at time.Time) (scoring.Learner, error) {
	var l scoring.Learner
	err := b.update(ctx, func(w *writer) (err error) {
		l, err = merger{w}.JoinLearners(ctx, from, into, at)
		return err
	})
	return l, err
}

func (m merger) JoinLearners(ctx context.Context, from, into scoring.LearnerID, at time.Time) (scoring.Learner, error) {
	w := m.w
	theirs, err := learner(ctx, w.tx, from)
	if err != nil {
		return theirs, err
	}
	stays, err := learner(ctx, w.tx, into)
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
	w.at, w.unsealed = place{}, true
	for _, step := range []struct {
		query string
		args  []any
	}{
		{"UPDATE sitting SET begun_as = iif(begun_as = '', ?, begun_as), learner = ? WHERE learner = ?", []any{theirs.ID, t, f}},
		// On a roster is who was on it under either name.
		{`INSERT INTO enrolment (class, learner, at, off) SELECT class, ?, at, off FROM enrolment WHERE learner = ?
			ON CONFLICT (class, learner) DO UPDATE SET seal = NULL, at = max(at, excluded.at), off = min(off, excluded.off)`, []any{t, f}},
		{"DELETE FROM enrolment WHERE learner = ?", []any{f}},
		{"UPDATE panel SET lead = ? WHERE lead = ?", []any{t, f}},
		{"UPDATE former SET learner = ? WHERE learner = ?", []any{t, f}},
		// How they sign in stays where only one of the two could; what was open ends.
		{"UPDATE OR IGNORE account SET learner = ? WHERE learner = ?", []any{t, f}},
		{"DELETE FROM learner WHERE id = ?", []any{f}}, // and by reference what is left of their account, tickets and browsers
		{"INSERT INTO former (ulid, learner) VALUES (?, ?)", []any{theirs.ID, t}},
		{"UPDATE learner SET seal = NULL, number = ?, email = ?, role = ?, role_at = ?, at = ? WHERE id = ?",
			[]any{joined.Number, joined.Email, joined.Role, joined.RoleAt.UnixMilli(), joined.At.UnixMilli(), t}},
	} {
		if _, err := w.tx.ExecContext(ctx, step.query, step.args...); err != nil {
			return stays, err
		}
	}
	return joined, w.deed(ctx, d)
}

// EraseLearner takes a person and all that they answered out of the book.
func (b *Book) EraseLearner(ctx context.Context, id scoring.LearnerID, at time.Time) error {
	return b.update(ctx, func(w *writer) error { return merger{w}.EraseLearner(ctx, id, at) })
}

// EraseLearner leaves a row of the table former for each identifier of the person. A
// table of a later form that points to people must be emptied of them here; until it
// is, the erasure is refused as a whole.
func (m merger) EraseLearner(ctx context.Context, id scoring.LearnerID, at time.Time) error {
	w := m.w
	who, err := learner(ctx, w.tx, id)
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
	w.at = place{}
	const theirs = "(SELECT id FROM sitting WHERE learner = ?)"
	for _, query := range []string{
		"DELETE FROM chain WHERE sitting IN " + theirs,
		"DELETE FROM attempt WHERE sitting IN " + theirs,
		"DELETE FROM sitting WHERE learner = ?",
		"DELETE FROM enrolment WHERE learner = ?",
		"UPDATE panel SET lead = NULL WHERE lead = ?",
		"UPDATE former SET learner = NULL WHERE learner = ?",
		"DELETE FROM learner WHERE id = ?",
	} {
		if _, err := w.tx.ExecContext(ctx, query, l); err != nil {
			return err
		}
	}
	if _, err := w.tx.ExecContext(ctx, "INSERT INTO former (ulid) VALUES (?)", who.ID); err != nil {
		return err
	}
	if err := w.dropWords(ctx, words); err != nil {
		return err
	}
	return w.deed(ctx, d)
}

// The columns of attempts that hold words.
var wordColumns = []string{"kind", "part", "item", "key", "tab", "neighbour", "value_group", "choice"}

// wordsOf are the words that a person's answers point to.
func (w *writer) wordsOf(ctx context.Context, learner any) (ids []int64, err error) {
	seen := map[int64]bool{}
	for _, column := range wordColumns {
		err := each(ctx, w.tx, "SELECT DISTINCT a."+column+" FROM sitting s CROSS JOIN attempt a ON a.sitting = s.id WHERE s.learner = ? AND a."+column+" IS NOT NULL", []any{learner}, func(rows *sql.Rows) error {
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
func (w *writer) dropWords(ctx context.Context, ids []int64) error {
	if len(ids) == 0 {
		return nil
	}
	used := map[int64]bool{}
	for _, column := range wordColumns {
		err := each(ctx, w.tx, "SELECT DISTINCT "+column+" FROM attempt WHERE "+column+" IS NOT NULL", nil, func(rows *sql.Rows) error {
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
		if _, err := w.tx.ExecContext(ctx, "UPDATE word SET text = 'erased ' || lower(hex(randomblob(8))) WHERE id = ?", id); err != nil {
			return err
		}
	}
	// Whoever has read them forgets them before the next answer, see words.follow.
	var cookie int64
	if err := w.tx.QueryRowContext(ctx, "PRAGMA schema_version").Scan(&cookie); err != nil {
		return err
	}
	w.fresh, w.text = nil, nil
	_, err := w.tx.ExecContext(ctx, fmt.Sprintf("PRAGMA schema_version = %d", cookie+1))
	return err
}

// Deeds lists what was done to people, oldest first.
func (b *Book) Deeds(ctx context.Context) ([]record.Deed, error) {
	list, err := deeds(ctx, b.read)
	return list, explain(b.path, err)
}

func (m merger) Deeds(ctx context.Context) ([]record.Deed, error) { return deeds(ctx, m.w.tx) }

func deeds(ctx context.Context, q querier) (list []record.Deed, err error) {
	err = each(ctx, q, "SELECT at, what, learner, into_id, sittings, answers, wiped FROM deed ORDER BY id", nil, func(rows *sql.Rows) error {
		var d record.Deed
		var at int64
		err := rows.Scan(&at, &d.What, &d.Learner, &d.Into, &d.Sittings, &d.Answers, &d.Wiped)
		d.At = time.UnixMilli(at).UTC()
		list = append(list, d)
		return err
	})
	return list, err
}

// Wipe writes the whole file anew (VACUUM, which leaves no page of what was taken
// out) and empties the log beside it.
func (b *Book) Wipe(ctx context.Context) error {
	if err := b.wipe(ctx); err != nil {
		return explain(b.path, err)
	}
	return b.update(ctx, func(w *writer) error {
		_, err := w.tx.ExecContext(ctx, "UPDATE deed SET wiped = 1")
		return err
	})
}

func (b *Book) wipe(ctx context.Context) error {
	var conn *sql.Conn
	err := patiently(ctx, func() (err error) {
		conn, err = b.write.Conn(ctx)
		return err
	})
	if err != nil {
		return err
	}
	defer conn.Close()
	err = patiently(ctx, func() error {
		_, err := conn.ExecContext(ctx, "PRAGMA secure_delete = 1; VACUUM")
		return err
	})
	if err != nil {
		return err
	}
	// The log is emptied only when nobody reads what stood there before.
	const readersMS = "2000"
	if _, err := conn.ExecContext(ctx, "PRAGMA busy_timeout = "+readersMS); err != nil {
		return err
	}
	defer conn.ExecContext(ctx, "PRAGMA busy_timeout = "+waitMS)
	var busy, log, moved int
	err = conn.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &log, &moved)
	if err == nil && busy == 0 {
		return nil
	}
	if c := code(err); err != nil && c != codeBusy && c != codeLocked {
		return err
	}
	return fault.New(fmt.Sprintf("the book %s is read by another program: what was taken out still lies in its log", b.path),
		`close that program, then say "shadedrill people wipe"`)
}

// firstAlike is the form from which on names that read alike are one name.
const firstAlike = 6

// readAlike files the people of an older book under the keys of this form. Of two
// whose names read alike now, the one entered later gets a number behind the name.
func (w *writer) readAlike(ctx context.Context) error {
	var people []scoring.Learner
	err := each(ctx, w.tx, learnerColumns+" ORDER BY at, id", nil, func(rows *sql.Rows) error {
		l, err := scanLearner(rows)
		people = append(people, l)
		return err
	})
	if err != nil {
		return err
	}
	var now int64
	if err := w.tx.QueryRowContext(ctx, "SELECT CAST(1000 * unixepoch('subsec') AS INTEGER)").Scan(&now); err != nil {
		return err
	}
	taken := map[string]bool{}
	for _, l := range people {
		taken[record.NameKey(l.Name)] = true
	}
	first := map[string]bool{}
	for _, l := range people {
		name := l.Name
		if key := record.NameKey(name); first[key] {
			for n := 2; taken[record.NameKey(name)]; n++ {
				name = record.Numbered(l.Name, n)
			}
			if err := w.deed(ctx, record.Deed{At: time.UnixMilli(now).UTC(), What: record.DeedNumbered, Learner: l.ID}); err != nil {
				return err
			}
		}
		key := record.NameKey(name)
		first[key], taken[key] = true, true
		if _, err := w.tx.ExecContext(ctx, "UPDATE learner SET name = ?, name_key = ? WHERE ulid = ?", name, key, l.ID); err != nil {
			return err
		}
	}
	return nil
}

// Label is a name for something that is the same in every copy of this book and
// cannot be guessed back.
func (b *Book) Label(ctx context.Context, kind, id string) (string, error) {
	var secret []byte
	err := patiently(ctx, func() error { return b.read.QueryRowContext(ctx, "SELECT secret FROM book").Scan(&secret) })
	if err == nil && len(secret) == 0 {
		err = errors.New("the book has no secret")
	}
	if err != nil {
		return "", explain(b.path, err)
	}
	return record.Label(secret, kind, id), nil
}
