package sqlite_test

import (
	"context"
	"path/filepath"
	"testing"

	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/record/sqlite"
)

var ctx = context.Background()

func open(t testing.TB, path string) *sqlite.Book {
	t.Helper()
	b, err := sqlite.Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestBook(t *testing.T) {
	recordtest.Run(t, func(t *testing.T) record.Store { return open(t, filepath.Join(t.TempDir(), "book.db")) })
}

// What is asked from the first question on by connections without database/sql is the same.
func TestHurriedBook(t *testing.T) {
	recordtest.Run(t, func(t *testing.T) record.Store {
		return sqlite.Hurried(open(t, filepath.Join(t.TempDir(), "book.db")))
	})
}
