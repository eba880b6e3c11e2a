//go:build unix

package postgres_test

import (
	"context"
	"os"
	"testing"

	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres"
	"shadedrill/scoring/record/postgres/postgrestest"
	"shadedrill/scoring/record/recordtest"
)

var ctx = context.Background()

func TestMain(m *testing.M) { os.Exit(postgrestest.Main(m)) }

func open(t testing.TB, address string) *postgres.Book {
	t.Helper()
	b, err := postgres.Open(ctx, address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

func TestBook(t *testing.T) {
	recordtest.Run(t, func(t *testing.T) record.Store { return open(t, postgrestest.Address(t)) })
}
