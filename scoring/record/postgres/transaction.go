package postgres

import (
	"context"
	"database/sql"
	"fmt"
	"strconv"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"

	"shadedrill/scoring/record/sqlbook"
)

// transaction is begun, locked and told its book's form in one round trip, where
// database/sql takes three. On a busy machine each is a wait for the processor.
type transaction struct {
	*sql.Conn
	ctx context.Context
}

// outside is how a connection stands that is in no transaction.
const outside = 'I'

// begin begins a transaction of one moment (REPEATABLE READ). What is locked is locked
// before the moment is fixed, which the first SELECT does.
func begin(ctx context.Context, conn *sql.Conn, lock string) (t transaction, form int, forgotten int64, err error) {
	t = transaction{conn, ctx}
	err = t.speak(func(c *pgconn.PgConn) error {
		results, err := c.Exec(ctx, "begin isolation level repeatable read; SET LOCAL idle_in_transaction_session_timeout = '"+leftAlone+"'; "+
			lock+"; SELECT form, forgotten FROM shadedrill").ReadAll()
		if err != nil {
			return err
		}
		rows := results[len(results)-1].Rows
		if len(rows) != 1 || len(rows[0]) != 2 {
			return fmt.Errorf("the book's mark has %d rows", len(rows))
		}
		if form, err = strconv.Atoi(string(rows[0][0])); err != nil {
			return err
		}
		forgotten, err = strconv.ParseInt(string(rows[0][1]), 10, 64)
		return err
	})
	return t, form, forgotten, err
}

// Commit ends the transaction, if [sends] has not. An error does not say that nothing was
// written.
func (t transaction) Commit() error {
	return t.speak(func(c *pgconn.PgConn) error {
		if !c.IsClosed() && c.TxStatus() == outside {
			return nil
		}
		results, err := c.Exec(t.ctx, "commit").ReadAll()
		if err == nil && results[0].CommandTag.String() == "ROLLBACK" {
			return pgx.ErrTxCommitRollback
		}
		return err
	})
}

// end undoes what was not committed. A connection that cannot even do that is not used
// again.
func (t transaction) end() {
	_ = t.speak(func(c *pgconn.PgConn) error {
		if c.IsClosed() || c.TxStatus() == outside {
			return nil
		}
		ctx, stop := context.WithTimeout(context.WithoutCancel(t.ctx), time.Second)
		defer stop()
		if _, err := c.Exec(ctx, "rollback").ReadAll(); err != nil {
			return c.Close(ctx)
		}
		return nil
	})
}

func (t transaction) speak(f func(*pgconn.PgConn) error) error {
	return t.Raw(func(c any) error { return f(c.(*stdlib.Conn).Conn().PgConn()) })
}

// sends has the server take many statements and the commit at once, and answer once. What
// follows a statement that failed is not carried out, nor is the commit.
func sends(ctx context.Context, conn *sql.Conn, all []sqlbook.Statement) error {
	var batch pgx.Batch
	for _, s := range all {
		batch.Queue(s.Query, s.Arguments...)
	}
	batch.Queue("commit")
	err := conn.Raw(func(c any) error {
		results := c.(*stdlib.Conn).Conn().SendBatch(ctx, &batch)
		for n := range batch.Len() {
			done, err := results.Exec()
			if err == nil && n == len(all) && done.String() != "COMMIT" {
				err = pgx.ErrTxCommitRollback
			}
			if err != nil {
				results.Close()
				return err
			}
		}
		return results.Close()
	})
	switch {
	case err == nil:
		return nil
	case code(err) == codeTwice:
		return sqlbook.ErrThere
	case code(err) == "": // no word of the server's: it may have come to the commit
		return sqlbook.Unconfirmed(err)
	}
	return err
}
