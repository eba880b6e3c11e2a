package sqlite

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
func (w *writer) touching(ctx context.Context, none error, query string, args ...any) error {
	done, err := w.tx.ExecContext(ctx, query, args...)
	if err != nil {
		return err
	}
	if n, err := done.RowsAffected(); err != nil || n == 0 {
		return errors.Join(err, none)
	}
	w.unsealed = true
	return nil
}

// AddClass enters a class.
func (b *Book) AddClass(ctx context.Context, c scoring.Class) (scoring.Class, error) {
	c, err := record.CheckClass(c)
	if err != nil {
		return c, err
	}
	return c, b.update(ctx, func(w *writer) error { return w.addClass(ctx, c) })
}

func (w *writer) addClass(ctx context.Context, c scoring.Class) error {
	switch _, err := rowID(ctx, w.tx, "class", string(c.ID)); {
	case err == nil:
		return fmt.Errorf("class %s: %w", c.ID, record.ErrTaken)
	case !errors.Is(err, sql.ErrNoRows):
		return err
	}
	return w.touching(ctx, record.ClassTaken(c.Name), "INSERT INTO class (ulid, name, name_key, at) VALUES (?, ?, ?, ?) ON CONFLICT (name_key) DO NOTHING",
		c.ID, c.Name, record.TitleKey(c.Name), c.At.UnixMilli())
}

// rowID finds the key of a row of a table by its stable identifier.
func rowID(ctx context.Context, q querier, table, ulid string) (id int64, err error) {
	err = patiently(ctx, func() error { return q.QueryRowContext(ctx, "SELECT id FROM "+table+" WHERE ulid = ?", ulid).Scan(&id) })
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
	return list, explain(b.path, err)
}

func classes(ctx context.Context, q querier) (list []scoring.Class, err error) {
	err = each(ctx, q, classColumns+" ORDER BY name_key", nil, func(rows *sql.Rows) error {
		c, err := scanClass(rows)
		list = append(list, c)
		return err
	})
	return list, err
}

// ClassByName finds a class, ignoring case.
func (b *Book) ClassByName(ctx context.Context, name string) (scoring.Class, error) {
	c, err := classByName(ctx, b.read, name)
	return c, explain(b.path, err)
}

func classByName(ctx context.Context, q querier, name string) (c scoring.Class, err error) {
	err = patiently(ctx, func() error {
		c, err = scanClass(q.QueryRowContext(ctx, classColumns+" WHERE name_key = ?", record.TitleKey(name)))
		return err
	})
	return c, found(fmt.Sprintf("class %q", name), err)
}

// RemoveClass takes out a class with its roster and assignments.
func (b *Book) RemoveClass(ctx context.Context, id scoring.ClassID) error {
	return b.update(ctx, func(w *writer) error { return w.removeClass(ctx, id) })
}

func (w *writer) removeClass(ctx context.Context, id scoring.ClassID) error {
	return w.touching(ctx, record.NoClass(id), "DELETE FROM class WHERE ulid = ?", id)
}

func (m merger) AddClass(ctx context.Context, c scoring.Class) (scoring.Class, error) {
	c, err := record.CheckClass(c)
	if err != nil {
		return c, err
	}
	return c, m.w.addClass(ctx, c)
}

func (m merger) Classes(ctx context.Context) ([]scoring.Class, error) { return classes(ctx, m.w.tx) }

func (m merger) ClassByName(ctx context.Context, name string) (scoring.Class, error) {
	return classByName(ctx, m.w.tx, name)
}

func (m merger) RemoveClass(ctx context.Context, id scoring.ClassID) error {
	return m.w.removeClass(ctx, id)
}
