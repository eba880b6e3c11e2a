package sqlbook

import (
	"context"
	"iter"
	"slices"
	"strings"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Append records an answer.
func (b *Book) Append(ctx context.Context, a scoring.Attempt) error {
	a, err := record.CheckAttempt(a)
	if err != nil {
		return err
	}
	return b.appendTogether(ctx, a)
}

// existing reads one attempt of the current sitting within the transaction.
func (w *Writer) existing(ctx context.Context, ordinal int) (scoring.Attempt, error) {
	cells, pointers := make([]any, colCount), make([]any, colCount)
	for i := range cells {
		pointers[i] = &cells[i]
	}
	err := w.Tx.QueryRowContext(ctx, "SELECT "+columns+" FROM attempt WHERE sitting = ? AND ordinal = ?", w.at.id, ordinal).Scan(pointers...)
	if err != nil {
		return scoring.Attempt{}, err
	}
	row := make(values, colCount)
	for i, v := range cells {
		row[i] = v
	}
	r, err := w.reader(ctx)
	if err != nil {
		return scoring.Attempt{}, err
	}
	r.owners[w.at.id] = owner{w.at.learner, w.at.sitting}
	return r.attempt(row)
}

// rewriteAnswer writes an answer that is there already once more, where that is what a
// commit waits for: when its first commit was not acknowledged, the standby may not have
// it, and a transaction that writes nothing waits for nobody.
func (w *Writer) rewriteAnswer(ctx context.Context, ordinal int) error {
	if !w.book.in.Rewrites {
		return nil
	}
	_, err := w.Tx.ExecContext(ctx, "UPDATE attempt SET ordinal = ordinal WHERE sitting = ? AND ordinal = ?", w.at.id, ordinal)
	return err
}

// reader reads within the transaction. It takes the words from there: those
// that the transaction entered may yet be taken back. Nobody else can enter any
// meanwhile, so there is nothing to refresh.
func (w *Writer) reader(ctx context.Context) (*reader, error) {
	if w.text == nil {
		var all words
		if err := all.refresh(ctx, w.Tx); err != nil {
			return nil, err
		}
		w.text = all.texts()
	}
	return &reader{text: w.text, owners: map[int64]owner{}, refresh: func() ([]string, error) { return w.text, nil }}, nil
}

// Attempts yields attempts, whole or lightly.
func (b *Book) Attempts(ctx context.Context, f record.Filter) iter.Seq2[scoring.Attempt, error] {
	return func(yield func(scoring.Attempt, error) bool) {
		err := b.scan(ctx, f, func(r *reader, row Row) (bool, error) {
			a, err := r.attempt(row)
			if err != nil {
				return false, err
			}
			return yield(a, nil), nil
		})
		if err != nil {
			yield(scoring.Attempt{}, err)
		}
	}
}

// What is read of attempts: all, or whether there is more in place of what more
// there is.
var (
	whole = "a." + strings.Join(columnNames, ", a.")
	light = "a." + strings.Join(columnNames[:colMore], ", a.") + ", CASE WHEN a.more IS NULL THEN 0 ELSE 1 END"
)

// scan runs over attempts in one transaction, so that sittings and attempts are
// of one moment.
func (b *Book) scan(ctx context.Context, f record.Filter, each func(*reader, Row) (bool, error)) error {
	r := &reader{text: b.words.texts(), owners: map[int64]owner{}, refresh: func() ([]string, error) {
		err := b.words.refresh(ctx, b.read)
		return b.words.texts(), err
	}}
	return b.moment(ctx, func(read Reading, q Session) error { return scan(ctx, b, read, q, f, r, each) })
}

// scan runs over attempts in their order, until each says that it has enough.
func scan(ctx context.Context, b *Book, read Reading, q Session, f record.Filter, r *reader, take func(*reader, Row) (bool, error)) error {
	where, args := ofSittings(f)
	// Few sittings of one person are read one by one: to look for them among all that the
	// person has would take each from the table.
	few := b.in.AtATime == 0 && f.Learner != "" && f.Within != ""
	ordered := few || b.in.AtATime > 0
	inOrder := ""
	if ordered {
		inOrder = " ORDER BY s.started, s.ulid"
	}
	var order []int64
	err := q.Each(ctx, "SELECT s.id, l.ulid, s.ulid FROM sitting s JOIN learner l ON l.id = s.learner WHERE "+where+inOrder, args,
		func(rows Scanner) error {
			var id int64
			var o owner
			err := rows.Scan(&id, &o.learner, &o.sitting)
			r.owners[id] = o
			if ordered {
				order = append(order, id)
			}
			return err
		})
	if err != nil {
		return err
	}
	var silenced map[scoring.SittingID]bool
	if !f.Silent {
		if silenced, err = silencedOf(ctx, q, f); err != nil {
			return err
		}
	}
	columns := whole
	if r.light = f.Light; f.Light {
		columns = light
	}
	var in int64 // the sitting of the row before
	silent := false
	heard := func(row Row) (bool, error) {
		if id := row.Int(colSitting); len(silenced) > 0 && id != in {
			in, silent = id, silenced[r.owners[id].sitting]
		}
		if silent {
			return true, nil
		}
		return take(r, row)
	}
	rowsOf := func(query string, args []any) (more bool, err error) {
		return read(ctx, b.in.statement(query), b.in.arguments(args), heard)
	}
	narrowed := func(where string, args []any) (string, []any) {
		if f.Kind != "" {
			where, args = where+" AND a.kind = (SELECT id FROM word WHERE text = ?)", append(args, f.Kind)
		}
		return between(where, args, "a.at", f)
	}
	switch {
	case few:
		for _, id := range order {
			where, args := narrowed("a.sitting = ?", []any{id})
			if more, err := rowsOf("SELECT "+columns+" FROM attempt a WHERE "+where+" ORDER BY a.ordinal", args); err != nil || !more {
				return err
			}
		}
		return nil
	case !ordered:
		where, args = narrowed(where, args)
		_, err := rowsOf("SELECT "+columns+" FROM sitting s CROSS JOIN attempt a ON a.sitting = s.id WHERE "+where+" ORDER BY s.started, s.ulid, a.ordinal", args)
		return err
	}
	// Some sittings at a time: whoever has enough does not wait for all, and nobody sorts
	// or holds more than these.
	for some := range slices.Chunk(order, b.in.AtATime) {
		where, args := narrowed("true", []any{some})
		more, err := rowsOf("SELECT "+columns+" FROM unnest(CAST(? AS BIGINT[])) WITH ORDINALITY AS o (id, n) JOIN attempt a ON a.sitting = o.id WHERE "+where+" ORDER BY o.n, a.ordinal", args)
		if err != nil || !more {
			return err
		}
	}
	return nil
}

// silencedOf finds of which sittings nothing may appear yet, among those that the
// filter takes.
func silencedOf(ctx context.Context, q Session, f record.Filter) (map[scoring.SittingID]bool, error) {
	where, args := ofSittings(record.Filter{Learner: f.Learner, Within: f.Within})
	if f.Sitting != "" {
		where += " AND (s.ulid = ? OR s.within <> '' AND (s.within, s.learner) = (SELECT within, learner FROM sitting WHERE ulid = ?))"
		args = append(args, f.Sitting, f.Sitting)
	}
	var list []record.Heard
	err := q.Each(ctx, sittingColumns+`, EXISTS (SELECT 1 FROM attempt a WHERE a.sitting = s.id) FROM sitting s CROSS JOIN learner l ON l.id = s.learner
		WHERE (s.ended IS NULL OR s.within LIKE 'exam:%') AND `+where+" ORDER BY s.started, s.ulid", args,
		func(row Scanner) error {
			var h record.Heard
			err := scanSitting(row, q.parsed, &h.Sitting, &h.Answered)
			if h.Sitting.Setup.Silent {
				list = append(list, h)
			}
			return err
		})
	if err != nil || len(list) == 0 {
		return nil, err
	}
	forms, err := forms(ctx, q)
	return record.Silenced(list, forms), err
}
