package web_test

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/coder/websocket"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/display"
	"shadedrill/trainer/web"
	"shadedrill/trainer/web/webtest"
)

// late is how long a test waits for what should come at once.
const late = 20 * time.Second

// serving is one trainer behind a socket on this machine.
type serving struct {
	t      *testing.T
	screen *web.Screen
	server *httptest.Server
	book   record.Book
	ran    chan error
	ahead  atomic.Int64 // by how much the clock is ahead of the machine's
}

// now is the clock of the trainer and its screen.
func (s *serving) now() time.Time { return time.Now().Add(time.Duration(s.ahead.Load())) }

// drilling is a value-first drill without pauses.
func drilling(count int) trainer.Config {
	seed := uint64(11)
	viewing := exercises.DefaultViewing()
	viewing.Rest, viewing.Limit = 0, 0
	return trainer.Config{Seed: &seed, Count: count, Viewing: &viewing, Start: &exercises.Setup{Kind: exercises.ValueFirst}}
}

func serve(t *testing.T, cfg trainer.Config, o web.Options) *serving {
	t.Helper()
	s := &serving{t: t, ran: make(chan error, 1), book: record.NewMemory()}
	o.Clock, cfg.Clock = s.now, s.now
	s.screen = web.New(o)
	cfg.Book, cfg.System, cfg.SkipWelcome, cfg.SkipDisplay = s.book, display.Browser, true, true
	if cfg.Learner == "" {
		cfg.Learner = "Ada Invented"
	}
	s.server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		conn, err := web.Accept(w, r, "http://class.example")
		if err != nil {
			return
		}
		s.screen.Serve(r.Context(), conn)
	}))
	ctx, stop := context.WithCancelCause(context.Background())
	go func() { s.ran <- trainer.Run(ctx, s.screen, cfg) }()
	t.Cleanup(func() {
		stop(errors.New("the test is over"))
		select {
		case <-s.ran:
		case <-time.After(late):
			t.Error("the trainer does not end")
		}
		s.server.CloseClientConnections()
		s.server.Close()
	})
	return s
}

func (s *serving) address() string { return "ws" + strings.TrimPrefix(s.server.URL, "http") }

var fromPage = http.Header{"Origin": {"http://class.example"}}

func (s *serving) dial(o webtest.Options) *webtest.Client {
	s.t.Helper()
	o.Header = fromPage
	c, err := webtest.Dial(context.Background(), s.address(), o)
	if err != nil {
		s.t.Fatal(err)
	}
	s.t.Cleanup(c.Cut)
	return c
}

// until waits for texts on a page.
func until(t *testing.T, c *webtest.Client, texts ...string) {
	t.Helper()
	err := c.Until(late, func(p *webtest.Picture) bool {
		for _, text := range texts {
			if !p.Shows(text) {
				return false
			}
		}
		return true
	})
	if err != nil {
		t.Fatalf("waiting for %q: %v", texts, err)
	}
}

// press presses keys as a person does: not before the picture can have been seen, and
// the same key not as one that is held down. The clock is set forward by as much.
func (s *serving) press(c *webtest.Client, names ...string) {
	t := s.t
	t.Helper()
	s.ahead.Add(int64(2 * time.Second))
	if err := c.Press(names...); err != nil {
		t.Fatal(err)
	}
}

func attempts(t *testing.T, b record.Book) []scoring.Attempt {
	t.Helper()
	var list []scoring.Attempt
	for a, err := range b.Attempts(context.Background(), record.Filter{}) {
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, a)
	}
	return list
}

// closedWith fails unless a socket is closed with a code.
func closedWith(t *testing.T, c *webtest.Client, code websocket.StatusCode) {
	t.Helper()
	if err := c.Closed(late); websocket.CloseStatus(err) != code {
		t.Errorf("closed with %v, want %v", err, code)
	}
}
