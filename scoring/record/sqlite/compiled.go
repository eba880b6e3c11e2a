package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"runtime"

	"modernc.org/sqlite"
)

// readers is a pool of connections that keep what they compiled: a review asks the same
// of every learner, and to compile a question takes as long as to read some hundred
// answers. What database/sql keeps is out of reach for who reads below it.
func readers(name string) (*sql.DB, error) {
	c, err := sqlite.NewConnector(name)
	if err != nil {
		return nil, err
	}
	db := sql.OpenDB(readerConnector{c})
	db.SetConnMaxIdleTime(0)
	// A helper of a report asks in the middle of what it reads: two connections each. One
	// that the pool closes would have to read and compile everything anew.
	db.SetMaxIdleConns(2*runtime.GOMAXPROCS(0) + 2)
	return db, nil
}

type readerConnector struct{ driver.Connector }

func (c readerConnector) Connect(ctx context.Context) (driver.Conn, error) {
	conn, err := c.Connector.Connect(ctx)
	if err != nil {
		return nil, err
	}
	return &reader{conn.(connection), map[string]driver.Stmt{}}, nil
}

// connection is all that a connection of the driver can do for database/sql.
type connection interface {
	driver.Conn
	driver.ConnBeginTx
	driver.ConnPrepareContext
	driver.ExecerContext
	driver.QueryerContext
	driver.Pinger
	driver.SessionResetter
	driver.Validator
}

// reader is a connection with its compiled questions that are not being answered now.
type reader struct {
	connection
	compiled map[string]driver.Stmt
}

// mostCompiled is more than there are questions in this program, times the ways in which
// a filter narrows one.
const mostCompiled = 100

// QueryContext asks; the answer gives the compiled question back when it is closed.
func (r *reader) QueryContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Rows, error) {
	s, known := r.compiled[query]
	if delete(r.compiled, query); !known {
		var err error
		if s, err = r.PrepareContext(ctx, query); err != nil {
			return nil, err
		}
	}
	rows, err := s.(driver.StmtQueryContext).QueryContext(ctx, args)
	if err != nil {
		s.Close()
		return nil, err
	}
	return &answers{rows, r, query, s}, nil
}

// Close closes the connection.
func (r *reader) Close() error {
	for _, s := range r.compiled {
		s.Close()
	}
	r.compiled = nil
	return r.connection.Close()
}

// Unwrap is the connection of the driver.
func (r *reader) Unwrap() driver.Conn { return r.connection }

// answers are the rows of a question.
type answers struct {
	driver.Rows
	of    *reader
	query string
	s     driver.Stmt
}

func (a *answers) Close() error {
	err := a.Rows.Close()
	_, again := a.of.compiled[a.query] // asked once more meanwhile
	if err != nil || again || a.of.compiled == nil || len(a.of.compiled) >= mostCompiled {
		a.s.Close()
	} else {
		a.of.compiled[a.query] = a.s
	}
	return err
}
