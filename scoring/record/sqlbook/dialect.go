package sqlbook

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"
)

// Dialect is how an engine wants its statements.
type Dialect struct {
	// Numbered says that parameters are $1, $2 … and that no order of joins can be
	// asked for. Otherwise statements go as they are written: ? and ?1 are parameters,
	// and CROSS JOIN … ON is a join whose left side is read first.
	Numbered bool
	// SameNumber is true where a person's number is that of the next parameter, whatever
	// the case.
	SameNumber string
	// Keyed says that the book makes the keys of rows, see [Session.key]; otherwise the
	// engine counts.
	Keyed bool
	// Rewrites says that an answer which is there already is written once more, so that
	// its commit waits for what the first one should have waited for.
	Rewrites bool
	// Prepares says that the driver keeps statements prepared by itself.
	Prepares bool
	// AtATime is of how many sittings answers are read by one statement, where the engine
	// would otherwise sort them all before it gives the first; 0 is all.
	AtATime int
	// Writers is how many transactions may take answers at once.
	Writers int
	// Sends carries out statements in one round trip, within the transaction of a
	// connection, and commits it; ErrThere, and nothing is kept, where a row to be entered
	// is there already. Where Sends is nil there are no round trips to save: the engine is
	// in this process.
	Sends func(ctx context.Context, conn *sql.Conn, all []Statement) error
}

// ErrThere says that a row is there already.
var ErrThere = errors.New("there already")

// Statement is a statement in its engine's words.
type Statement struct {
	Query     string
	Arguments []any
}

// put is a statement to be sent later.
func (s Session) put(query string, args ...any) Statement {
	return Statement{s.in.statement(query), s.in.arguments(args)}
}

// conversation is what database/sql lets one say to a pool, a connection and a
// transaction alike.
type conversation interface {
	ExecContext(context.Context, string, ...any) (sql.Result, error)
	QueryContext(context.Context, string, ...any) (*sql.Rows, error)
	QueryRowContext(context.Context, string, ...any) *sql.Row
	PrepareContext(context.Context, string) (*sql.Stmt, error)
}

// Session speaks to a pool, a connection or a transaction in the words of its engine.
type Session struct {
	db     conversation
	engine Engine
	in     *Dialect
	kept   statements
	parsed *parsed
	// rows reads without database/sql, where that is not nil; quickly says that what does
	// may be asked of the engine.
	rows    Reading
	quickly bool
}

// within is the same in a transaction of the pool.
func (s Session) within(tx *sql.Tx) Session {
	s.db, s.quickly = tx, false
	return s
}

// by is what asks a reading for rows, and nothing else.
func (s Session) by(read Reading) Session {
	s.db, s.rows = nil, read
	return s
}

// ExecContext runs a statement.
func (s Session) ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error) {
	return s.db.ExecContext(ctx, s.in.statement(query), s.in.arguments(args)...)
}

// QueryContext asks for rows.
func (s Session) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	return s.db.QueryContext(ctx, s.in.statement(query), s.in.arguments(args)...)
}

// QueryRowContext asks for one row.
func (s Session) QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row {
	return s.db.QueryRowContext(ctx, s.in.statement(query), s.in.arguments(args)...)
}

// Patiently tries again what failed because something was in the way for a moment.
func (s Session) Patiently(ctx context.Context, f func() error) error {
	return s.engine.Patiently(ctx, f)
}

// Each calls f for every row.
func (s Session) Each(ctx context.Context, query string, args []any, f func(Scanner) error) error {
	if s.rows == nil && s.quickly {
		if read, end := s.engine.Quick(); read != nil {
			defer end()
			s.rows = read
		}
	}
	if s.rows != nil {
		_, err := s.rows(ctx, s.in.statement(query), s.in.arguments(args), func(row Row) (bool, error) {
			err := f(row)
			return err == nil, err
		})
		return err
	}
	return s.each(ctx, query, args, func(rows *sql.Rows) error { return f(rows) })
}

// One calls f for the only row; [sql.ErrNoRows] where there is none.
func (s Session) One(ctx context.Context, query string, args []any, f func(Scanner) error) error {
	some := false
	err := s.Each(ctx, query, args, func(row Scanner) error {
		some = true
		return f(row)
	})
	if err == nil && !some {
		return sql.ErrNoRows
	}
	return err
}

