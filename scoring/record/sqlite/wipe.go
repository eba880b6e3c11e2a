package sqlite

import (
	"context"
	"database/sql"
	"fmt"

	"shadedrill/colour/fault"
)

// Wipe writes the whole file anew (VACUUM, which leaves no page of what was taken
// out) and empties the log beside it.
func (b *Book) Wipe(ctx context.Context) error {
	if err := b.wipe(ctx); err != nil {
		return explain(b.path, err)
	}
	return b.Wiped(ctx)
}

func (b *Book) wipe(ctx context.Context) error {
	var conn *sql.Conn
	err := patiently(ctx, func() (err error) {
		conn, err = b.write.Conn(ctx)
		return err
	})
	if err != nil {
		return err
	}
	defer conn.Close()
	err = patiently(ctx, func() error {
		_, err := conn.ExecContext(ctx, "PRAGMA secure_delete = 1; VACUUM")
		return err
	})
	if err != nil {
		return err
	}
	// The log is emptied only when nobody reads what stood there before.
	const readersMS = "2000"
	if _, err := conn.ExecContext(ctx, "PRAGMA busy_timeout = "+readersMS); err != nil {
		return err
	}
	defer conn.ExecContext(ctx, "PRAGMA busy_timeout = "+waitMS)
	var busy, log, moved int
	err = conn.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &log, &moved)
	if err == nil && busy == 0 {
		return nil
	}
	if c := code(err); err != nil && c != codeBusy && c != codeLocked {
		return err
	}
	return fault.New(fmt.Sprintf("the book %s is read by another program: what was taken out still lies in its log", b.path),
		`close that program, then say "shadedrill people wipe"`)
}
