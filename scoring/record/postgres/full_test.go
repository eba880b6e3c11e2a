//go:build linux

package postgres_test

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres/postgrestest"
	"shadedrill/scoring/record/recordtest"
)

// The database's disk is full: whoever answers is told, in one line with what to do, and
// keeps the answer. With room again the same answer is taken, and none before it is lost.
func TestDatabaseFull(t *testing.T) {
	heavy(t)
	s := postgrestest.New(t)
	disk := filepath.Join(s.Folder, "small")
	if err := os.Mkdir(disk, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=64m"); err != nil {
		t.Skipf("no small disk can be made here: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(disk, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	s.Own(t, disk)
	s.Exec(t, "postgres", "CREATE TABLESPACE small LOCATION '"+disk+"'")
	s.Exec(t, "postgres", "CREATE DATABASE crowded TABLESPACE small")
	book := open(t, s.Address("crowded"))
	sitting := recordtest.Begin(t, book, recordtest.Person(t, book, "Ada Finch"), 0)
	n := 0
	for ; n < 20; n++ {
		if err := book.Append(ctx, recordtest.Plain(sitting, n)); err != nil {
			t.Fatal(err)
		}
	}
	ballast := filepath.Join(disk, "ballast")
	f, err := os.Create(ballast)
	if err != nil {
		t.Fatal(err)
	}
	for full := make([]byte, 4096); err == nil; {
		_, err = f.Write(full)
	}
	f.Close()
	var refused scoring.Attempt
	for ; n < 5000; n++ {
		refused = recordtest.Plain(sitting, n)
		if err = book.Append(ctx, refused); err != nil {
			break
		}
	}
	if err == nil || !strings.Contains(err.Error(), "has no room on its disk") || !strings.Contains(fault.Hint(err), "every answer given so far is kept") {
		t.Fatalf("after %d answers: %v", n, err)
	}
	t.Logf("%d answers, then: %v", n, err)
	if got := recordtest.All(t, book, record.Filter{}); len(got) != n {
		t.Errorf("%d answers are there, and %d were acknowledged", len(got), n)
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	if err := book.Append(ctx, refused); err != nil {
		t.Errorf("with room again: %v", err)
	}
	if got := recordtest.All(t, book, record.Filter{}); len(got) != n+1 {
		t.Errorf("%d answers are there, want %d", len(got), n+1)
	}
	if err := book.Whole(ctx, record.Filter{}); err != nil {
		t.Error(err)
	}
}
