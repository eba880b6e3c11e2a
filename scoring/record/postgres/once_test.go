//go:build unix

package postgres_test

import (
	"bytes"
	"fmt"
	"io"
	"net"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres/postgrestest"
	"shadedrill/scoring/record/recordtest"
)

// wire is a network between a server and its database that can be cut.
type wire struct {
	listener net.Listener
	to       string
	// swallow is how many answers to a commit are still to be lost: the commit goes
	// through, what the database says to it does not, and the connection is gone.
	swallow atomic.Int32
	lost    atomic.Int32
	// sent is how often something was sent to the database, wait what each takes on its
	// way there; with mute nothing arrives, and nobody is told.
	sent atomic.Int32
	wait atomic.Int64
	mute atomic.Bool
	mu   sync.Mutex
	open []net.Conn
	cut  bool
}

func newWire(t *testing.T, to string) *wire {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	w := &wire{listener: l, to: to}
	t.Cleanup(func() { l.Close(); w.sever() })
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go w.carry(c)
		}
	}()
	return w
}

func (w *wire) carry(client net.Conn) {
	defer client.Close()
	server, err := net.Dial("tcp", w.to)
	if err != nil {
		return
	}
	defer server.Close()
	w.mu.Lock()
	if w.cut {
		w.mu.Unlock()
		return
	}
	w.open = append(w.open, client, server)
	w.mu.Unlock()
	go func() {
		buffer := make([]byte, 64<<10)
		for {
			n, err := client.Read(buffer)
			w.sent.Add(1)
			time.Sleep(time.Duration(w.wait.Load()))
			if n > 0 && !w.mute.Load() {
				if _, err := server.Write(buffer[:n]); err != nil {
					return
				}
			}
			if err != nil {
				server.Close()
				return
			}
		}
	}()
	buffer := make([]byte, 64<<10)
	for {
		n, err := server.Read(buffer)
		if bytes.Contains(buffer[:n], []byte("COMMIT\x00")) && w.swallow.Add(-1) >= 0 {
			w.lost.Add(1)
			return
		}
		if n > 0 {
			if _, err := client.Write(buffer[:n]); err != nil {
				return
			}
		}
		if err != nil {
			if err != io.EOF {
				return
			}
			return
		}
	}
}

// sever ends all connections and takes none until mend.
func (w *wire) sever() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.cut = true
	for _, c := range w.open {
		c.Close()
	}
	w.open = nil
}

func (w *wire) mend() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.cut = false
}

// throughWire is a database that is reached through a wire.
func throughWire(t *testing.T) (direct, through string, w *wire) {
	direct = postgrestest.Address(t)
	database := strings.TrimPrefix(direct[:strings.Index(direct, "?")], "postgres://owner@/")
	port := direct[strings.LastIndex(direct, "=")+1:]
	w = newWire(t, "127.0.0.1:"+port)
	return direct, fmt.Sprintf("postgres://owner@%s/%s?sslmode=disable", w.listener.Addr(), database), w
}

