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

// fewReadings is how many readings of a book are not worth a connection of their own.
const fewReadings = 2

// bareReader is such a connection.
type bareReader struct {
	conn *bare.Conn
	// version is another number after whatever somebody else has committed.
	version int64
}

// take gives a connection that knows which state of the book it has seen, or nil where
// there is none to be had: what it reads can be read otherwise.
func (r *bareReaders) take(b *Book) *bareReader {
	if b.write == nil || b.memory != nil || b.file == nil {
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
	if c != nil && (!b.sameFile() || c.see() != nil) {
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
	c := &bareReader{conn: conn}
	for _, pragma := range []string{"PRAGMA query_only = 1", "PRAGMA cache_size = -1000"} {
		if c.do(pragma) != nil {
			conn.Close()
			return nil
		}
	}
	return c
}

// do runs a statement that gives nothing back.
func (c *bareReader) do(query string) error {
	s, err := c.conn.Prepare(query)
	if err != nil {
		return err
	}
	_, err = s.Step()
	return errors.Join(err, s.Reset())
}

// see remembers the state of the book.
func (c *bareReader) see() error {
	s, err := c.conn.Prepare("PRAGMA data_version")
	if err != nil {
		return err
	}
	if some, err := s.Step(); err != nil || !some {
		return errors.Join(err, s.Reset(), fmt.Errorf("no version"))
	}
	c.version = s.ColumnInt64(0)
	return s.Reset()
}

// hold begins a transaction, and says whether the book is still as it was when it was
// seen. Then what was read meanwhile and what is read now are of one moment.
func (c *bareReader) hold() bool {
	seen := c.version
	return c.do("BEGIN") == nil && c.see() == nil && c.version == seen
}

// rows is what [sqlbook.RawRows] does, on this connection. The arguments are text and numbers.
func (c *bareReader) rows(ctx context.Context, query string, args []any, row []driver.Value, take func([]driver.Value) (bool, error)) (more bool, err error) {
	s, err := c.conn.Prepare(query)
	if err != nil {
		return false, err
	}
	defer func() { err = errors.Join(err, s.Reset()) }()
	for i, v := range args {
		if v, err = driver.DefaultParameterConverter.ConvertValue(v); err != nil {
			return false, err
		}
		switch v := v.(type) {
		case int64:
			s.BindInt64(i+1, v)
		case string:
			s.BindText(i+1, v)
		default:
			return false, fmt.Errorf("%T asked of SQLite", v)
		}
	}
	for n := 0; ; n++ {
		if n%1024 == 0 && ctx.Err() != nil {
			return false, ctx.Err()
		}
		switch some, err := s.Step(); {
		case err != nil:
			return false, err
		case !some:
			return true, nil
		}
		for i := range row {
			switch s.ColumnType(i) {
			case bare.TypeInteger:
				row[i] = s.ColumnInt64(i)
			case bare.TypeFloat:
				row[i] = s.ColumnFloat(i)
			case bare.TypeText:
				row[i] = s.ColumnText(i)
			case bare.TypeBlob:
				blob := make([]byte, s.ColumnLen(i))
				s.ColumnBytes(i, blob)
				row[i] = blob
			default:
				row[i] = nil
			}
		}
		if more, err = take(row); err != nil || !more {
			return more, err
		}
	}
}

// end gives a connection back once nothing is read of it any more.
func (r *bareReaders) end(c *bareReader) {
	if c.conn.AutocommitEnabled() || c.do("ROLLBACK") == nil {
		r.give(c)
		return
	}
	c.conn.Close()
}

// reading is how rows are read in a transaction of the pool that began after the
// connection saw the book: by the connection where nothing was committed since, so that
// both are of one moment, otherwise in the transaction itself.
func (c *bareReader) reading(inTransaction sqlbook.Reading) sqlbook.Reading {
	held, tried := false, false
	return func(ctx context.Context, query string, args []any, row []driver.Value, take func([]driver.Value) (bool, error)) (bool, error) {
		if !tried {
			held, tried = c.hold(), true
		}
		if !held {
			return inTransaction(ctx, query, args, row, take)
		}
		return c.rows(ctx, query, args, row, take)
	}
}
