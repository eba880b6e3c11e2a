package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlbook"
)

// patching puts something into the place of what other rows point to and is gone, so
// that the rebuilt book can be read as any book.
type patching struct {
	tx     *sql.Tx
	tables map[string]*table
	ids    map[string]map[int64]string
	at     time.Time
	done   *Salvaged
	// strangers are the rows of sittings of which nothing but their answers is left.
	strangers map[int64]bool
}

func (p *patching) all(ctx context.Context) error {
	for _, step := range []func(context.Context) error{p.sheets, p.sittings, p.people, p.classes, p.rest} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	return nil
}

// put enters a row; columns that are not named get what empty ones have.
func (p *patching) put(ctx context.Context, name string, row int64, columns map[string]any) error {
	t := p.tables[name]
	values := t.values(carved{rowid: row})
	for i, c := range t.columns {
		if v, given := columns[c.name]; given {
			values[i] = v
		}
	}
	_, err := p.tx.ExecContext(ctx, t.insert, values...)
	return err
}

// called is what was known by an identifier, or a new one.
func (p *patching) called(table string, row int64) string {
	if id := p.ids[table][row]; id != "" {
		return id
	}
	return fmt.Sprintf("salvaged-%s-%d-%d", table, p.at.UnixMilli(), row)
}

// sheets takes out those that are not what their fingerprint says, and puts built-in
// libraries back.
func (p *patching) sheets(ctx context.Context) error {
	found, err := p.tx.QueryContext(ctx, "SELECT fingerprint, body FROM sheet")
	if err != nil {
		return err
	}
	var bad []string
	for found.Next() {
		var print string
		var body []byte
		if err := found.Scan(&print, &body); err != nil {
			return err
		}
		if _, err := sqlbook.ReadSheet(print, body); err != nil {
			bad = append(bad, print)
		}
	}
	if err := found.Close(); err != nil {
		return err
	}
	for _, print := range bad {
		if _, err := p.tx.ExecContext(ctx, "DELETE FROM sheet WHERE fingerprint = ?", print); err != nil {
			return err
		}
	}
	const unknown = "sheet IS NOT NULL AND sheet NOT IN (SELECT fingerprint FROM sheet)"
	var missing int
	query := "SELECT (SELECT count(*) FROM sitting WHERE " + unknown + ")"
	for _, t := range []string{"panel", "assignment"} {
		if p.tables[t] != nil {
			query += " + (SELECT count(*) FROM " + t + " WHERE " + unknown + ")"
		}
	}
	if err := p.tx.QueryRowContext(ctx, query).Scan(&missing); err != nil {
		return err
	}
	if missing == 0 && len(bad) == 0 {
		return nil
	}
	for _, name := range tabs.Builtin() {
		l, err := tabs.Load(name)
		if err != nil {
			return err
		}
		s := tabs.NewSheet(l, nil)
		body, err := json.Marshal(s)
		if err != nil {
			return err
		}
		if err := p.put(ctx, "sheet", 0, map[string]any{"fingerprint": s.Fingerprint(), "body": string(body)}); err != nil {
			return err
		}
	}
	for table, what := range map[string]string{"sitting": "sitting", "panel": "calibration session", "assignment": "assignment"} {
		if p.tables[table] == nil {
			continue
		}
		names := map[string]string{"sitting": "ulid", "panel": "name", "assignment": "number"}
		list, err := p.texts(ctx, "SELECT CAST("+names[table]+" AS TEXT) FROM "+table+" WHERE "+unknown)
		if err != nil {
			return err
		}
		for _, name := range list {
			p.done.say("%s %s: the library that it was taken with cannot be read", what, name)
		}
		fix := "DELETE FROM " + table + " WHERE " + unknown
		if table == "sitting" {
			fix = "UPDATE sitting SET sheet = NULL, setup = CASE WHEN json_valid(setup) THEN json_remove(setup, '$.sheet') ELSE setup END WHERE " + unknown
		}
		if _, err := p.tx.ExecContext(ctx, fix); err != nil {
			return err
		}
	}
	return nil
}

// sittings puts one into the place of each that has answers and no row.
func (p *patching) sittings(ctx context.Context) error {
	list, err := ints(ctx, p.tx, "SELECT DISTINCT sitting FROM attempt WHERE sitting NOT IN (SELECT id FROM sitting)")
	if err != nil {
		return err
	}
	unknown := int64(-1)
	for _, row := range list {
		var kind sql.NullString
		var first, last int64
		if err := p.tx.QueryRowContext(ctx, "SELECT (SELECT text FROM word WHERE id = kind), first, last FROM (SELECT max(kind) AS kind, min(at) AS first, max(at) AS last FROM attempt WHERE sitting = ?)", row).Scan(&kind, &first, &last); err != nil {
			return err
		}
		if _, err := exercises.ByID(exercises.KindID(kind.String)); err != nil {
			kind.String = string(exercises.ValueFirst)
		}
		if unknown < 0 {
			if err := p.tx.QueryRowContext(ctx, "SELECT 1 + (SELECT ifnull(max(id), 0) FROM learner) + (SELECT ifnull(max(learner), 0) FROM sitting)").Scan(&unknown); err != nil {
				return err
			}
			if err := p.stranger(ctx, unknown); err != nil {
				return err
			}
		}
		setup, err := json.Marshal(exercises.Setup{Kind: exercises.KindID(kind.String)})
		if err != nil {
			return err
		}
		display, err := json.Marshal(scoring.DisplayCheck{})
		if err != nil {
			return err
		}
		err = p.put(ctx, "sitting", row, map[string]any{"id": row, "ulid": p.called("sitting", row), "learner": unknown, "kind": kind.String,
			"started": first, "ended": last, "left_early": 1, "setup": string(setup), "display": string(display), "road": string(scoring.RoadUnknown)})
		if err != nil {
			return err
		}
		p.strangers[row] = true
	}
	if p.tables["chain"] == nil {
		return nil
	}
	empty, err := ints(ctx, p.tx, "SELECT sitting FROM chain WHERE sitting NOT IN (SELECT id FROM sitting)")
	for _, row := range empty {
		p.done.say("a sitting of which nothing could be read (number %d in the file)", row)
	}
	if err == nil {
		_, err = p.tx.ExecContext(ctx, "DELETE FROM chain WHERE sitting NOT IN (SELECT id FROM sitting)")
	}
	return err
}

