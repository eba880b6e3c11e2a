package sqlite_test

import (
	"errors"
	"path/filepath"
	"sync"
	"testing"

	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
)

// Answers that come at once go to the disk together: each is acknowledged, those that
// are not as they should be are refused alone, and all of it is there after a restart.
func TestAnswersThatComeAtOnceGoTogether(t *testing.T) {
	const people, answers = 40, 10
	path := filepath.Join(t.TempDir(), "book.db")
	book := open(t, path)
	l := recordtest.Person(t, book, "Ada Finch")
	ended := recordtest.Begin(t, book, l, people+1)
	if err := book.EndSitting(ctx, ended.ID, recordtest.Noon, false); err != nil {
		t.Fatal(err)
	}
	var all sync.WaitGroup
	for p := range people {
		s := recordtest.Begin(t, book, l, p)
		all.Go(func() {
			for n := range answers {
				if err := book.Append(ctx, recordtest.Plain(s, n)); err != nil {
					t.Errorf("a sound answer: %v", err)
				}
				bad := recordtest.Plain(ended, n)
				if err := book.Append(ctx, bad); !errors.Is(err, record.ErrEnded) {
					t.Errorf("an answer to an ended sitting: %v", err)
				}
				if n > 0 {
					bad := recordtest.Plain(s, n)
					bad.Answer.Tab = "another"
					if err := book.Append(ctx, bad); !errors.Is(err, record.ErrTaken) {
						t.Errorf("another answer to the same trial: %v", err)
					}
				}
			}
		})
	}
	all.Wait()
	if err := book.Close(); err != nil {
		t.Fatal(err)
	}
	book = open(t, path)
	defer book.Close()
	if n := len(recordtest.All(t, book, record.Filter{})); n != people*answers {
		t.Errorf("%d answers in the book, want %d", n, people*answers)
	}
	if err := book.Whole(ctx, record.Filter{}); err != nil {
		t.Error(err)
	}
}

// BenchmarkTogether is many who answer at once.
func BenchmarkTogether(b *testing.B) {
	book := open(b, filepath.Join(b.TempDir(), "book.db"))
	defer book.Close()
	l := recordtest.Person(b, book, "Ada Finch")
	b.SetParallelism(32)
	var mu sync.Mutex
	minutes := 0
	b.RunParallel(func(pb *testing.PB) {
		mu.Lock()
		minutes++
		s := recordtest.Begin(b, book, l, minutes)
		mu.Unlock()
		for n := 0; pb.Next(); n++ {
			if err := book.Append(ctx, recordtest.Plain(s, n)); err != nil {
				b.Fatal(err)
			}
		}
	})
}
