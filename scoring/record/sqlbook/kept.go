package sqlbook

import (
	"context"
	"database/sql"
)

// The statements that every answer needs, see [Book.Keep].
const (
	lengthenChain = "UPDATE chain SET answers = answers + 1, last = ?, head = ? WHERE sitting = ?"
	placeColumns  = `s.id, l.ulid, s.ended IS NOT NULL, coalesce(c.last, -1), c.head
		FROM sitting s JOIN learner l ON l.id = s.learner LEFT JOIN chain c ON c.sitting = s.id WHERE s.ulid = `
	placeOf  = "SELECT " + placeColumns + "?"
	placesOf = "SELECT s.ulid, " + placeColumns + "ANY(?)" // where the engine knows lists
)

// statements are those that a pool keeps compiled, where its driver does not by itself:
// to compile them anew takes longer than to carry them out. They end with the pool.
type statements map[string]*sql.Stmt

// Keep compiles the statements that every answer needs, once for the pool that is
// written through: its one connection is in a transaction when more could be added.
func (b *Book) Keep(ctx context.Context, db *sql.DB) error {
	kept := statements{}
	for _, query := range []string{insertAttempt, lengthenChain, placeOf} {
		err := b.read.Patiently(ctx, func() (err error) {
			kept[query], err = db.PrepareContext(ctx, query)
			return err
		})
		if err != nil {
			return b.Explain(err)
		}
	}
	b.kept = kept
	return nil
}

// again is a statement that is carried out again and again, as the pool has it compiled;
// nil where it has to be said in words.
func (s Session) again(ctx context.Context, query string) *sql.Stmt {
	tx, within := s.db.(*sql.Tx)
	kept := s.kept[query]
	if !within || kept == nil {
		return nil
	}
	return tx.StmtContext(ctx, kept)
}

// row asks for one row, as is asked again and again.
func (s Session) row(ctx context.Context, query string, args ...any) *sql.Row {
	if kept := s.again(ctx, query); kept != nil {
		return kept.QueryRowContext(ctx, s.in.arguments(args)...)
	}
	return s.QueryRowContext(ctx, query, args...)
}