// The answer to a commit is lost on the way, the commit is not. Whatever is written is
// written once, and whoever wrote it is told that it is.
func TestCommitWhoseAnswerIsLost(t *testing.T) {
	_, through, w := throughWire(t)
	book := open(t, through)
	ada, bo := recordtest.Person(t, book, "Ada Finch"), recordtest.Person(t, book, "Bo Reed")
	class := recordtest.Class(t, book, "Autumn", ada)
	s := recordtest.Begin(t, book, ada, 0)
	var later scoring.Sitting
	losing := func(what string, f func() error) {
		t.Helper()
		before := w.lost.Load()
		w.swallow.Store(1)
		if err := f(); err != nil {
			t.Errorf("%s: %v", what, err)
		}
		if w.lost.Load() != before+1 {
			t.Errorf("%s: no answer was lost, so nothing is shown", what)
		}
		w.swallow.Store(0)
	}
	losing("an answer", func() error { return book.Append(ctx, recordtest.Plain(s, 0)) })
	losing("another answer", func() error { return book.Append(ctx, recordtest.Plain(s, 1)) })
	losing("a sitting", func() error {
		later = scoring.Sitting{ID: "later", Learner: ada.ID, Started: recordtest.Noon, Setup: s.Setup}
		return book.StartSitting(ctx, later)
	})
	losing("a person", func() error {
		_, err := book.AddLearner(ctx, scoring.Learner{Name: "Cy Moss", At: recordtest.Noon})
		return err
	})
	losing("what was done", func() error {
		return book.WriteServed(ctx, record.Served{At: recordtest.Noon, What: "something", Class: class.ID})
	})
	losing("a roster", func() error { return book.Enrol(ctx, class.ID, bo.ID, recordtest.Noon) })
	losing("off a roster", func() error { return book.Unenrol(ctx, class.ID, bo.ID, recordtest.Noon) })
	losing("an import", func() error {
		return book.Merge(ctx, func(m record.Book) error {
			for n := range 3 {
				if err := m.Append(ctx, recordtest.Plain(later, n)); err != nil {
					return err
				}
			}
			return nil
		})
	})
	losing("the end of a sitting", func() error { return book.EndSitting(ctx, s.ID, recordtest.Noon, false) })
	losing("an erasure", func() error { return book.EraseLearner(ctx, bo.ID, recordtest.Noon) })

	people, err := book.Learners(ctx)
	if err != nil || len(people) != 2 {
		t.Errorf("%d people, %v", len(people), err)
	}
	if got := recordtest.All(t, book, record.Filter{}); len(got) != 5 {
		t.Errorf("%d answers, want 5", len(got))
	}
	if done, err := book.ServedIn(ctx, class.ID); err != nil || len(done) != 1 {
		t.Errorf("%d things were done, %v", len(done), err)
	}
	if deeds, err := book.Deeds(ctx); err != nil || len(deeds) != 1 {
		t.Errorf("%d deeds, %v", len(deeds), err)
	}
	if err := book.Whole(ctx, record.Filter{}); err != nil {
		t.Error(err)
	}
}

// The network is cut and comes back: whoever answers waits, and the answer is kept once.
func TestCutAndMended(t *testing.T) {
	_, through, w := throughWire(t)
	book := open(t, through)
	s := recordtest.Begin(t, book, recordtest.Person(t, book, "Ada Finch"), 0)
	if err := book.Append(ctx, recordtest.Plain(s, 0)); err != nil {
		t.Fatal(err)
	}
	w.sever()
	done := make(chan error, 1)
	go func() { done <- book.Append(ctx, recordtest.Plain(s, 1)) }()
	select {
	case err := <-done:
		t.Fatalf("an answer is acknowledged without a network: %v", err)
	case <-time.After(300 * time.Millisecond):
	}
	w.mend()
	if err := <-done; err != nil {
		t.Error(err)
	}
	if got := recordtest.All(t, book, record.Filter{}); len(got) != 2 {
		t.Errorf("%d answers, want 2", len(got))
	}
}

// Two servers write at once, into sittings of their own and into one that both have: each
// answer is there once, and the chains hold.
func TestEightWritersOnTwoServers(t *testing.T) {
	address := postgrestest.Address(t)
	books := []record.Store{open(t, address), open(t, address)}
	const each = 25
	ada := recordtest.Person(t, books[0], "Ada Finch")
	shared := recordtest.Begin(t, books[0], ada, 99)
	var all sync.WaitGroup
	var took atomic.Int32
	for n := range 8 {
		book := books[n%2]
		who := recordtest.Person(t, book, fmt.Sprint("Person ", n))
		own := recordtest.Begin(t, book, who, n)
		all.Go(func() {
			for i := range each {
				a := recordtest.Plain(own, i)
				a.Answer.Tab = fmt.Sprint("word ", n%4, " ", i) // new words, several at once
				if err := book.Append(ctx, a); err != nil {
					t.Errorf("its own: %v", err)
				}
				if err := book.Append(ctx, recordtest.Plain(shared, i)); err == nil {
					took.Add(1)
				} else {
					t.Errorf("the shared one: %v", err)
				}
			}
		})
	}
	all.Wait()
	if got := recordtest.All(t, books[1], record.Filter{}); len(got) != 9*each {
		t.Errorf("%d answers, want %d", len(got), 9*each)
	}
	for _, b := range books {
		if err := b.Whole(ctx, record.Filter{}); err != nil {
			t.Error(err)
		}
	}
}