// people puts somebody into the place of each whose row is gone.
func (p *patching) people(ctx context.Context) error {
	query := "SELECT learner FROM sitting"
	if p.tables["enrolment"] != nil {
		query += " UNION SELECT learner FROM enrolment"
	}
	list, err := ints(ctx, p.tx, "SELECT learner FROM ("+query+") WHERE learner NOT IN (SELECT id FROM learner)")
	for _, row := range list {
		if err := p.stranger(ctx, row); err != nil {
			return err
		}
		p.done.say("somebody whose name could not be read (number %d in the file): called %q now; see \"shadedrill people rename\"", row, unknownPerson(row))
	}
	return err
}

func unknownPerson(row int64) string { return fmt.Sprintf("Unknown person %d", row) }

func (p *patching) stranger(ctx context.Context, row int64) error {
	name, at := unknownPerson(row), p.at.UnixMilli()
	return p.put(ctx, "learner", row, map[string]any{"id": row, "ulid": p.called("learner", row), "name": name, "name_key": record.NameKey(name),
		"role": string(scoring.RoleLearner), "at": at, "role_at": at})
}

// classes puts one into the place of each that has a roster or assignments and no row.
func (p *patching) classes(ctx context.Context) error {
	if p.tables["class"] == nil {
		return nil
	}
	list, err := ints(ctx, p.tx, "SELECT class FROM (SELECT class FROM enrolment UNION SELECT class FROM assignment) WHERE class NOT IN (SELECT id FROM class)")
	for _, row := range list {
		name := fmt.Sprintf("Salvaged class %d", row)
		err := p.put(ctx, "class", row, map[string]any{"id": row, "ulid": p.called("class", row), "name": name, "name_key": record.TitleKey(name), "at": p.at.UnixMilli()})
		if err != nil {
			return err
		}
		p.done.say("a class whose name could not be read (number %d in the file): called %q now", row, name)
	}
	return err
}

// rest takes out what points to nothing any more.
func (p *patching) rest(ctx context.Context) error {
	for _, step := range []struct{ table, query, says string }{
		{"panel", "UPDATE panel SET lead = NULL%s WHERE lead NOT IN (SELECT id FROM learner)", ""},
		{"former", "DELETE FROM former WHERE learner NOT IN (SELECT id FROM learner)", ""},
		// An index of identifiers can pass for this table.
		{"former", "DELETE FROM former WHERE ulid IN (SELECT ulid FROM learner UNION SELECT ulid FROM sitting UNION SELECT ulid FROM class UNION SELECT ulid FROM assignment)", ""},
		{"panel", "DELETE FROM panel WHERE class NOT IN (SELECT id FROM class)", "%d calibration sessions that belong to a class which is gone"},
		{"form", "DELETE FROM form WHERE class NOT IN (SELECT id FROM class)", "%d forms of the test that belong to a class which is gone"},
		{"account", "DELETE FROM account WHERE learner NOT IN (SELECT id FROM learner)", ""},
		{"ticket", "DELETE FROM ticket WHERE learner NOT IN (SELECT id FROM learner) OR class NOT IN (SELECT id FROM class)", ""},
		{"signed_in", "DELETE FROM signed_in", ""}, // whoever is signed in signs in again
		{"numbered", "DELETE FROM numbered WHERE ulid IN (SELECT ulid FROM assignment) OR number IN (SELECT number FROM assignment)", ""},
		{"numbered", "INSERT INTO numbered (number, ulid) SELECT number, ulid FROM assignment", ""},
	} {
		t := p.tables[step.table]
		if t == nil {
			continue
		}
		has := func(column string) bool {
			return slices.ContainsFunc(t.columns, func(c tableColumn) bool { return c.name == column })
		}
		if step.table == "panel" { // whose columns came one by one
			if strings.Contains(step.query, "class") && !has("class") {
				continue
			}
			unseal := ""
			if has("seal") {
				unseal = ", seal = NULL"
			}
			step.query = strings.Replace(step.query, "%s", unseal, 1)
		}
		done, err := p.tx.ExecContext(ctx, step.query)
		if err != nil {
			return err
		}
		if n, err := done.RowsAffected(); err != nil {
			return err
		} else if n > 0 && step.says != "" {
			p.done.say(step.says, n)
		}
	}
	return nil
}

func (p *patching) texts(ctx context.Context, query string) (list []string, err error) {
	found, err := p.tx.QueryContext(ctx, query)
	if err != nil {
		return nil, err
	}
	defer found.Close()
	for found.Next() {
		var s string
		if err := found.Scan(&s); err != nil {
			return nil, err
		}
		list = append(list, s)
	}
	return list, found.Err()
}
