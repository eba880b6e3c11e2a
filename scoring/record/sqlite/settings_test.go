package sqlite

import (
	"context"
	"path/filepath"
	"testing"
)

// What makes an answer durable when the power goes, and a book whole: every
// connection that writes has it, also one that is made later. The values are
// those of sqlite.org/pragma.html: synchronous 2 is FULL.
func TestEveryConnectionIsDurable(t *testing.T) {
	ctx := context.Background()
	b, err := Open(ctx, filepath.Join(t.TempDir(), "book.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	for range 3 {
		for pragma, want := range map[string]string{"synchronous": "2", "journal_mode": "wal", "foreign_keys": "1", "busy_timeout": waitMS} {
			var got string
			if err := b.write.QueryRowContext(ctx, "PRAGMA "+pragma).Scan(&got); err != nil || got != want {
				t.Errorf("the connection that writes has %s %q, want %q (%v)", pragma, got, want, err)
			}
		}
		if _, err := b.read.ExecContext(ctx, "DELETE FROM learner"); err == nil {
			t.Error("a connection that reads can write")
		}
		// The next one is a new one.
		b.write.SetMaxIdleConns(0)
		b.read.SetMaxIdleConns(0)
	}
}
