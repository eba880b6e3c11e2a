package sqlite

import (
	"context"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlbook"
)

// firstChained is the form from which on books have chains and seals.
const firstChained = 5

type watchingKey struct{}

// Watching has told how many sittings of an older book have been taken over, of how many,
// when one is opened with the context: of a large book that takes a while.
func Watching(ctx context.Context, told func(done, of int)) context.Context {
	return context.WithValue(ctx, watchingKey{}, told)
}

// takeOver begins the chains of sittings that were in the book before it had any. A
// sitting that cannot be read gets none, which book check then says.
func takeOver(ctx context.Context, w *sqlbook.Writer) error {
	var begun int64
	if err := w.Tx.QueryRowContext(ctx, "SELECT at FROM book").Scan(&begun); err != nil {
		return err
	}
	type row struct {
		id   int64
		ulid scoring.SittingID
	}
	var rows []row
	err := w.Tx.Each(ctx, "SELECT id, ulid FROM sitting ORDER BY id", nil, func(r sqlbook.Scanner) error {
		var one row
		err := r.Scan(&one.id, &one.ulid)
		rows = append(rows, one)
		return err
	})
	if err != nil {
		return err
	}
	told, watched := ctx.Value(watchingKey{}).(func(done, of int))
	for i, r := range rows {
		if watched {
			told(i, len(rows))
		}
		err := w.Rechain(ctx, r.id, r.ulid, time.UnixMilli(begun).UTC(), record.WhyOlderForm)
		if err != nil && (code(err) != 0 || ctx.Err() != nil) {
			return err
		}
	}
	return nil
}

// firstAlike is the form from which on names that read alike are one name.
const firstAlike = 6

// readAlike files the people of an older book under the keys of this form. Of two
// whose names read alike now, the one entered later gets a number behind the name.
func readAlike(ctx context.Context, w *sqlbook.Writer) error {
	var people []scoring.Learner
	err := w.Tx.Each(ctx, "SELECT ulid, name FROM learner ORDER BY at, id", nil, func(rows sqlbook.Scanner) error {
		var l scoring.Learner
		err := rows.Scan(&l.ID, &l.Name)
		people = append(people, l)
		return err
	})
	if err != nil {
		return err
	}
	var now int64
	if err := w.Tx.QueryRowContext(ctx, "SELECT CAST(1000 * unixepoch('subsec') AS INTEGER)").Scan(&now); err != nil {
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
			if err := w.Deed(ctx, record.Deed{At: time.UnixMilli(now).UTC(), What: record.DeedNumbered, Learner: l.ID}); err != nil {
				return err
			}
		}
		key := record.NameKey(name)
		first[key], taken[key] = true, true
		if _, err := w.Tx.ExecContext(ctx, "UPDATE learner SET name = ?, name_key = ? WHERE ulid = ?", name, key, l.ID); err != nil {
			return err
		}
	}
	return nil
}
