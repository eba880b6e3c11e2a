// Package postgres keeps a book in a PostgreSQL database, for several servers at once.
//
// An answer is acknowledged when its transaction has been: on the disk, and on the
// standby where the database is set so. See the README for grants, backup and fencing.
package postgres

import (
	"context"
	"database/sql"
	"net"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlbook"
)

// Book is a record.Store in a PostgreSQL database.
type Book struct {
	*sqlbook.Book
	name string // as it may be shown
	// patience is for how long a database that is away is waited for.
	patience time.Duration
	db       *sql.DB
	notes    []string
}

var _ record.Store = (*Book)(nil)

// mostConnections of one process; the database has 100 for all unless it is told
// otherwise. House choice.
const mostConnections = 16

// Open opens the book at an address. An empty database becomes a book; one of an older
// form is brought up to date; a newer one is refused with record.ErrNewer and left as it
// is.
func Open(ctx context.Context, address string) (*Book, error) { return open(ctx, address, false) }

// OpenThere opens a book that must be there already.
func OpenThere(ctx context.Context, address string) (*Book, error) { return open(ctx, address, true) }

func open(ctx context.Context, address string, there bool) (*Book, error) {
	config, err := configuration(address)
	if err != nil {
		return nil, err
	}
	b := &Book{name: Shown(address), patience: opensFor}
	b.Book = sqlbook.New(engine{b}, dialect)
	config.OnNotice = noticed
	if config.ConnectTimeout == 0 {
		config.ConnectTimeout = tryFor / 2
	}
	b.db = stdlib.OpenDB(*config)
	b.db.SetMaxOpenConns(mostConnections)
	b.db.SetMaxIdleConns(mostConnections)
	b.db.SetConnMaxIdleTime(time.Minute)
	if err := b.begin(ctx, config, there); err != nil {
		b.db.Close()
		return nil, explain(b.name, err)
	}
	b.patience = triesFor
	return b, nil
}

func (b *Book) begin(ctx context.Context, config *pgx.ConnConfig, there bool) error {
	var form int
	e := engine{b}
	err := e.Patiently(ctx, func() (err error) {
		form, err = b.form(ctx, b.db)
		return err
	})
	switch {
	case err != nil:
		return err
	case form > newest():
		return b.otherForm(form)
	case form == 0 && there:
		return fault.New("there is no book in "+b.name+" yet", "practise first, name another book with --book, or copy one into it (shadedrill book copy)")
	case form < newest():
		if err := b.migrate(ctx); err != nil {
			return err
		}
	}
	if err := b.Reads(ctx, b.db); err != nil {
		return err
	}
	var commit, version string
	if err := b.db.QueryRowContext(ctx, "SELECT current_setting('synchronous_commit'), current_setting('server_version')").Scan(&commit, &version); err != nil {
		return err
	}
	if commit == "off" {
		b.notes = append(b.notes, "the database acknowledges before it has written (synchronous_commit is off): a crash loses the last answers, although they were acknowledged")
	}
	if config.TLSConfig == nil && !near(config.Host) {
		b.notes = append(b.notes, "the way to "+config.Host+" is not encrypted (sslmode): names and answers can be read on the network")
	}
	return nil
}

// near reports whether a host is this machine.
func near(host string) bool {
	ip := net.ParseIP(host)
	return strings.HasPrefix(host, "/") || host == "localhost" || ip != nil && ip.IsLoopback()
}

// Notes are what whoever runs the book should know of how it lies there.
func (b *Book) Notes() []string { return b.notes }

// Close gives the connections back.
func (b *Book) Close() error { return b.db.Close() }

// Wipe writes the tables anew, so that nothing of what was taken out is left in their
// files. The database's log, its standbys and its backups are its own affair.
func (b *Book) Wipe(ctx context.Context) error {
	var foreign int
	err := b.db.QueryRowContext(ctx, `SELECT count(*) FROM pg_catalog.pg_class c JOIN pg_catalog.pg_namespace n ON n.oid = c.relnamespace
		WHERE n.nspname = current_schema() AND c.relkind = 'r' AND NOT pg_catalog.pg_has_role(c.relowner, 'USAGE')`).Scan(&foreign)
	if err != nil {
		return explain(b.name, err)
	}
	if foreign > 0 {
		return fault.New("what was taken out can still lie in the files of the database "+b.name+": only the owner of its tables can have them written anew",
			`say "shadedrill people wipe" as the owner`)
	}
	for _, table := range sqlbook.Tables {
		if _, err := b.db.ExecContext(ctx, "VACUUM FULL "+table); err != nil {
			return explain(b.name, err)
		}
	}
	return b.Wiped(ctx)
}
