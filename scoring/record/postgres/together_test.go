//go:build unix

package postgres_test

import (
	"database/sql"
	"errors"
	"fmt"
	"sync"
	"syscall"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres/postgrestest"
	"shadedrill/scoring/record/recordtest"
)

// together lets so many people answer at the same moment, each in a sitting of their own,
// and their answer number n.
func together(t *testing.T, book record.Store, sittings []scoring.Sitting, n int) {
	t.Helper()
	var all sync.WaitGroup
	for _, s := range sittings {
		all.Go(func() {
			if err := book.Append(ctx, recordtest.Plain(s, n)); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
}

func sittingsOf(t *testing.T, book record.Store, people int) (list []scoring.Sitting) {
	t.Helper()
	for n := range people {
		list = append(list, recordtest.Begin(t, book, recordtest.Person(t, book, fmt.Sprint("Person ", n)), n))
	}
	return list
}

// Answers that come together cost few round trips, and one that comes by itself no more
// than three. Over a network that takes its time that is what a class waits for.
func TestAnswersTogetherTakeFewRoundTrips(t *testing.T) {
	_, through, w := throughWire(t)
	book := open(t, through)
	sittings := sittingsOf(t, book, 60)
	together(t, book, sittings, 0) // the words are new, and the statements
	together(t, book, sittings, 1) // on every connection
	before := w.sent.Load()
	if err := book.Append(ctx, recordtest.Plain(sittings[0], 2)); err != nil {
		t.Fatal(err)
	}
	if n := w.sent.Load() - before; n > 3 {
		t.Errorf("one answer took %d round trips", n)
	}
	before = w.sent.Load()
	began, worked := time.Now(), processor(t)
	w.wait.Store(int64(50 * time.Millisecond))
	together(t, book, sittings, 3)
	w.wait.Store(0)
	n, took, worked := w.sent.Load()-before, time.Since(began), processor(t)-worked
	if n > 120 {
		t.Errorf("60 answers took %d round trips, more than two each", n)
	}
	if worked > took/2 {
		t.Errorf("who waits for the network keeps the processor busy for %v of %v", worked, took)
	}
	t.Logf("60 answers over a network of 50 ms: %d round trips, %v", n, took.Round(time.Millisecond))
	if got := recordtest.All(t, book, record.Filter{}); len(got) != 3*60+1 {
		t.Errorf("%d answers, want %d", len(got), 3*60+1)
	}
	if err := book.Whole(ctx, record.Filter{}); err != nil {
		t.Error(err)
	}
}

// processor is the time that this process has had the processor for itself.
func processor(t *testing.T) time.Duration {
	t.Helper()
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		t.Fatal(err)
	}
	return time.Duration(used.Utime.Nano())
}

// Among answers that come together one is there already, one is another than the one that
// is there, one is of a sitting that has ended: each is told what becomes of it, and the
// others are kept.
func TestOneOfSeveralIsNotAsItShouldBe(t *testing.T) {
	book := open(t, postgrestest.Address(t))
	sittings := sittingsOf(t, book, 24)
	together(t, book, sittings, 0)
	if err := book.EndSitting(ctx, sittings[2].ID, recordtest.Noon.Add(time.Hour), true); err != nil {
		t.Fatal(err)
	}
	for round := 1; round < 6; round++ {
		var all sync.WaitGroup
		for i, s := range sittings {
			a, want := recordtest.Plain(s, round), ""
			switch i {
			case 0:
				a = recordtest.Plain(s, 0)
			case 1:
				a = recordtest.Plain(s, 0)
				a.Answer.Tab, want = "L70 C20 h80", "taken"
			case 2:
				want = "ended"
			case 3:
				a.Sitting, want = "nowhere", "not found"
			case 4:
				a.Learner, want = sittings[5].Learner, "learner"
			}
			all.Go(func() {
				if err := book.Append(ctx, a); (err == nil) != (want == "") {
					t.Errorf("answer %d: %v, want %q", i, err, want)
				}
			})
		}
		all.Wait()
	}
	if got, want := len(recordtest.All(t, book, record.Filter{})), 24+5*(24-5); got != want {
		t.Errorf("%d answers, want %d", got, want)
	}
	if err := book.Whole(ctx, record.Filter{}); err != nil {
		t.Error(err)
	}
}

// A row is there that the chain of its sitting does not count, as after a fault on the
// disk: the same answer again is taken, another one is not, and nothing else with them is
// lost.
func TestARowThatTheChainDoesNotCount(t *testing.T) {
	address := postgrestest.Address(t)
	book := open(t, address)
	sittings := sittingsOf(t, book, 3)
	together(t, book, sittings, 0)
	together(t, book, sittings, 1)
	db, err := sql.Open("pgx", address)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if done, err := db.Exec("UPDATE chain SET last = 0, answers = 1"); err != nil {
		t.Fatal(err)
	} else if n, _ := done.RowsAffected(); n != 3 {
		t.Fatalf("%d chains", n)
	}
	if err := book.Append(ctx, recordtest.Plain(sittings[0], 1)); err != nil {
		t.Errorf("the same answer: %v", err)
	}
	other := recordtest.Plain(sittings[1], 1)
	other.Answer.Tab = "L70 C20 h80"
	if err := book.Append(ctx, other); !errors.Is(err, record.ErrTaken) {
		t.Errorf("another answer: %v", err)
	}
	together(t, book, sittings, 2)
	if got := recordtest.All(t, book, record.Filter{}); len(got) != 9 {
		t.Errorf("%d answers, want 9", len(got))
	}
}

// Poolers want other ways of asking than the usual one.
func TestWaysOfAsking(t *testing.T) {
	for _, mode := range []string{"exec", "simple_protocol", "cache_describe", "describe_exec"} {
		book := open(t, postgrestest.Address(t)+"&default_query_exec_mode="+mode)
		sittings := sittingsOf(t, book, 12)
		together(t, book, sittings, 0)
		together(t, book, sittings, 1)
		if got := recordtest.All(t, book, record.Filter{}); len(got) != 24 {
			t.Errorf("%s: %d answers, want 24", mode, len(got))
		}
		if err := book.Whole(ctx, record.Filter{}); err != nil {
			t.Errorf("%s: %v", mode, err)
		}
	}
}

// The network falls silent: no connection ends, nothing arrives. Whoever answers is told
// within the time that a try may take, and the answer is kept once when it is given again.
func TestSilentNetwork(t *testing.T) {
	heavy(t)
	_, through, w := throughWire(t)
	book := open(t, through)
	sittings := sittingsOf(t, book, 8)
	together(t, book, sittings, 0)
	w.mute.Store(true)
	var all sync.WaitGroup
	for _, s := range sittings {
		all.Go(func() {
			began := time.Now()
			if err := book.Append(ctx, recordtest.Plain(s, 1)); err == nil {
				t.Error("an answer is acknowledged over a network that carries nothing")
			}
			t.Logf("told after %v", time.Since(began).Round(100*time.Millisecond))
			if took := time.Since(began); took > 25*time.Second {
				t.Errorf("whoever waited was told after %v", took)
			}
		})
	}
	all.Wait()
	w.mute.Store(false)
	w.sever() // what was half sent is no conversation any more
	w.mend()
	together(t, book, sittings, 1)
	if got := recordtest.All(t, book, record.Filter{}); len(got) != 16 {
		t.Errorf("%d answers, want 16", len(got))
	}
	if err := book.Whole(ctx, record.Filter{}); err != nil {
		t.Error(err)
	}
}
