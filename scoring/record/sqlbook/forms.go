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

// AddForm enters a form of the proficiency test.
func (b *Book) AddForm(ctx context.Context, f record.Form) (record.Form, error) {
	f, err := record.CheckForm(f)
	if err != nil {
		return f, err
	}
	return f, b.Update(ctx, func(w *Writer) error { return w.addForm(ctx, f) })
}

func (m merger) AddForm(ctx context.Context, f record.Form) (record.Form, error) {
	f, err := record.CheckForm(f)
	if err != nil {
		return f, err
	}
	return f, m.w.addForm(ctx, f)
}

func (w *Writer) addForm(ctx context.Context, f record.Form) error {
	for _, part := range f.Parts {
		if _, err := w.sheetRow(ctx, part.SheetID); err != nil {
			return err
		}
	}
	class, err := w.classRow(ctx, f.Class)
	if err != nil {
		return err
	}
	levels, err := json.Marshal(f.Levels)
	if err != nil {
		return err
	}
	parts, err := json.Marshal(f.Parts)
	if err != nil {
		return err
	}
	done, err := w.Tx.ExecContext(ctx, "INSERT INTO form (id, print, name, class, at, closed, levels, parts) VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (print) DO NOTHING",
		w.Tx.key(), f.Print(), f.Name, class, f.At.UnixMilli(), orNull(f.Closed), string(levels), string(parts))
	if err != nil {
		return err
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return errors.Join(err, record.FormTaken(f))
	}
	w.Unsealed = true
	return nil
}

// Forms lists the forms of the proficiency test.
func (b *Book) Forms(ctx context.Context) ([]record.Form, error) {
	list, err := forms(ctx, b.read)
	return list, b.Explain(err)
}

func (m merger) Forms(ctx context.Context) ([]record.Form, error) { return forms(ctx, m.w.Tx) }

func forms(ctx context.Context, q Session) (list []record.Form, err error) {
	err = q.Each(ctx, "SELECT f.print, f.name, coalesce(c.ulid, ''), f.at, f.closed, f.levels, f.parts FROM form f LEFT JOIN class c ON c.id = f.class ORDER BY f.at, f.print", nil,
		func(rows Scanner) error {
			var f record.Form
			var print, class string
			var at int64
			var closed sql.NullInt64
			var levels, parts []byte
			if err := rows.Scan(&print, &f.Name, &class, &at, &closed, &levels, &parts); err != nil {
				return err
			}
			f.Class, f.At = scoring.ClassID(class), time.UnixMilli(at).UTC()
			if closed.Valid {
				f.Closed = time.UnixMilli(closed.Int64).UTC()
			}
			var err error
			if f.Levels, f.Parts, err = q.parsed.formOf(levels, parts); err != nil {
				return fmt.Errorf("the form %s with the fingerprint %s cannot be read: %w", f.Name, print, err)
			}
			list = append(list, f)
			return nil
		})
	return list, err
}

// CloseForm says since when nobody may begin a form; zero opens it.
func (b *Book) CloseForm(ctx context.Context, print string, closed time.Time) error {
	return b.Update(ctx, func(w *Writer) error { return merger{w}.CloseForm(ctx, print, closed) })
}

func (m merger) CloseForm(ctx context.Context, print string, closed time.Time) error {
	if !closed.IsZero() {
		if err := record.CheckMoment("the end of a form of the test", closed); err != nil {
			return err
		}
	}
	done, err := m.w.Tx.ExecContext(ctx, "UPDATE form SET seal = NULL, closed = ? WHERE print = ?", orNull(closed), print)
	if err != nil {
		return err
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return errors.Join(err, record.FormNotFound(print))
	}
	m.w.Unsealed = true
	return nil
}

// orNull is a time as a column holds it that may have none.
func orNull(t time.Time) any {
	if t.IsZero() {
		return nil
	}
	return t.UnixMilli()
}

// CheckForms finds forms that are not what their fingerprint says.
func (b *Book) CheckForms(ctx context.Context, found *record.Inventory) error {
	list, err := b.Forms(ctx)
	if err != nil {
		return err
	}
	known := map[string]bool{}
	for _, f := range list {
		known[f.Print()] = true
	}
	return b.read.Each(ctx, "SELECT name, print FROM form", nil, func(rows Scanner) error {
		var name, print string
		err := rows.Scan(&name, &print)
		if err == nil && !known[print] {
			found.Find("the form %q is not what was laid down: it has not the fingerprint %s", name, print)
		}
		return err
	})
}
