package sqlbook

import (
	"context"
	"database/sql"
	"sync"
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
// to compile them anew takes longer than to carry them out. They end with the pool. Nil
// keeps none.
type statements struct {
	pool   *sql.DB
	byText sync.Map
	full   bool // nothing is added
}

func (k *statements) compile(ctx context.Context, query string) error {
	fresh, err := k.pool.PrepareContext(ctx, query)
	if err != nil {
		return err
	}
	if _, already := k.byText.LoadOrStore(query, fresh); already {
		return fresh.Close()
	}
	return nil
}

// of is a statement of the pool; nil where it has to be said in words.
func (k *statements) of(ctx context.Context, query string) *sql.Stmt {
	if k == nil {
		return nil
	}
	known, ok := k.byText.Load(query)
	if !ok && !k.full && k.compile(ctx, query) == nil { // what is wrong with it, the words will tell
		known, ok = k.byText.Load(query)
	}
	if !ok {
		return nil
	}
	return known.(*sql.Stmt)
}

// Keep compiles the statements that every answer needs, once for the pool that is
// written through: its one connection is in a transaction when more could be added.
func (b *Book) Keep(ctx context.Context, db *sql.DB) error {
	kept := &statements{pool: db}
	for _, query := range []string{insertAttempt, lengthenChain, placeOf} {
		if err := b.read.Patiently(ctx, func() error { return kept.compile(ctx, query) }); err != nil {
			return b.Explain(err)
		}
	}
	kept.full = true
	b.kept = kept
	return nil
}

// again is a statement that is carried out again and again, as the pool has it compiled;
// nil where it has to be said in words.
func (s Session) again(ctx context.Context, query string) *sql.Stmt {
	switch db := s.db.(type) {
	case *sql.DB:
		return s.kept.of(ctx, query)
	case *sql.Tx:
		if kept := s.kept.of(ctx, query); kept != nil {
			return db.StmtContext(ctx, kept)
		}
	}
	return nil
}

// row asks for one row, as is asked again and again.
func (s Session) row(ctx context.Context, query string, args ...any) *sql.Row {
	if kept := s.again(ctx, query); kept != nil {
		return kept.QueryRowContext(ctx, s.in.arguments(args)...)
	}
	return s.QueryRowContext(ctx, query, args...)
}
