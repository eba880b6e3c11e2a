package sqlite_test

import (
	"bytes"
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlite"
	"shadedrill/scoring/transfer"
)

// Copies of a book with some bytes changed: none of which an export would differ is
// called sound, or whole, and nothing panics. SHADEDRILL_HEAVY=1 makes it 1,000.
func TestDamageIsSeen(t *testing.T) {
	source := furnished(t)
	whole, err := os.ReadFile(source)
	if err != nil {
		t.Fatal(err)
	}
	// export is what leaves the book; nil where that is refused.
	export := func(path string, verified bool) []byte {
		book, err := sqlite.Open(ctx, path)
		if err != nil {
			return nil
		}
		defer book.Close()
		if verified && book.Whole(ctx, record.Filter{}) != nil {
			return nil
		}
		var b bytes.Buffer
		if transfer.Export(context.Background(), book, record.Filter{}, &b, transfer.JSONLines) != nil {
			return nil
		}
		return b.Bytes()
	}
	want := export(source, true)
	if len(want) == 0 {
		t.Fatal("the book itself cannot be exported")
	}
	copies := 25
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		copies = 1000
	}
	rng := rand.New(rand.NewPCG(2026, 11))
	path := filepath.Join(t.TempDir(), "bad.db")
	sound, wrong := 0, 0
	for n := range copies {
		bad := append([]byte(nil), whole...)
		for range 1 + rng.IntN(8) {
			bad[rng.IntN(len(bad))] ^= byte(1 + rng.IntN(255))
		}
		os.Remove(path + "-wal")
		os.Remove(path + "-shm")
		if err := os.WriteFile(path, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		found, _, err := sqlite.Check(ctx, path, nil)
		ok := err == nil && found.Sound()
		if ok {
			sound++
			if got := export(path, false); !bytes.Equal(got, want) {
				t.Errorf("copy %d is called sound, and its export differs", n)
			}
		}
		if got := export(path, true); got != nil && !bytes.Equal(got, want) {
			wrong++
			t.Errorf("copy %d exports other rows (called sound: %v)", n, ok)
		}
	}
	t.Logf("%d copies: %d sound, %d exported wrongly", copies, sound, wrong)
}
