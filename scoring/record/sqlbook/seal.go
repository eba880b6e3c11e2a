package sqlbook

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strings"

	"shadedrill/scoring/record"
)

// A row that can be changed later cannot be part of a chain. It carries a seal: the
// first 16 bytes of SHA-256 over its columns, in the order of their names, each as
// its name, a byte for its type, and its content (integers and floating-point
// numbers in 8 bytes, big-endian; texts after their length). NULL is left out, so
// that a column which a later form adds changes no seal.
//
// Whoever changes such a row sets its seal to NULL and writer.unsealed; it is sealed
// before the transaction ends.

// sealed are the tables whose rows carry one, with what finds a row and what names it.
var sealed = []struct{ table, key, called string }{
	{"book", "id", "'the name of the book'"},
	{"learner", "id", "name"},
	{"class", "id", "name"},
	{"enrolment", "class, learner", "'somebody on a roster'"},
	{"form", "id", "name"},
	{"panel", "id", "name"},
	{"assignment", "number", "'what a class is given'"},
	{"former", "ulid", "'who was joined or erased'"},
	{"ruling", "id", "'what was decided about an assignment'"},
}

// sealRows seals what this transaction has changed.
func (w *Writer) sealRows(ctx context.Context) error {
	for _, t := range sealed {
		keys := strings.Split(t.key, ", ")
		type row struct {
			key  []any
			seal []byte
		}
		var list []row
		err := eachSealed(ctx, w.Tx, t.table, "WHERE seal IS NULL", func(columns map[string]any, seal, _ []byte) {
			r := row{seal: seal}
			for _, k := range keys {
				r.key = append(r.key, columns[k])
			}
			list = append(list, r)
		})
		if err != nil {
			return err
		}
		for _, r := range list {
			query := "UPDATE " + t.table + " SET seal = ? WHERE " + strings.Join(keys, " = ? AND ") + " = ?"
			if _, err := w.Tx.ExecContext(ctx, query, append([]any{r.seal}, r.key...)...); err != nil {
				return err
			}
		}
	}
	return nil
}

// CheckSeals finds rows that were changed without the program.
func (b *Book) CheckSeals(ctx context.Context, found *record.Inventory) error {
	return b.engine.Snapshot(ctx, func(m Moment) error {
		for _, t := range sealed {
			err := eachSealed(ctx, b.read.within(m.Tx), t.table, "", func(columns map[string]any, want, has []byte) {
				if bytes.Equal(want, has) {
					return
				}
				name, ok := columns[t.called].(string)
				if !ok {
					name = strings.Trim(t.called, "'")
				}
				found.Find("%q in the table %s was changed without the program", name, t.table)
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// BrokenSeals gives the rows that were changed without the program.
func (w *Writer) BrokenSeals(ctx context.Context, take func(table string, columns map[string]any)) error {
	for _, t := range sealed {
		err := eachSealed(ctx, w.Tx, t.table, "WHERE seal IS NOT NULL", func(columns map[string]any, want, has []byte) {
			if !bytes.Equal(want, has) {
				take(t.table, columns)
			}
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// eachSealed gives the rows of a table, with the seal that belongs to each and the
// one that it has.
func eachSealed(ctx context.Context, q Session, table, where string, take func(columns map[string]any, want, has []byte)) error {
	return q.EachNamed(ctx, "SELECT * FROM "+table+" "+where, nil, func(columns map[string]any) error {
		has, _ := columns["seal"].([]byte)
		delete(columns, "seal")
		want, err := sealOf(table, columns)
		if err == nil {
			take(columns, want, has)
		}
		return err
	})
}

func sealOf(table string, columns map[string]any) ([]byte, error) {
	content := []byte("shadedrill row\x00" + table + "\x00")
	names := make([]string, 0, len(columns))
	for name, v := range columns {
		if v != nil {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	for _, name := range names {
		content = append(content, name...)
		content = append(content, 0)
		switch v := columns[name].(type) {
		case int64:
			content = binary.BigEndian.AppendUint64(append(content, 'i'), uint64(v))
		case float64:
			content = binary.BigEndian.AppendUint64(append(content, 'r'), math.Float64bits(v))
		case string:
			content = append(binary.BigEndian.AppendUint64(append(content, 't'), uint64(len(v))), v...)
		case []byte:
			content = append(binary.BigEndian.AppendUint64(append(content, 'b'), uint64(len(v))), v...)
		default:
			return nil, fmt.Errorf("the column %s of the table %s holds something of the type %T", name, table, v)
		}
	}
	sum := sha256.Sum256(content)
	return sum[:16], nil
}
