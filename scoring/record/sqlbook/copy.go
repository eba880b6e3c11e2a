package sqlbook

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record"
)

// together is how many rows are entered by one statement.
const together = 40

// CopyFrom enters everything that another book holds, row by row as it stands there,
// into this one, which must be empty: all of it in one transaction, or nothing. The
// books are one afterwards, with one identifier. progress is told how many rows of how
// many are there.
func (b *Book) CopyFrom(ctx context.Context, from *Book, progress func(rows, of int)) error {
	err := from.engine.Snapshot(ctx, func(m Moment) error {
		source := from.read.within(m.Tx)
		rows := map[string]int{}
		total, done := 0, 0
		for _, table := range Tables {
			n, err := count(ctx, source, table)
			if err != nil {
				return err
			}
			rows[table] = n
			total += n
		}
		return b.engine.Update(ctx, Imported, func(w *Writer) error {
			if err := w.empty(ctx); err != nil {
				return err
			}
			for _, table := range Tables {
				err := w.copyTable(ctx, source, table, func(n int) {
					done += n
					progress(done, total)
				})
				if err != nil {
					return fmt.Errorf("the table %s: %w", table, err)
				}
				n, err := count(ctx, w.Tx, table)
				if err != nil {
					return err
				}
				if n != rows[table] {
					return fmt.Errorf("of the table %s %d rows were read and %d are there", table, rows[table], n)
				}
			}
			return nil
		})
	})
	if err != nil {
		return err
	}
	b.id = from.id
	return b.asWholeAs(ctx, from)
}

// asWholeAs holds the chains and seals of a copy against those of the book it was made of:
// what does not hold here must not have held there.
func (b *Book) asWholeAs(ctx context.Context, from *Book) error {
	var seals record.Inventory
	if err := b.CheckSeals(ctx, &seals); err != nil {
		return err
	}
	broken, err := record.VerifyChains(ctx, b, record.Filter{})
	if err != nil || seals.Sound() && len(broken) == 0 {
		return err
	}
	var theirSeals record.Inventory
	if err := from.CheckSeals(ctx, &theirSeals); err != nil {
		return err
	}
	theirs, err := record.VerifyChains(ctx, from, record.Filter{})
	if err != nil {
		return err
	}
	for id, why := range broken {
		if slices.Equal(why, theirs[id]) {
			delete(broken, id)
		}
	}
	if !seals.Sound() && theirSeals.Sound() {
		return fmt.Errorf("the copy is not as the book is: %s", seals.Findings[0])
	}
	return broken.Err()
}

func count(ctx context.Context, q Session, table string) (n int, err error) {
	err = q.QueryRowContext(ctx, "SELECT count(*) FROM "+table).Scan(&n)
	return n, err
}

// empty is an error where somebody is in the book; otherwise it makes room for another
// book's name.
func (w *Writer) empty(ctx context.Context) error {
	for _, table := range Tables[1:] {
		n, err := count(ctx, w.Tx, table)
		if err != nil {
			return err
		}
		if n > 0 {
			return fault.New("there is something in the book that is to be written already", "name a new file, or an empty database")
		}
	}
	_, err := w.Tx.ExecContext(ctx, "DELETE FROM book")
	return err
}

func columnsOf(ctx context.Context, q Session, table string) ([]string, error) {
	rows, err := q.QueryContext(ctx, "SELECT * FROM "+table+" WHERE 1 = 0")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	names, err := rows.Columns()
	return names, errors.Join(err, rows.Err())
}

func (w *Writer) copyTable(ctx context.Context, source Session, table string, progress func(rows int)) error {
	names, err := columnsOf(ctx, w.Tx, table)
	if err != nil {
		return err
	}
	theirs, err := columnsOf(ctx, source, table)
	if err != nil {
		return err
	}
	if mine := slices.Sorted(slices.Values(names)); !slices.Equal(mine, slices.Sorted(slices.Values(theirs))) {
		return fmt.Errorf("the columns are %s there and %s here", strings.Join(theirs, ", "), strings.Join(names, ", "))
	}
	list := strings.Join(names, ", ")
	one := "(?" + strings.Repeat(", ?", len(names)-1) + ")"
	insert := "INSERT INTO " + table + " (" + list + ") VALUES " + one
	cells := make([]any, 0, together*len(names))
	enter := func() error {
		n := len(cells) / len(names)
		if n == 0 {
			return nil
		}
		if _, err := w.Tx.ExecContext(ctx, insert+strings.Repeat(", "+one, n-1), cells...); err != nil {
			return err
		}
		cells = cells[:0]
		progress(n)
		return nil
	}
	err = source.Each(ctx, "SELECT "+list+" FROM "+table, nil, func(rows Scanner) error {
		from := len(cells)
		pointers := make([]any, len(names))
		for i := range names {
			cells = append(cells, nil)
			pointers[i] = &cells[from+i]
		}
		if err := rows.Scan(pointers...); err != nil {
			return err
		}
		if len(cells) == cap(cells) {
			return enter()
		}
		return nil
	})
	if err != nil {
		return err
	}
	return enter()
}
