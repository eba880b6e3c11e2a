package sqlbook

import (
	"context"
	"database/sql"
)

// The statements that every answer needs. An engine whose driver does not keep what it
// has compiled has them kept, see [Book.Keep]: compiling them anew took longer than
// carrying them out.
const (
	lengthenChain = "UPDATE chain SET answers = answers + 1, last = ?, head = ? WHERE sitting = ?"
	placeColumns  = `s.id, l.ulid, s.ended IS NOT NULL, coalesce(c.last, -1), c.head
		FROM sitting s JOIN learner l ON l.id = s.learner LEFT JOIN chain c ON c.sitting = s.id WHERE s.ulid = `
	placeOf  = "SELECT " + placeColumns + "?"
	placesOf = "SELECT s.ulid, " + placeColumns + "ANY(?)" // where the engine knows lists
)

// Keep compiles the statements that every answer needs, once for the pool that is
// written through. They end with it.
func (b *Book) Keep(ctx context.Context, db *sql.DB) error {
	kept := map[string]*sql.Stmt{}
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

// row asks for one row by a statement that may be kept.
func (s Session) row(ctx context.Context, query string, args ...any) *sql.Row {
	if tx, is := s.db.(*sql.Tx); is && s.kept[query] != nil {
		return tx.StmtContext(ctx, s.kept[query]).QueryRowContext(ctx, s.in.arguments(args)...)
	}
	return s.QueryRowContext(ctx, query, args...)
}
