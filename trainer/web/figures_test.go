package web_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/coder/websocket"
	"github.com/gdamore/tcell/v2"

	"shadedrill/exercises"
	"shadedrill/trainer/web"
	"shadedrill/trainer/web/webtest"
)

// A whole page, of every exercise, is at most 8 kB at 120 × 36 characters.
func TestAWholePageIsSmall(t *testing.T) {
	for _, kind := range []exercises.KindID{exercises.ValueFirst, exercises.Halfway, exercises.LineUp, exercises.Thirds, exercises.TryIn,
		exercises.Whitening, exercises.Combination, exercises.Lighting, exercises.Bench} {
		t.Run(string(kind), func(t *testing.T) {
			cfg := drilling(4)
			cfg.Start.Kind = kind
			s := serve(t, cfg, web.Options{})
			var sizes []int // of the brief, the trial, what Enter brings
			for range 4 {
				c := s.dial(webtest.Options{W: 120, H: 36})
				if err := c.Until(late, func(p *webtest.Picture) bool { return p.W == 120 }); err != nil {
					t.Fatal(err)
				}
				_, _, bytes := c.Traffic()
				sizes = append(sizes, bytes)
				if bytes > 8000 {
					t.Errorf("a page of %d bytes", bytes)
				}
				s.press(c, "enter")
				c.Until(100*time.Millisecond, func(p *webtest.Picture) bool { return !p.Whole })
			}
			t.Log(sizes)
		})
	}
}

// What one more person costs here, with socket and picture, beside the trainer itself.
func TestMemoryOfAScreen(t *testing.T) {
	const people = 60
	heap := func() int64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.GC()
		runtime.ReadMemStats(&m)
		return int64(m.HeapAlloc + m.StackInuse)
	}
	screens := make(chan *web.Screen, 1)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if conn, err := web.Accept(w, r, "http://class.example"); err == nil {
			(<-screens).Serve(r.Context(), conn)
		}
	}))
	defer server.Close()
	var all []*web.Screen
	var sockets []*websocket.Conn
	before := heap()
	for range people {
		screen := web.New(web.Options{})
		all = append(all, screen)
		screens <- screen
		conn, _, err := websocket.Dial(context.Background(), "ws"+strings.TrimPrefix(server.URL, "http"), &websocket.DialOptions{HTTPHeader: fromPage})
		if err != nil {
			t.Fatal(err)
		}
		sockets = append(sockets, conn)
		conn.Write(context.Background(), websocket.MessageBinary, webtest.Hello(120, 36))
		if _, ok := screen.PollEvent().(*tcell.EventResize); !ok {
			t.Fatal("no size")
		}
		screen.Fill('x', tcell.StyleDefault)
		screen.Show()
		if _, _, err := conn.Read(context.Background()); err != nil {
			t.Fatal(err)
		}
	}
	each := (heap() - before) / people
	t.Logf("%d bytes a person, both ends of the socket", each)
	if each > 120_000 {
		t.Errorf("%d bytes a person", each)
	}
	for i, conn := range sockets {
		all[i].Fini()
		conn.CloseNow()
	}
}
