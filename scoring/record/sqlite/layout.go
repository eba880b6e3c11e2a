package sqlite

import (
	"context"
	"database/sql"
	"maps"
	"slices"
	"strings"
	"sync"

	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlbook"
)

// layout is how the tables and indexes of the newest form are declared, by name: that
// of an empty book which the numbered files have just made.
var layout = sync.OnceValues(func() (map[string]string, error) {
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return nil, err
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	for _, name := range steps() {
		text, err := schema.ReadFile(name)
		if err != nil {
			return nil, err
		}
		if _, err := db.Exec(string(text)); err != nil {
			return nil, err
		}
	}
	return declared(context.Background(), db)
})

func declared(ctx context.Context, db *sql.DB) (map[string]string, error) {
	found := map[string]string{}
	err := rows(ctx, db, "SELECT type || ' ' || name, ifnull(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'", func(rows sqlbook.Scanner) error {
		var name, text string
		err := rows.Scan(&name, &text)
		found[name] = strings.Join(strings.Fields(text), " ")
		return err
	})
	return found, err
}

// checkLayout finds tables and indexes that are not what the form says: a changed
// byte there can hide rows, or show them as others.
func (b *Book) checkLayout(ctx context.Context, found *record.Inventory) error {
	want, err := layout()
	if err != nil {
		return err
	}
	has, err := declared(ctx, b.read)
	if err != nil {
		return explain(b.path, err)
	}
	for _, name := range slices.Sorted(maps.Keys(want)) {
		switch text, there := has[name]; {
		case !there:
			found.Find("the %s is not there", name)
		case text != want[name]:
			found.Find("the %s is not declared as in this form of the book", name)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(has)) {
		if _, known := want[name]; !known {
			found.Find("the %s does not belong into a book", name)
		}
	}
	return nil
}
