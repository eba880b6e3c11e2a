package sqlbook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// touching changes rows, of which there must be at least one.
func (w *Writer) touching(ctx context.Context, none error, query string, args ...any) error {
	done, err := w.Tx.ExecContext(ctx, query, args...)
	if err != nil {
		return err
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return errors.Join(err, none)
	}
	w.Unsealed = true
	return nil
}

// AddClass enters a class.
func (b *Book) AddClass(ctx context.Context, c scoring.Class) (scoring.Class, error) {
	c, err := record.CheckClass(c)
	if err != nil {
		return c, err
	}
	return c, b.Update(ctx, func(w *Writer) error { return w.addClass(ctx, c) })
}

func (w *Writer) addClass(ctx context.Context, c scoring.Class) error {
	switch _, err := classRow(ctx, w.Tx, c.ID); {
	case err == nil:
		return fmt.Errorf("class %s: %w", c.ID, record.ErrTaken)
	case !errors.Is(err, sql.ErrNoRows):
		return err
	}
	return w.touching(ctx, record.ClassTaken(c.Name), "INSERT INTO class (id, ulid, name, name_key, at) VALUES (?, ?, ?, ?, ?) ON CONFLICT (name_key) DO NOTHING",
		w.Tx.key(), c.ID, c.Name, record.TitleKey(c.Name), c.At.UnixMilli())
}

// classRow finds the key of a class's row by its stable identifier.
func classRow(ctx context.Context, q Session, class scoring.ClassID) (id int64, err error) {
	err = q.Patiently(ctx, func() error { return q.QueryRowContext(ctx, "SELECT id FROM class WHERE ulid = ?", class).Scan(&id) })
	return id, err
}

const classColumns = "SELECT ulid, name, at FROM class"

func scanClass(row interface{ Scan(...any) error }) (c scoring.Class, err error) {
	var at int64
	err = row.Scan(&c.ID, &c.Name, &at)
	c.At = time.UnixMilli(at).UTC()
	return c, err
}

// Classes lists all, by name.
func (b *Book) Classes(ctx context.Context) ([]scoring.Class, error) {
	list, err := classes(ctx, b.read)
	return list, b.Explain(err)
}

func classes(ctx context.Context, q Session) (list []scoring.Class, err error) {
	err = q.Each(ctx, classColumns+" ORDER BY name_key", nil, func(rows Scanner) error {
		c, err := scanClass(rows)
		list = append(list, c)
		return err
	})
	return list, err
}

// ClassByName finds a class, ignoring case.
func (b *Book) ClassByName(ctx context.Context, name string) (scoring.Class, error) {
	c, err := classByName(ctx, b.read, name)
	return c, b.Explain(err)
}

func classByName(ctx context.Context, q Session, name string) (c scoring.Class, err error) {
	err = q.Patiently(ctx, func() error {
		c, err = scanClass(q.QueryRowContext(ctx, classColumns+" WHERE name_key = ?", record.TitleKey(name)))
		return err
	})
	return c, found(fmt.Sprintf("class %q", name), err)
}

// RemoveClass takes out a class with its roster and assignments.
func (b *Book) RemoveClass(ctx context.Context, id scoring.ClassID) error {
	return b.Update(ctx, func(w *Writer) error { return w.removeClass(ctx, id) })
}

func (w *Writer) removeClass(ctx context.Context, id scoring.ClassID) error {
	return w.touching(ctx, record.NoClass(id), "DELETE FROM class WHERE ulid = ?", id)
}

func (m merger) AddClass(ctx context.Context, c scoring.Class) (scoring.Class, error) {
	c, err := record.CheckClass(c)
	if err != nil {
		return c, err
	}
	return c, m.w.addClass(ctx, c)
}

func (m merger) Classes(ctx context.Context) ([]scoring.Class, error) { return classes(ctx, m.w.Tx) }

func (m merger) ClassByName(ctx context.Context, name string) (scoring.Class, error) {
	return classByName(ctx, m.w.Tx, name)
}

func (m merger) RemoveClass(ctx context.Context, id scoring.ClassID) error {
	return m.w.removeClass(ctx, id)
}