// EachNamed calls f with the cells of every row by the names of their columns.
func (s Session) EachNamed(ctx context.Context, query string, args []any, f func(columns map[string]any) error) error {
	var names []string
	return s.each(ctx, query, args, func(rows *sql.Rows) (err error) {
		if names == nil {
			if names, err = rows.Columns(); err != nil {
				return err
			}
		}
		cells, pointers := make([]any, len(names)), make([]any, len(names))
		for i := range cells {
			pointers[i] = &cells[i]
		}
		if err := rows.Scan(pointers...); err != nil {
			return err
		}
		columns := make(map[string]any, len(names))
		for i, name := range names {
			columns[name] = cells[i]
		}
		return f(columns)
	})
}

// each asks database/sql.
func (s Session) each(ctx context.Context, query string, args []any, f func(*sql.Rows) error) error {
	var rows *sql.Rows
	err := s.Patiently(ctx, func() (err error) {
		if kept := s.again(ctx, query); kept != nil {
			rows, err = kept.QueryContext(ctx, s.in.arguments(args)...)
		} else {
			rows, err = s.QueryContext(ctx, query, args...)
		}
		return err
	})
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := f(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

// prepared is a statement that runs again and again in one transaction.
type prepared func(ctx context.Context, args ...any) (sql.Result, error)

func (s Session) prepare(ctx context.Context, query string) (prepared, error) {
	if s.in.Prepares {
		return func(ctx context.Context, args ...any) (sql.Result, error) { return s.ExecContext(ctx, query, args...) }, nil
	}
	if statement := s.again(ctx, query); statement != nil {
		return func(ctx context.Context, args ...any) (sql.Result, error) {
			return statement.ExecContext(ctx, s.in.arguments(args)...)
		}, nil
	}
	statement, err := s.db.PrepareContext(ctx, s.in.statement(query))
	if err != nil {
		return nil, err
	}
	return func(ctx context.Context, args ...any) (sql.Result, error) {
		return statement.ExecContext(ctx, s.in.arguments(args)...)
	}, nil
}

// lastKey is the latest key that a book of this process has made.
var lastKey atomic.Int64

// key is the key of a new row: nil where the engine counts, otherwise the millisecond
// and a part of it that no other server has, in the order in which this process made
// them. Two servers may make the same one, if hardly ever; then the transaction is done
// again.
func (s Session) key() any {
	if !s.in.Keyed {
		return nil
	}
	const parts = 20 // bits: 43 are left for the millisecond, which is enough until 2248
	for {
		last := lastKey.Load()
		next := max(time.Now().UnixMilli()<<parts|random(parts), last+1)
		if lastKey.CompareAndSwap(last, next) {
			return next
		}
	}
}

// arguments are values as every engine takes them: a truth is 1 or 0.
func (d *Dialect) arguments(args []any) []any {
	if !d.Numbered {
		return args
	}
	plain := make([]any, len(args))
	for i, v := range args {
		switch v := v.(type) {
		case bool:
			plain[i] = truth(v)
		default:
			if same, err := driver.DefaultParameterConverter.ConvertValue(v); err == nil {
				plain[i] = same
			} else {
				plain[i] = v
			}
		}
	}
	return plain
}

func truth(is bool) int64 {
	if is {
		return 1
	}
	return 0
}

// numbered are statements that were translated before. There are as many as stand in
// this folder, times the ways in which a filter narrows.
var numbered sync.Map

// statement is a statement as the engine takes it.
func (d *Dialect) statement(query string) string {
	if !d.Numbered {
		return query
	}
	if known, ok := numbered.Load(query); ok {
		return known.(string)
	}
	text := translate(query)
	numbered.Store(query, text)
	return text
}

// translate writes $1 for ? and ?1, as SQLite counts them: a plain one is one more than
// the highest so far. No statement has a question mark in a text of its own.
func translate(query string) string {
	var b strings.Builder
	most := 0
	rest := strings.ReplaceAll(query, " CROSS JOIN ", " JOIN ")
	for {
		before, after, more := strings.Cut(rest, "?")
		b.WriteString(before)
		if !more {
			return b.String()
		}
		digits := len(after) - len(strings.TrimLeft(after, "0123456789"))
		n := most + 1
		if digits > 0 {
			n, _ = strconv.Atoi(after[:digits]) // digits alone, and few
		}
		most = max(most, n)
		b.WriteString("$" + strconv.Itoa(n))
		rest = after[digits:]
	}
}
