package sqlite

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"os"
	"runtime"
	"sync"
	"time"

	bare "zombiezen.com/go/sqlite"

	"shadedrill/scoring/record/sqlbook"
)

// bareReaders are connections to the same SQLite without database/sql, for reading very
// many rows: the driver locks a connection twice for every cell, which takes longer than
// reading it. They only read. The zero value is ready.
type bareReaders struct {
	mu     sync.Mutex
	idle   []*bareReader
	asked  int // how often one was wanted
	closed bool
}

// fewReadings is how many questions of a book are not worth a connection of their own.
const fewReadings = 20

// bareReader is such a connection, with what it has compiled. Its own list of that would
// clear what a statement was given before, and then SQLite compiles many anew.
type bareReader struct {
	conn     *bare.Conn
	compiled map[string]*bare.Stmt
}

// take gives a connection, or nil where there is none to be had: what it reads can be read
// otherwise.
func (r *bareReaders) take(b *Book) *bareReader {
	if r == nil || b.write == nil || b.memory != nil || b.file == nil {
		return nil // read without locks, or from memory
	}
	r.mu.Lock()
	r.asked++
	if r.closed || r.asked <= fewReadings {
		r.mu.Unlock()
		return nil
	}
	var c *bareReader
	if n := len(r.idle); n > 0 {
		c, r.idle = r.idle[n-1], r.idle[:n-1]
	}
	r.mu.Unlock()
	if c == nil && b.sameFile() {
		c = openBare(b.path)
	}
	if c != nil && !b.sameFile() {
		c.conn.Close()
		return nil
	}
	return c
}

// sameFile reports whether what was opened lies in its place: a connection that is opened
// now would otherwise read another book.
func (b *Book) sameFile() bool {
	info, err := os.Stat(b.path)
	return err == nil && os.SameFile(info, b.file)
}

// give takes a connection back.
func (r *bareReaders) give(c *bareReader) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.closed || len(r.idle) > 2*runtime.GOMAXPROCS(0) {
		c.conn.Close()
		return
	}
	r.idle = append(r.idle, c)
}

// close closes the connections that are not in use, and those in use when they come back.
func (r *bareReaders) close() (err error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, c := range r.idle {
		err = errors.Join(err, c.conn.Close())
	}
	r.idle, r.closed = nil, true
	return err
}

func openBare(path string) *bareReader {
	conn, err := bare.OpenConn(source(path, "mode=rw"), bare.OpenReadWrite|bare.OpenURI)
	if err != nil {
		return nil
	}
	conn.SetBusyTimeout(10 * time.Second)
	c := &bareReader{conn, map[string]*bare.Stmt{}}
	for _, pragma := range []string{"PRAGMA query_only = 1", "PRAGMA cache_size = -200"} {
		if c.do(pragma) != nil {
			conn.Close()
			return nil
		}
	}
	return c
}

// prepare compiles a statement, or finds it compiled.
func (c *bareReader) prepare(query string) (*bare.Stmt, error) {
	if s := c.compiled[query]; s != nil {
		return s, nil
	}
	s, err := c.conn.Prepare(query)
	if err == nil {
		c.compiled[query] = s
	}
	return s, err
}

// do runs a statement that gives nothing back.
func (c *bareReader) do(query string) error {
	s, err := c.prepare(query)
	if err != nil {
		return err
	}
	_, err = s.Step()
	return errors.Join(err, s.Reset())
}

// rows is a [sqlbook.Reading] on this connection, in a transaction that begins with the
// first. The arguments are text, numbers, truths and nothing.
func (c *bareReader) rows(ctx context.Context, query string, args []any, take func(sqlbook.Row) (bool, error)) (more bool, err error) {
	if ctx.Err() != nil {
		return false, ctx.Err()
	}
	if c.conn.AutocommitEnabled() {
		if err := c.do("BEGIN"); err != nil {
			return false, err
		}
	}
	s, err := c.prepare(query)
	if err != nil {
		return false, err
	}
	defer func() { err = errors.Join(err, s.Reset()) }()
	if err := bind(s, args); err != nil {
		return false, err
	}
	// Another process may be in the way of the first step, which takes the lock.
	some := false
	err = patiently(ctx, func() (err error) {
		some, err = s.Step()
		return err
	})
	for n := 1; some && err == nil; n++ {
		if more, err = take(bareRow{s}); err != nil || !more {
			return more, err
		}
		if n%1024 == 0 && ctx.Err() != nil {
			return false, ctx.Err()
		}
		some, err = s.Step()
	}
	return err == nil, err
}

// bind gives a statement its arguments: all of them, since it has those of the time before.
func bind(s *bare.Stmt, args []any) error {
	if n := s.BindParamCount(); len(args) != n {
		return fmt.Errorf("%d values for %d places of a question", len(args), n)
	}
	for i, v := range args {
		v, err := driver.DefaultParameterConverter.ConvertValue(v)
		if err != nil {
			return err
		}
		switch v := v.(type) {
		case nil:
			s.BindNull(i + 1)
		case int64:
			s.BindInt64(i+1, v)
		case bool:
			s.BindBool(i+1, v)
		case string:
			s.BindText(i+1, v)
		default:
			return fmt.Errorf("%T asked of SQLite", v)
		}
	}
	return nil
}

// bareRow is the row at which a statement stands.
type bareRow struct{ *bare.Stmt }

func (r bareRow) Null(i int) bool      { return r.ColumnType(i) == bare.TypeNull }
func (r bareRow) Int(i int) int64      { return r.ColumnInt64(i) }
func (r bareRow) Float(i int) float64  { return r.ColumnFloat(i) }
func (r bareRow) Text(i int) string    { return r.ColumnText(i) }
func (r bareRow) Scan(to ...any) error { return sqlbook.ScanRow(r, to) }

func (r bareRow) Blob(i int) []byte {
	if r.Null(i) {
		return nil
	}
	blob := make([]byte, r.ColumnLen(i))
	r.ColumnBytes(i, blob)
	return blob
}

func (r bareRow) Value(i int) any {
	switch r.ColumnType(i) {
	case bare.TypeInteger:
		return r.Int(i)
	case bare.TypeFloat:
		return r.Float(i)
	case bare.TypeText:
		return r.Text(i)
	case bare.TypeBlob:
		return r.Blob(i)
	}
	return nil
}

// end gives a connection back once nothing is read of it any more.
func (r *bareReaders) end(c *bareReader) {
	if c.conn.AutocommitEnabled() || c.do("ROLLBACK") == nil {
		r.give(c)
		return
	}
	c.conn.Close()
}
