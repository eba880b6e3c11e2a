//go:build unix

package postgres_test

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"sync"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres/postgrestest"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/reports/classes"
	"shadedrill/scoring/simulate"
)

// learners is how many the large class has; each has 1,000 answers.
func learnersAsked() int {
	if n, err := strconv.Atoi(os.Getenv("SHADEDRILL_LEARNERS")); err == nil {
		return n
	}
	return 1000
}

func planOf(t *testing.T, learners int, seed uint64) simulate.Plan {
	t.Helper()
	library, err := tabs.Load("natural")
	if err != nil {
		t.Fatal(err)
	}
	return simulate.Plan{Learners: learners, Sittings: 50, Items: 20, Seed: seed, Improve: true, From: time.Date(2025, 1, 6, 0, 0, 0, 0, time.UTC),
		Setup: exercises.Setup{Kind: exercises.ValueFirst, Targets: exercises.NaturalTargets, Viewing: exercises.DefaultViewing(), Sheet: tabs.NewSheet(library, nil)}}
}

// fill enters simulated people and returns them.
func fill(t *testing.T, book record.Store, plan simulate.Plan, prefix string) []scoring.Learner {
	t.Helper()
	people := plan.Invent()
	for i := range people {
		people[i].Learner.Name = prefix + people[i].Learner.Name
	}
	var list []scoring.Learner
	if err := book.Merge(ctx, func(m record.Book) error { return plan.Fill(ctx, m, people, nil) }); err != nil {
		t.Fatal(err)
	}
	for _, p := range people {
		list = append(list, p.Learner)
	}
	return list
}

// review times the review of a class: the median of several, after one that warms up.
func review(t *testing.T, book record.Store, people []scoring.Learner) (time.Duration, int) {
	t.Helper()
	var took []time.Duration
	answers := 0
	for range 4 {
		start := time.Now()
		c, err := classes.Read(ctx, book, classes.Scope{Name: "all", People: people}, record.Filter{})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := c.Report("flag"); err != nil {
			t.Fatal(err)
		}
		took = append(took, time.Since(start))
		answers = 0
		for _, r := range c.Rows {
			answers += r.Answers
		}
	}
	took = took[1:]
	slices.Sort(took)
	return took[len(took)/2], answers
}

// peak is the most memory that the program had from the system while f ran, in MiB.
func peak(f func()) float64 {
	runtime.GC()
	stop, done := make(chan struct{}), make(chan uint64)
	go func() {
		var most uint64
		var m runtime.MemStats
		for {
			runtime.ReadMemStats(&m)
			most = max(most, m.HeapInuse+m.StackInuse)
			select {
			case <-stop:
				done <- most
				return
			case <-time.After(20 * time.Millisecond):
			}
		}
	}()
	f()
	close(stop)
	return float64(<-done) / (1 << 20)
}

// The figures of the README, both engines in one run: appends by 1, 8 and 32 writers, the
// review of a large class, and that of a class of 30 with and without the answers of others
// in its book.
func TestNumbers(t *testing.T) {
	heavy(t)
	s := postgrestest.New(t, "shared_buffers=256MB")
	file := openFile(t, filepath.Join(t.TempDir(), "book.db"))
	base := open(t, s.Database(t))
	for _, writers := range []int{1, 8, 32} {
		for _, b := range []struct {
			name string
			book record.Store
		}{{"a file", file}, {"a database", base}} {
			t.Logf("appends by %d writers into %s: %.0f a second", writers, b.name, appends(t, b.book, writers))
		}
	}

	others := planOf(t, learnersAsked(), 7)
	many := fill(t, file, others, "")
	small := planOf(t, 30, 8)
	few := fill(t, file, small, "Class ")
	full := open(t, s.Database(t))
	start := time.Now()
	if err := full.CopyFrom(ctx, file.Book, func(int, int) {}); err != nil {
		t.Fatal(err)
	}
	t.Logf("copied in %v", time.Since(start))
	s.Exec(t, "postgres", "CHECKPOINT")

	var byFile, byBase time.Duration
	var n int
	inFile := peak(func() { byFile, n = review(t, file, many) })
	inBase := peak(func() { byBase, _ = review(t, full, many) })
	t.Logf("review of %d learners, %d answers: %v from a file (%.0f MiB), %v from a database (%.0f MiB), ratio %.2f",
		len(many), n, byFile, inFile, byBase, inBase, byBase.Seconds()/byFile.Seconds())
	// A class of 30 in that book, and in a book of its own.
	own := open(t, s.Database(t))
	alone := fill(t, own, small, "Class ")
	among, _ := review(t, full, few)
	apart, _ := review(t, own, alone)
	t.Logf("review of a class of 30: %v in a book with the answers of others, %v in a book of its own, ratio %.2f", among, apart, among.Seconds()/apart.Seconds())

	start = time.Now()
	count := 0
	streamed := peak(func() {
		for _, err := range full.Attempts(ctx, record.Filter{Silent: true}) {
			if err != nil {
				t.Fatal(err)
			}
			count++
		}
	})
	t.Logf("reading %d answers whole, one after another: %v, %.0f MiB", count, time.Since(start), streamed)
	if streamed > 300 || inBase > 300+inFile {
		t.Errorf("reading takes %.0f MiB, a review %.0f MiB", streamed, inBase)
	}
	start = time.Now()
	for range full.Attempts(ctx, record.Filter{Silent: true}) {
		break
	}
	t.Logf("the first of them alone: %v", time.Since(start))
}

// appends is how many answers a second so many writers get acknowledged, for two seconds.
func appends(t *testing.T, book record.Store, writers int) float64 {
	t.Helper()
	sittings := make([]scoring.Sitting, writers)
	for n := range sittings {
		sittings[n] = recordtest.Begin(t, book, recordtest.Person(t, book, fmt.Sprintf("Writer %d of %d", n, writers)), n+100*writers)
	}
	var all sync.WaitGroup
	counts := make([]int, writers)
	start := time.Now()
	for n, s := range sittings {
		all.Go(func() {
			for time.Since(start) < 2*time.Second {
				if err := book.Append(ctx, recordtest.Plain(s, counts[n])); err != nil {
					t.Error(err)
					return
				}
				counts[n]++
			}
		})
	}
	all.Wait()
	total := 0
	for _, c := range counts {
		total += c
	}
	return float64(total) / time.Since(start).Seconds()
}
