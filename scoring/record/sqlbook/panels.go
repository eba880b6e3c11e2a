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

// AddPanel enters a calibration session.
func (b *Book) AddPanel(ctx context.Context, p record.Panel) (record.Panel, error) {
	p, err := record.CheckPanel(p)
	if err != nil {
		return p, err
	}
	return p, b.Update(ctx, func(w *Writer) error { return w.addPanel(ctx, p) })
}

func (w *Writer) addPanel(ctx context.Context, p record.Panel) error {
	lead, err := w.learnerRow(ctx, p.By)
	if err != nil {
		return err
	}
	sheet, err := w.sheetRow(ctx, p.Setup.SheetID)
	if err != nil {
		return err
	}
	setup, err := json.Marshal(p.Setup)
	if err != nil {
		return err
	}
	class, err := w.classRow(ctx, p.Class)
	if err != nil {
		return err
	}
	done, err := w.Tx.ExecContext(ctx, `INSERT INTO panel (id, name, name_key, lead, class, sheet, at, closed, setup) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (name_key) DO NOTHING`, w.Tx.key(), p.Name, record.TitleKey(p.Name), lead, class, sheet, p.At.UnixMilli(), orNull(p.Closed), string(setup))
	if err != nil {
		return err
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return errors.Join(err, record.PanelTaken(p.Name))
	}
	w.Unsealed = true
	return nil
}

const panelColumns = `SELECT p.name, coalesce(l.ulid, ''), coalesce(c.ulid, ''), p.at, p.closed, p.setup
	FROM panel p LEFT JOIN learner l ON l.id = p.lead LEFT JOIN class c ON c.id = p.class`

func scanPanel(row interface{ Scan(...any) error }) (p record.Panel, err error) {
	var at int64
	var closed sql.NullInt64
	var setup []byte
	if err := row.Scan(&p.Name, &p.By, &p.Class, &at, &closed, &setup); err != nil {
		return p, err
	}
	p.At = time.UnixMilli(at).UTC()
	if closed.Valid {
		p.Closed = time.UnixMilli(closed.Int64).UTC()
	}
	if err := json.Unmarshal(setup, &p.Setup); err != nil {
		return p, fmt.Errorf("calibration session %q: its setup cannot be read: %w", p.Name, err)
	}
	return p, nil
}

// Panels lists the calibration sessions, oldest first.
func (b *Book) Panels(ctx context.Context) ([]record.Panel, error) {
	list, err := panels(ctx, b.read)
	return list, b.Explain(err)
}

func panels(ctx context.Context, q Session) (list []record.Panel, err error) {
	err = q.Each(ctx, panelColumns+" ORDER BY p.at, p.id", nil, func(rows Scanner) error {
		p, err := scanPanel(rows)
		list = append(list, p)
		return err
	})
	return list, err
}

// PanelByName finds a calibration session, ignoring case.
func (b *Book) PanelByName(ctx context.Context, name string) (record.Panel, error) {
	p, err := panelByName(ctx, b.read, name)
	return p, b.Explain(err)
}

func panelByName(ctx context.Context, q Session, name string) (p record.Panel, err error) {
	err = q.Patiently(ctx, func() error {
		p, err = scanPanel(q.QueryRowContext(ctx, panelColumns+" WHERE p.name_key = ?", record.TitleKey(name)))
		return err
	})
	if errors.Is(err, sql.ErrNoRows) {
		return p, record.PanelNotFound(name)
	}
	return p, err
}

// ClosePanel says that nobody is to begin a session any more.
func (b *Book) ClosePanel(ctx context.Context, name string, at time.Time) error {
	return b.Update(ctx, func(w *Writer) error { return merger{w}.ClosePanel(ctx, name, at) })
}

func (m merger) AddPanel(ctx context.Context, p record.Panel) (record.Panel, error) {
	p, err := record.CheckPanel(p)
	if err != nil {
		return p, err
	}
	return p, m.w.addPanel(ctx, p)
}

func (m merger) Panels(ctx context.Context) ([]record.Panel, error) { return panels(ctx, m.w.Tx) }

func (m merger) PanelByName(ctx context.Context, name string) (record.Panel, error) {
	return panelByName(ctx, m.w.Tx, name)
}

func (m merger) ClosePanel(ctx context.Context, name string, at time.Time) error {
	if err := record.CheckMoment("the end of a calibration session", at); err != nil {
		return err
	}
	done, err := m.w.Tx.ExecContext(ctx, "UPDATE panel SET seal = NULL, closed = coalesce(closed, ?) WHERE name_key = ?", at.UnixMilli(), record.TitleKey(name))
	if err != nil {
		return err
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return errors.Join(err, record.PanelNotFound(name))
	}
	m.w.Unsealed = true
	return nil
}

// learnerRow is the row of a person, nil for nobody; ErrNotFound.
func (w *Writer) learnerRow(ctx context.Context, id scoring.LearnerID) (any, error) {
	if id == "" {
		return nil, nil
	}
	var row sql.NullInt64
	err := w.Tx.QueryRowContext(ctx, "SELECT "+whose, id, id).Scan(&row)
	if err == nil && !row.Valid {
		_, err = learner(ctx, w.Tx, id) // says why
	}
	return row.Int64, err
}

// classRow is the row of a class, nil for none; ErrNotFound.
func (w *Writer) classRow(ctx context.Context, id scoring.ClassID) (any, error) {
	if id == "" {
		return nil, nil
	}
	var row int64
	err := w.Tx.QueryRowContext(ctx, "SELECT id FROM class WHERE ulid = ?", id).Scan(&row)
	return row, found(fmt.Sprintf("class %s", id), err)
}

// sheetRow is a sheet's fingerprint if the book keeps it, nil for none;
// ErrNotFound.
func (w *Writer) sheetRow(ctx context.Context, fingerprint string) (any, error) {
	if fingerprint == "" {
		return nil, nil
	}
	var there int
	err := w.Tx.QueryRowContext(ctx, "SELECT 1 FROM sheet WHERE fingerprint = ?", fingerprint).Scan(&there)
	return fingerprint, found("sheet "+fingerprint, err)
}
