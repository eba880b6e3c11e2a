package sqlite_test

import (
	"path/filepath"
	"testing"

	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/record/sqlite"
)

func BenchmarkAppend(b *testing.B) {
	book, err := sqlite.Open(ctx, filepath.Join(b.TempDir(), "book.db"))
	if err != nil {
		b.Fatal(err)
	}
	defer book.Close()
	s := recordtest.Begin(b, book, recordtest.Person(b, book, "Ada Finch"), 0)
	i := 0
	for b.Loop() {
		if err := book.Append(ctx, recordtest.Plain(s, i)); err != nil {
			b.Fatal(err)
		}
		i++
	}
}
