package sqlite

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlbook"
)

// mending takes out of a rebuilt book what does not hold in it.
type mending struct {
	*sqlbook.Writer
	book      record.Book
	at        time.Time
	chained   bool           // the book had chains
	strangers map[int64]bool // rows of sittings of which nothing but their answers is left
	words     []string
	done      *Salvaged
}

func (m *mending) all(ctx context.Context) error {
	for _, step := range []func(context.Context) error{m.seals, m.sets, m.sittings, m.count} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	m.Unsealed = true
	return nil
}

func (m *mending) do(ctx context.Context, query string, args ...any) error {
	_, err := m.Tx.ExecContext(ctx, query, args...)
	return err
}

// seals looks after rows that were changed: what people are called stays as it reads,
// what they are asked does not.
func (m *mending) seals(ctx context.Context) error {
	type row struct {
		table   string
		columns map[string]any
	}
	var list []row
	err := m.BrokenSeals(ctx, func(table string, columns map[string]any) { list = append(list, row{table, columns}) })
	if err != nil {
		return err
	}
	for _, r := range list {
		text := func(name string) string { s, _ := r.columns[name].(string); return s }
		var err error
		switch name := text("name"); r.table {
		case "book":
			m.done.say("the name by which other books know this one cannot be trusted: it has a new one")
			err = m.do(ctx, "UPDATE book SET ulid = lower(hex(randomblob(16))), secret = randomblob(32), seal = NULL")
		case "learner":
			row, _ := r.columns["id"].(int64)
			clean, bad := record.CleanName(name)
			if bad != nil {
				clean = unknownPerson(row)
			}
			at, _ := r.columns["at"].(int64)
			if record.CheckMoment("", time.UnixMilli(at)) != nil {
				at = m.at.UnixMilli()
			}
			m.done.say("%q: name, number, address or role was changed by the damage; the name is kept as it reads, number and address are not, and the role is that of a learner", clean)
			err = m.do(ctx, "UPDATE learner SET name = ?, name_key = ?, number = '', email = '', role = ?, at = ?, role_at = ?, simulated = simulated <> 0, pseudonym = pseudonym <> 0, seal = NULL WHERE id = ?",
				clean, record.NameKey(clean), scoring.RoleLearner, at, at, row)
		case "class":
			row, _ := r.columns["id"].(int64)
			clean, bad := record.CleanName(name)
			if bad != nil {
				clean = fmt.Sprintf("Salvaged class %d", row)
			}
			m.done.say("class %q: its row was changed by the damage; the name is kept as it reads", clean)
			err = m.do(ctx, "UPDATE class SET name = ?, name_key = ?, at = ?, seal = NULL WHERE id = ?", clean, record.TitleKey(clean), m.at.UnixMilli(), row)
		case "enrolment":
			m.done.say("somebody on a roster, which was changed by the damage: not saved")
			err = m.do(ctx, "DELETE FROM enrolment WHERE class = ? AND learner = ?", r.columns["class"], r.columns["learner"])
		case "former":
			m.done.say("an identifier of somebody who was joined or erased, which was changed by the damage: not saved")
			err = m.do(ctx, "DELETE FROM former WHERE ulid = ?", r.columns["ulid"])
		case "assignment":
			m.done.say("assignment %v: what it asks was changed by the damage: not saved", r.columns["number"])
			err = m.do(ctx, "DELETE FROM assignment WHERE number = ?", r.columns["number"])
		default: // calibration sessions and forms
			what := map[string]string{"panel": "calibration session", "form": "form"}[r.table]
			m.done.say("%s %q: what it asks was changed by the damage: not saved", what, name)
			err = m.do(ctx, "DELETE FROM "+r.table+" WHERE id = ?", r.columns["id"])
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// sets takes out forms, sessions and assignments that cannot be read or asked.
func (m *mending) sets(ctx context.Context) error {
	known := func(parts ...exercises.Setup) bool {
		for _, s := range parts {
			if _, err := m.book.Sheet(ctx, s.SheetID); s.SheetID != "" && err != nil {
				return false
			}
		}
		return true
	}
	type row struct {
		key  any
		text [2]string
		name string
	}
	for _, t := range []struct {
		query, out, called string
		sound              func(row) bool
	}{
		{"SELECT print, levels, parts, name FROM form", "DELETE FROM form WHERE print = ?", "form", func(r row) bool {
			list, err := m.book.Forms(ctx) // all can be read, by the order of these steps
			for _, f := range list {
				if f.Print() == r.key {
					return err == nil && known(f.Parts...)
				}
			}
			return false
		}},
		{"SELECT id, setup, '', name FROM panel", "DELETE FROM panel WHERE id = ?", "calibration session", func(r row) bool {
			p, err := m.book.PanelByName(ctx, r.name)
			if err != nil || !known(p.Setup) {
				return false
			}
			clean, err := record.CheckPanel(p)
			return err == nil && reflect.DeepEqual(clean, p)
		}},
		{"SELECT number, setup, '', CAST(number AS TEXT) FROM assignment", "DELETE FROM assignment WHERE number = ?", "assignment", func(r row) bool {
			number, _ := r.key.(int64)
			a, err := m.book.Assignment(ctx, int(number))
			if err != nil || !known(a.Setup) {
				return false
			}
			clean, err := record.CheckAssignment(a)
			return err == nil && reflect.DeepEqual(clean, a)
		}},
	} {
		var list []row
		err := m.Tx.Each(ctx, t.query, nil, func(rows sqlbook.Scanner) error {
			var r row
			err := rows.Scan(&r.key, &r.text[0], &r.text[1], &r.name)
			list = append(list, r)
			return err
		})
		if err != nil {
			return err
		}
		out := func(r row) error {
			m.done.say("%s %s cannot be read: not saved", t.called, r.name)
			return m.do(ctx, t.out, r.key)
		}
		left := list[:0]
		for _, r := range list {
			if !json.Valid([]byte(r.text[0])) || r.text[1] != "" && !json.Valid([]byte(r.text[1])) {
				if err := out(r); err != nil {
					return err
				}
				continue
			}
			left = append(left, r)
		}
		for _, r := range left {
			if !t.sound(r) {
				if err := out(r); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// sittings keeps each whose chain holds, and of the others every answer whose link
// verifies.
func (m *mending) sittings(ctx context.Context) error {
	type row struct {
		id   int64
		ulid scoring.SittingID
	}
	var list []row
	err := m.Tx.Each(ctx, "SELECT id, ulid FROM sitting ORDER BY id", nil, func(rows sqlbook.Scanner) error {
		var r row
		err := rows.Scan(&r.id, &r.ulid)
		list = append(list, r)
		return err
	})
	if err != nil {
		return err
	}
	for _, r := range list {
		if err := m.sitting(ctx, r.id, r.ulid); err != nil {
			return err
		}
	}
	return nil
}

func (m *mending) sitting(ctx context.Context, row int64, id scoring.SittingID) error {
	s, strange, err := m.read(ctx, row, id)
	if err != nil {
		return err
	}
	answers, unread, err := m.answers(ctx, row, s)
	if err != nil {
		return err
	}
	var c record.Chain
	for one, err := range m.book.Chains(ctx, record.Filter{Sitting: s.ID}) {
		if err != nil {
			return err
		}
		c = one
	}
	if broken := strange || unread > 0 || len(record.VerifyChain(s, answers, c)) > 0; !broken {
		m.done.Whole++
		m.done.Answers += len(answers)
		return nil
	}
	kept := answers
	if m.chained {
		if start := (record.Link{}); c.Start == start && !strange {
			c.Start = record.StartLink(s)
		}
		kept = holding(answers, c)
	}
	holds := map[int]bool{}
	for _, a := range kept {
		holds[a.Trial.Ordinal] = true
	}
	for _, a := range answers {
		if !holds[a.Trial.Ordinal] {
			if err := m.do(ctx, "DELETE FROM attempt WHERE sitting = ? AND ordinal = ?", row, a.Trial.Ordinal); err != nil {
				return err
			}
		}
	}
	missing := max(unread, c.Count-len(answers))
	m.done.Broken++
	m.done.Answers += len(kept)
	m.done.Dropped += len(answers) - len(kept)
	m.done.Missing += missing
	name := string(s.ID)
	if strange {
		name = fmt.Sprintf("whose own row is gone (%s)", s.ID)
	}
	m.done.say("sitting %s: %s saved, %d that could be read %s not proved to be as they were given, %d could not be read", name,
		scoring.Count(len(kept), "answer", "answers"), len(answers)-len(kept), scoring.Plural(len(answers)-len(kept), "is", "are"), missing)
	if err := m.Rechain(ctx, row, s.ID, m.at, record.WhySalvaged); err != nil {
		return err
	}
	return m.do(ctx, "UPDATE chain SET lost = 1 WHERE sitting = ?", row)
}

// read reads a sitting. One that cannot be read is brought into a form that can;
// strange says that nothing of what it was begun with is left.
func (m *mending) read(ctx context.Context, row int64, id scoring.SittingID) (s scoring.Sitting, strange bool, err error) {
	sound := func() bool {
		if s, err = m.book.Sitting(ctx, id); err != nil {
			return false
		}
		kind := ""
		if m.Tx.QueryRowContext(ctx, "SELECT kind || ' ' || coalesce(sheet, '') FROM sitting WHERE id = ?", row).Scan(&kind) != nil || kind != string(s.Setup.Kind)+" "+s.Setup.SheetID {
			return false
		}
		ended := s.Ended
		clean, bad := record.CheckSitting(s)
		return bad == nil && reflect.DeepEqual(clean, s) && (ended.IsZero() || !ended.Before(s.Started))
	}
	if sound() {
		return s, m.strangers[row], nil
	}
	kind := cmp.Or(s.Setup.Kind, exercises.ValueFirst)
	if _, err := exercises.ByID(kind); err != nil {
		kind = exercises.ValueFirst
	}
	setup, err := json.Marshal(exercises.Setup{Kind: kind})
	if err != nil {
		return s, true, err
	}
	display, err := json.Marshal(scoring.DisplayCheck{})
	if err != nil {
		return s, true, err
	}
	fresh := id
	if len(id) > 64 || strings.ContainsFunc(string(id), func(r rune) bool { return r <= ' ' || r > '~' }) {
		fresh = scoring.SittingID(fmt.Sprintf("salvaged-sitting-%d-%d", m.at.UnixMilli(), row))
	}
	err = m.do(ctx, `UPDATE sitting SET ulid = ?, kind = ?, sheet = NULL, within = '', started = (SELECT coalesce(min(at), ?) FROM attempt WHERE sitting = ?), ended = (SELECT coalesce(max(at), ?) FROM attempt WHERE sitting = ?),
		left_early = 1, setup = ?, display = ?, experience = NULL, road = ?, origin_book = '', imported = NULL, simulated = simulated <> 0, begun_as = '' WHERE id = ?`,
		fresh, kind, m.at.UnixMilli(), row, m.at.UnixMilli(), row, string(setup), string(display), scoring.RoadUnknown, row)
	if err != nil {
		return s, true, err
	}
	s, err = m.book.Sitting(ctx, fresh)
	return s, true, err
}

// answers reads those of a sitting, and takes out what cannot be read.
func (m *mending) answers(ctx context.Context, row int64, s scoring.Sitting) (list []scoring.Attempt, unread int, err error) {
	sound := true
	for a, err := range m.book.Attempts(ctx, record.Filter{Sitting: s.ID, Silent: true}) {
		if err != nil {
			if ctx.Err() != nil {
				return nil, 0, err
			}
			sound = false
			break
		}
		clean, err := record.CheckAttempt(a)
		sound = sound && err == nil && record.SameAttempt(clean, a)
		list = append(list, a)
	}
	if sound {
		return list, 0, nil
	}
	if m.words == nil {
		err := m.Tx.Each(ctx, "SELECT id, text FROM word WHERE id BETWEEN 1 AND 1000000", nil, func(rows sqlbook.Scanner) error {
			var n int
			var text string
			err := rows.Scan(&n, &text)
			m.words = append(m.words, make([]string, max(0, n+1-len(m.words)))...)
			m.words[n] = text
			return err
		})
		if err != nil {
			return nil, 0, err
		}
	}
	list = nil
	var bad []int64
	err = m.Tx.EachNamed(ctx, "SELECT * FROM attempt WHERE sitting = ? ORDER BY ordinal", []any{row}, func(columns map[string]any) error {
		a, err := sqlbook.ReadAnswer(s, m.words, func(name string) any { return columns[name] })
		if err == nil {
			var clean scoring.Attempt
			if clean, err = record.CheckAttempt(a); err == nil && record.SameAttempt(clean, a) {
				list = append(list, a)
				return nil
			}
		}
		n, _ := columns["ordinal"].(int64)
		bad = append(bad, n)
		return nil
	})
	for _, n := range bad {
		if err := m.do(ctx, "DELETE FROM attempt WHERE sitting = ? AND ordinal = ?", row, n); err != nil {
			return nil, 0, err
		}
	}
	return list, len(bad), err
}

// holding are the answers whose link follows from the one before.
func holding(answers []scoring.Attempt, c record.Chain) (kept []scoring.Attempt) {
	stored := map[int]record.Link{}
	for _, l := range c.Answers {
		stored[l.Ordinal] = l.Link
	}
	before := c.Start
	for _, a := range answers {
		l := stored[a.Trial.Ordinal]
		if before.Next(a) == l {
			kept = append(kept, a)
		}
		before = l
	}
	return kept
}

// count counts what was saved.
func (m *mending) count(ctx context.Context) error {
	return m.Tx.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM learner),
		(SELECT count(*) FROM class) + (SELECT count(*) FROM assignment) + (SELECT count(*) FROM panel) + (SELECT count(*) FROM form)`).Scan(&m.done.People, &m.done.Sets)
}
