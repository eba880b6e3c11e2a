package sqlbook

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// AddAssignment enters an assignment.
func (b *Book) AddAssignment(ctx context.Context, a scoring.Assignment) (scoring.Assignment, error) {
	a, err := record.CheckAssignment(a)
	if err != nil {
		return a, err
	}
	return a, b.Update(ctx, func(w *Writer) error { return w.addAssignment(ctx, &a) })
}

// addAssignment enters a checked assignment and fills in its number.
func (w *Writer) addAssignment(ctx context.Context, a *scoring.Assignment) error {
	class, err := classRow(ctx, w.Tx, a.Class)
	if err != nil {
		return found(fmt.Sprintf("class %s", a.Class), err)
	}
	var sheet any
	if a.Setup.SheetID != "" {
		sheet = a.Setup.SheetID
		var one int
		if err := w.Tx.QueryRowContext(ctx, "SELECT 1 FROM sheet WHERE fingerprint = ?", sheet).Scan(&one); err != nil {
			return found("sheet "+a.Setup.SheetID, err)
		}
	}
	setup, err := json.Marshal(a.Setup)
	if err != nil {
		return err
	}
	if a.Number, err = w.numberFor(ctx, *a); err != nil {
		return err
	}
	err = w.touching(ctx, fmt.Errorf("assignment %s: %w", a.ID, record.ErrTaken),
		`INSERT INTO assignment (number, ulid, class, sheet, at, due, setup, pass_rule, pass_value) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
		a.Number, a.ID, class, sheet, a.At.UnixMilli(), a.Due.UnixMilli(), string(setup), a.Pass.Rule, a.Pass.Value)
	if err != nil {
		return err
	}
	_, err = w.Tx.ExecContext(ctx, "INSERT INTO numbered (number, ulid) VALUES (?, ?) ON CONFLICT (number) DO NOTHING", a.Number, a.ID)
	return err
}

// numberFor is what an assignment will be called.
func (w *Writer) numberFor(ctx context.Context, a scoring.Assignment) (number int, err error) {
	var wish any
	if record.MayWish(a.Number) {
		wish = a.Number
	}
	err = w.Tx.QueryRowContext(ctx, `SELECT coalesce((SELECT number FROM numbered WHERE ulid = ?1),
		CASE WHEN CAST(?2 AS BIGINT) IN (SELECT number FROM numbered) THEN NULL ELSE CAST(?2 AS BIGINT) END, (SELECT max(number) + 1 FROM numbered), 1)`, a.ID, wish).Scan(&number)
	return number, err
}

const assignmentColumns = "SELECT a.number, a.ulid, c.ulid, a.at, a.due, a.setup, a.pass_rule, a.pass_value FROM assignment a JOIN class c ON c.id = a.class"

func scanAssignment(row interface{ Scan(...any) error }) (a scoring.Assignment, err error) {
	var at, due int64
	var setup []byte
	if err := row.Scan(&a.Number, &a.ID, &a.Class, &at, &due, &setup, &a.Pass.Rule, &a.Pass.Value); err != nil {
		return a, err
	}
	a.At, a.Due = time.UnixMilli(at).UTC(), time.UnixMilli(due).UTC()
	if err := json.Unmarshal(setup, &a.Setup); err != nil {
		return a, fmt.Errorf("assignment %d: its setup cannot be read: %w", a.Number, err)
	}
	return a, nil
}

// Assignments lists those of a class, or with no class all, by number.
func (b *Book) Assignments(ctx context.Context, class scoring.ClassID) ([]scoring.Assignment, error) {
	list, err := assignments(ctx, b.read, class)
	return list, b.Explain(err)
}

func assignments(ctx context.Context, q Session, class scoring.ClassID) (list []scoring.Assignment, err error) {
	err = q.Each(ctx, assignmentColumns+" WHERE ?1 = '' OR c.ulid = ?1 ORDER BY a.number", []any{string(class)}, func(rows Scanner) error {
		a, err := scanAssignment(rows)
		list = append(list, a)
		return err
	})
	if err != nil || len(list) == 0 {
		return list, err
	}
	decided := map[int][]scoring.Ruling{}
	err = rulings(ctx, q, decided, "")
	for i := range list {
		list[i].Rulings = decided[list[i].Number]
	}
	return list, err
}

// Assignment finds one by its number.
func (b *Book) Assignment(ctx context.Context, number int) (scoring.Assignment, error) {
	a, err := assignment(ctx, b.read, number)
	return a, b.Explain(err)
}

func assignment(ctx context.Context, q Session, number int) (a scoring.Assignment, err error) {
	err = q.Patiently(ctx, func() error {
		a, err = scanAssignment(q.QueryRowContext(ctx, assignmentColumns+" WHERE a.number = ?", number))
		return err
	})
	if errors.Is(err, sql.ErrNoRows) {
		return a, record.NoAssignment(number)
	}
	if err != nil {
		return a, err
	}
	decided := map[int][]scoring.Ruling{}
	err = rulings(ctx, q, decided, "WHERE r.assignment = ?", number)
	a.Rulings = decided[number]
	return a, err
}

func (m merger) AddAssignment(ctx context.Context, a scoring.Assignment) (scoring.Assignment, error) {
	a, err := record.CheckAssignment(a)
	if err != nil {
		return a, err
	}
	return a, m.w.addAssignment(ctx, &a)
}

func (m merger) Assignments(ctx context.Context, class scoring.ClassID) ([]scoring.Assignment, error) {
	return assignments(ctx, m.w.Tx, class)
}

func (m merger) Assignment(ctx context.Context, number int) (scoring.Assignment, error) {
	return assignment(ctx, m.w.Tx, number)
}
