package sqlbook

import (
	"context"

	"shadedrill/scoring/record"
)

// CheckTwice compares what is written in two places: keys of names, and the columns
// beside a setup that lists are narrowed by.
func (b *Book) CheckTwice(ctx context.Context, found *record.Inventory) error {
	for table, keyOf := range map[string]func(string) string{"learner": record.NameKey, "class": record.TitleKey, "panel": record.TitleKey} {
		err := b.read.Each(ctx, "SELECT name, name_key FROM "+table, nil, func(rows Scanner) error {
			var name, key string
			err := rows.Scan(&name, &key)
			if err == nil && key != keyOf(name) {
				found.Find("the name %q in the table %s is filed under another one", name, table)
			}
			return err
		})
		if err != nil {
			return b.Explain(err)
		}
	}
	err := b.read.Each(ctx, "SELECT ulid, kind, coalesce(sheet, ''), left_early, ended IS NOT NULL, setup FROM sitting", nil, func(rows Scanner) error {
		var id, kind, sheet string
		var left int64
		var ended bool
		var text []byte
		if err := rows.Scan(&id, &kind, &sheet, &left, &ended, &text); err != nil {
			return err
		}
		s, err := b.parsed.setupOf(text)
		if err != nil {
			return nil // told where the sitting is read
		}
		if kind != string(s.Kind) || sheet != s.SheetID || left != 0 && left != 1 || left == 1 && !ended {
			found.Find("sitting %s: its columns contradict its setup", id)
		}
		return nil
	})
	if err == nil {
		err = b.read.Each(ctx, `SELECT number FROM assignment a WHERE NOT EXISTS (SELECT 1 FROM numbered n WHERE n.number = a.number AND n.ulid = a.ulid)`, nil, func(rows Scanner) error {
			var number int
			err := rows.Scan(&number)
			if err == nil {
				found.Find("assignment %d: its number is written down as another one's", number)
			}
			return err
		})
	}
	if err == nil {
		err = b.read.Each(ctx, "SELECT count(*) FROM enrolment WHERE off NOT IN (0, 1) HAVING count(*) > 0", nil, func(rows Scanner) error {
			found.Find("somebody on a roster is neither on it nor off it")
			return nil
		})
	}
	return b.Explain(err)
}
