package postgres

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record/sqlbook"
)

// The codes of PostgreSQL's errors that are told apart here
// (postgresql.org/docs/15/errcodes-appendix.html).
const (
	codeTwice        = "23505" // unique_violation
	codeReadOnly     = "25006" // read_only_sql_transaction
	codeNoDatabase   = "3D000" // invalid_catalog_name
	codeNoSchema     = "3F000" // invalid_schema_name
	codeNotSerial    = "40001" // serialization_failure
	codeDeadlock     = "40P01" // deadlock_detected
	codeMayNot       = "42501" // insufficient_privilege
	codeDiskFull     = "53100" // disk_full
	codeTooMany      = "53300" // too_many_connections
	codeLocked       = "55P03" // lock_not_available
	codeGoesDown     = "57P01" // admin_shutdown
	codeCrashed      = "57P02" // crash_shutdown
	codeComesUp      = "57P03" // cannot_connect_now
	codeIdleTooLong  = "25P03" // idle_in_transaction_session_timeout
	codeDamagedData  = "XX001" // data_corrupted
	codeDamagedIndex = "XX002" // index_corrupted
	classConnection  = "08"
	classLogin       = "28" // invalid_authorization_specification, invalid_password
)

func code(err error) string {
	var e *pgconn.PgError
	if errors.As(err, &e) {
		return e.Code
	}
	return ""
}

// crossed reports whether a transaction was undone since another one came across it: it
// is done again from the beginning. Keys and words are made without a lock, and where two
// servers make the same one the second is told that it is there already.
func crossed(err error) bool {
	switch code(err) {
	case codeNotSerial, codeDeadlock, codeTwice, codeLocked:
		return true
	}
	return false
}

// away reports whether the database could not be spoken to, or not by somebody who
// writes: it may be there again in a moment, or another host may be.
func away(err error) bool {
	c := code(err)
	switch c {
	case codeGoesDown, codeCrashed, codeComesUp, codeReadOnly, codeTooMany, codeIdleTooLong:
		return true
	case "":
	default:
		return strings.HasPrefix(c, classConnection)
	}
	var network net.Error
	var connecting *pgconn.ConnectError
	return errors.Is(err, driver.ErrBadConn) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, net.ErrClosed) ||
		errors.Is(err, errUnconfirmed) || errors.As(err, &network) || errors.As(err, &connecting) || pgconn.SafeToRetry(err) || pgconn.Timeout(err) ||
		strings.HasSuffix(err.Error(), "conn closed")
}

// explain says what an error of the database means for whoever has the book, and what
// to do. The address is shown without its password; the database's own words hold none.
func explain(name string, err error) error {
	var already *fault.Error
	if err == nil || errors.As(err, &already) || errors.Is(err, context.Canceled) {
		return err
	}
	say := func(what, advice string) error {
		return fault.Wrap(fmt.Errorf("the book %s %s: %w", name, what, reason(err)), advice)
	}
	switch c := code(err); {
	case strings.HasPrefix(c, classLogin):
		return say("does not let this role in", "set PGPASSWORD, or name a file with the password in PGPASSFILE; pg_hba.conf says who may come from where")
	case c == codeNoDatabase:
		return say("is not there", "make the database: createdb NAME")
	case c == codeNoSchema:
		return say("has no schema to lie in", "make the schema that the address names, or leave search_path out of it")
	case c == codeMayNot:
		return say("does not let this role do that", "the README of scoring/record/postgres says what a role needs; a book is made, and brought to a new form, by the owner of its tables")
	case c == codeDiskFull:
		return say("has no room on its disk", "make room on the database's disk; every answer given so far is kept")
	case c == codeReadOnly:
		return say("can only be read there", "it is a standby: name all hosts and target_session_attrs=read-write in the address")
	case c == codeDamagedData, c == codeDamagedIndex:
		return say("is damaged", "promote a standby, or put the database's last backup in its place")
	case crossed(err):
		return say("is held by others", "try again")
	case away(err), errors.Is(err, context.DeadlineExceeded):
		return say("cannot be reached now", "see that the database runs and that the network leads there; every answer given so far is kept")
	}
	return err
}

// reason takes what a driver says of its own attempts out of an error, so that it is
// one line.
func reason(err error) error {
	var e *pgconn.PgError
	if errors.As(err, &e) {
		return told{e.Message, err}
	}
	var n *net.OpError
	if errors.As(err, &n) {
		return told{n.Err.Error(), err}
	}
	var unanswered *sqlbook.NotAcknowledged
	if errors.As(err, &unanswered) {
		return told{"a commit was not answered", err}
	}
	if errors.Is(err, context.DeadlineExceeded) || pgconn.Timeout(err) {
		return told{"it did not answer in time", err}
	}
	line, _, _ := strings.Cut(err.Error(), "\n")
	return told{strings.TrimSuffix(line, ":"), err}
}

// told is an error in other words.
type told struct {
	words string
	error
}

func (t told) Error() string { return t.words }
func (t told) Unwrap() error { return t.error }
