//go:build unix

package postgres_test

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres"
	"shadedrill/scoring/record/postgres/postgrestest"
	"shadedrill/scoring/record/recordtest"
)

// pair is a server and a standby that it waits for, with a book.
func pair(t *testing.T) (primary, standby *postgrestest.Server, database, both string) {
	t.Helper()
	primary = postgrestest.New(t, "wal_level=replica", "max_wal_senders=4", "hot_standby=on")
	address := primary.Database(t)
	database = strings.TrimPrefix(address[:strings.Index(address, "?")], "postgres://owner@/")
	standby = primary.Standby(t, "one", "hot_standby=on")
	primary.Configure(t, "synchronous_standby_names = 'ANY 1 (one)'")
	waits(t, primary)
	return primary, standby, database, postgrestest.Hosts(primary, standby, database)
}

// waits returns when the server waits for its standby.
func waits(t *testing.T, s *postgrestest.Server) {
	t.Helper()
	db, err := sql.Open("pgx", s.Address("postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for until := time.Now().Add(60 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		var n int
		if err := db.QueryRow("SELECT count(*) FROM pg_stat_replication WHERE sync_state IN ('sync', 'quorum')").Scan(&n); err == nil && n > 0 {
			return
		}
		if time.Now().After(until) {
			t.Fatal("the standby does not follow: " + s.Log())
		}
	}
}

// While the standby is away nothing is acknowledged: not the first time, and not when the
// same answer is given again, which is there already. A statement that writes nothing
// where the row is there would be.
func TestGivenAgainWaitsForTheStandby(t *testing.T) {
	heavy(t)
	primary, standby, database, _ := pair(t)
	book := open(t, primary.Address(database))
	s := recordtest.Begin(t, book, recordtest.Person(t, book, "Ada Finch"), 0)
	a := recordtest.Plain(s, 0)
	later := scoring.Sitting{ID: "later", Learner: s.Learner, Started: recordtest.Noon, Setup: s.Setup}
	ended := recordtest.Begin(t, book, recordtest.Person(t, book, "Bo Reed"), 1)
	standby.Kill()
	for try := range 3 {
		for what, f := range map[string]func(context.Context) error{
			"an answer":              func(ctx context.Context) error { return book.Append(ctx, a) },
			"a sitting":              func(ctx context.Context) error { return book.StartSitting(ctx, later) },
			"the end of a sitting":   func(ctx context.Context) error { return book.EndSitting(ctx, ended.ID, recordtest.Noon, false) },
			"who is signed in":       func(ctx context.Context) error { return book.PutSignedIn(ctx, signedIn(s.Learner)) },
			"who is not so any more": func(ctx context.Context) error { return book.SignOut(ctx, "other") },
		} {
			short, stop := context.WithTimeout(ctx, time.Second)
			err := f(short)
			stop()
			if err == nil && !(try > 0 && what == "a sitting") {
				t.Errorf("%s was acknowledged at try %d, and its standby is dead", what, try)
			}
		}
	}
	// What the rule is against: the row is there, nothing is written, nothing waits.
	db, err := sql.Open("pgx", primary.Address(database))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if got := recordtest.All(t, book, record.Filter{}); len(got) != 1 {
		t.Fatalf("%d answers are in the primary, want the one that is not acknowledged", len(got))
	}
	short, stop := context.WithTimeout(ctx, 5*time.Second)
	defer stop()
	if _, err := db.ExecContext(short, `INSERT INTO attempt (sitting, ordinal, at, kind, version, scene, target, first, total, looks, timed_out)
		SELECT sitting, ordinal, at, kind, version, scene, target, first, total, looks, timed_out FROM attempt ON CONFLICT DO NOTHING`); err != nil {
		t.Errorf("ON CONFLICT DO NOTHING waited: %v; then the rule is not needed", err)
	}
	// Told to wait no longer, the database acknowledges with a warning. The book does not.
	done := make(chan error, 1)
	long, end := context.WithTimeout(ctx, 8*time.Second)
	defer end()
	go func() { done <- book.Append(long, recordtest.Plain(s, 1)) }()
	cancelled := 0
	for cancelled < 2 {
		select {
		case err := <-done:
			t.Fatalf("it came back: %v", err)
		case <-time.After(100 * time.Millisecond):
		}
		var n int
		if err := db.QueryRow("SELECT count(*) FROM (SELECT pg_cancel_backend(pid) FROM pg_stat_activity WHERE wait_event = 'SyncRep') x").Scan(&n); err != nil {
			t.Fatal(err)
		}
		cancelled += n
	}
	select {
	case err := <-done:
		if err == nil {
			t.Error("an answer was acknowledged that its standby does not have")
		}
	case <-time.After(300 * time.Millisecond): // it waits again
	}
	// The standby comes back: what was tried is there once.
	if err := standby.Start(); err != nil {
		t.Fatal(err)
	}
	waits(t, primary)
	if err := book.Append(ctx, a); err != nil {
		t.Error(err)
	}
	if err := book.Append(ctx, recordtest.Plain(s, 1)); err != nil {
		t.Error(err)
	}
	if got := recordtest.All(t, book, record.Filter{}); len(got) != 2 {
		t.Errorf("%d answers, want 2", len(got))
	}
	if err := book.Whole(ctx, record.Filter{}); err != nil {
		t.Error(err)
	}
}

func signedIn(who scoring.LearnerID) record.SignedIn {
	return record.SignedIn{ID: "browser", Hash: "h", Learner: who, At: recordtest.Noon, Seen: recordtest.Noon}
}

// A primary dies under load, its standby is promoted, the address names both. No answer
// that was acknowledged is lost, none is there twice, and drills go on. Then the old
// primary comes back: nothing is acknowledged there.
func TestPrimaryDies(t *testing.T) {
	heavy(t)
	primary, standby, _, both := pair(t)
	book := open(t, both)
	const writers = 16
	type given struct {
		sitting scoring.SittingID
		ordinal int
	}
	var mu sync.Mutex
	kept := map[given]bool{}
	var last atomic.Int64 // when an answer was last acknowledged
	var longest atomic.Int64
	stop := make(chan struct{})
	var all sync.WaitGroup
	sittings := make([]scoring.Sitting, writers)
	for n := range writers {
		sittings[n] = recordtest.Begin(t, book, recordtest.Person(t, book, fmt.Sprint("Person ", n)), n)
	}
	last.Store(time.Now().UnixNano())
	for n := range writers {
		s := sittings[n]
		all.Go(func() {
			for i := 0; ; i++ {
				select {
				case <-stop:
					return
				default:
				}
				// A learner who is told of trouble tries again with the same answer.
				for {
					err := book.Append(ctx, recordtest.Plain(s, i))
					if err == nil {
						break
					}
					select {
					case <-stop:
						return
					case <-time.After(50 * time.Millisecond):
					}
				}
				now := time.Now().UnixNano()
				if gap := now - last.Swap(now); gap > longest.Load() {
					longest.Store(gap)
				}
				mu.Lock()
				kept[given{s.ID, i}] = true
				mu.Unlock()
			}
		})
	}
	count := func() int { mu.Lock(); defer mu.Unlock(); return len(kept) }
	reach := func(n int) {
		t.Helper()
		for until := time.Now().Add(120 * time.Second); count() < n; time.Sleep(10 * time.Millisecond) {
			if time.Now().After(until) {
				t.Fatalf("only %d answers were taken", count())
			}
		}
	}
	reach(2000)
	primary.Kill()
	killed := time.Now()
	before := count()
	longest.Store(0)
	standby.Promote(t)
	promoted := time.Now()
	reach(before + 500)
	t.Logf("%d answers before; promoted after %v; the next answer %v after the kill", before, promoted.Sub(killed), time.Duration(longest.Load()))
	reach(before + 2000)
	close(stop)
	all.Wait()

	have := map[given]int{}
	for _, a := range recordtest.All(t, book, record.Filter{}) {
		have[given{a.Sitting, a.Trial.Ordinal}]++
	}
	lost, doubled := 0, 0
	for k := range kept {
		if have[k] == 0 {
			lost++
		}
	}
	for _, n := range have {
		if n > 1 {
			doubled++
		}
	}
	t.Logf("%d acknowledged, %d lost, %d doubled", len(kept), lost, doubled)
	if lost > 0 || doubled > 0 {
		t.Errorf("%d answers lost, %d doubled", lost, doubled)
	}
	if err := book.Whole(ctx, record.Filter{}); err != nil {
		t.Error(err)
	}
	if gap := time.Duration(longest.Load()); gap-promoted.Sub(killed) > 10*time.Second {
		t.Errorf("drills went on %v after the promotion", gap-promoted.Sub(killed))
	}

	// The old primary comes back and is the first in the address.
	if err := primary.Start(); err != nil {
		t.Fatal(err)
	}
	fenced, err := postgres.OpenThere(ctx, both)
	if err != nil {
		t.Fatal(err)
	}
	defer fenced.Close()
	for try := range 2 {
		short, end := context.WithTimeout(ctx, 2*time.Second)
		if err := fenced.Append(short, recordtest.Plain(sittings[0], 900_000)); err == nil {
			t.Errorf("the old primary acknowledged an answer at try %d", try)
		}
		end()
	}
}

// The database stops and starts while people answer: whoever answers waits or is told, and
// afterwards all is there.
func TestRestarted(t *testing.T) {
	heavy(t)
	s := postgrestest.New(t)
	book := open(t, s.Database(t))
	sitting := recordtest.Begin(t, book, recordtest.Person(t, book, "Ada Finch"), 0)
	var up sync.WaitGroup
	for n := range 30 {
		if n%10 == 5 {
			up.Wait() // it says that it is up a moment later than it is
			s.Stop()
			up.Go(func() {
				if err := s.Start(); err != nil {
					t.Error(err)
				}
			})
		}
		for err := book.Append(ctx, recordtest.Plain(sitting, n)); err != nil; err = book.Append(ctx, recordtest.Plain(sitting, n)) {
			t.Log(err)
		}
	}
	up.Wait()
	if got := recordtest.All(t, book, record.Filter{}); len(got) != 30 {
		t.Errorf("%d answers, want 30", len(got))
	}
	if err := book.Whole(ctx, record.Filter{}); err != nil {
		t.Error(err)
	}
}
