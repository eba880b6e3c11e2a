//go:build endtoend

package web_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"sync/atomic"
	"testing"
	"time"

	"github.com/coder/websocket"

	"shadedrill/colour"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/display"
	"shadedrill/trainer/web"
	"shadedrill/trainer/web/webtest"
)

// onPage serves a trainer and its page, counts what the page weighs, and has a clock
// that can be set ahead.
func onPage(t *testing.T, cfg trainer.Config) (address string, book record.Book, screen *web.Screen, weight *int, ahead *atomic.Int64, cut func()) {
	ahead = new(atomic.Int64)
	cfg.Clock = func() time.Time { return time.Now().Add(time.Duration(ahead.Load())) }
	book, screen, weight = record.NewMemory(), web.New(web.Options{Clock: cfg.Clock}), new(int)
	cfg.Book, cfg.System, cfg.SkipWelcome, cfg.SkipDisplay, cfg.Learner = book, display.Browser, true, true, "Ada Invented"
	var server *httptest.Server
	mux := http.NewServeMux()
	counted := func(h http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			c := httptest.NewRecorder()
			h.ServeHTTP(c, r)
			*weight += c.Body.Len()
			for k, v := range c.Header() {
				w.Header()[k] = v
			}
			w.WriteHeader(c.Code)
			w.Write(c.Body.Bytes())
		})
	}
	mux.Handle("GET /{$}", counted(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		web.Page{Socket: "/socket", Home: "/", Assets: "/assets/"}.Write(w)
	})))
	mux.Handle("GET /assets/", counted(http.StripPrefix("/assets/", web.Assets())))
	mux.HandleFunc("GET /socket", func(w http.ResponseWriter, r *http.Request) {
		if conn, err := web.Accept(w, r, server.URL); err == nil {
			screen.Serve(r.Context(), conn)
		}
	})
	server = httptest.NewServer(mux)
	ctx, stop := context.WithCancel(context.Background())
	ran := make(chan error, 1)
	go func() { ran <- trainer.Run(ctx, screen, cfg) }()
	t.Cleanup(func() { stop(); <-ran; server.CloseClientConnections(); server.Close() })
	return server.URL, book, screen, weight, ahead, func() { screen.Cut(websocket.StatusGoingAway, "the network is cut") }
}

// TestEndToEndPixels: the pixels of a drill's patches, in what the browser puts on the
// screen, are the bytes in the book, for 50 trials; by keys on a laptop and by touch on
// a telephone; the network is cut on the way.
func TestEndToEndPixels(t *testing.T) {
	const trials = 50
	for name, c := range map[string]struct {
		width, height int
		ratio         float64
		touch, forced bool
	}{
		"laptop":        {1280, 800, 1, false, false},
		"zoomed":        {1280, 800, 1.25, false, false},
		"telephone":     {390, 844, 3, true, false},
		"forced colour": {1280, 800, 1, false, true},
	} {
		t.Run(name, func(t *testing.T) {
			address, book, screen, weight, ahead, cut := onPage(t, drilling(trials))
			b := webtest.OpenChromium(t, c.width, c.height, c.ratio, c.touch)
			if c.forced {
				b.Do("Emulation.setEmulatedMedia", `{"features":[{"name":"forced-colors","value":"active"}]}`)
			}
			b.Do("Page.navigate", fmt.Sprintf(`{"url":%q}`, address))
			b.Says("50 trials")
			quick := b.Key
			if c.touch {
				quick = func(key string) {
					b.Tap(map[string]string{"Enter": "↵", "ArrowLeft": "←", "ArrowRight": "→"}[key])
				}
			}
			press := func(key string) {
				ahead.Add(int64(2 * time.Second)) // as a person looks
				quick(key)
			}
			height := c.height
			if c.touch {
				height = height * 46 / 100
			}
			press("Enter")
			var lefts, rights []colour.SRGB
			for n := 1; n <= trials; n++ {
				b.Says(fmt.Sprintf("trial %d of %d", n, trials))
				b.Says("Step 1 of 2")
				if n == 10 {
					cut()
					b.Until("the notice", "!document.getElementById('notice').hidden")
					b.Says("Step 1 of 2")
				}
				press([]string{"ArrowLeft", "ArrowRight"}[n%2])
				press("Enter")
				for b.Eval("document.getElementById('said').textContent.includes('Step 2 of 2')") != "true" {
					time.Sleep(20 * time.Millisecond)
				}
				left, right := b.Field(c.width, height)
				lefts, rights = append(lefts, left), append(rights, right)
				press("Enter")
				b.Says("answered")
				press("Enter")
			}
			b.Says("summary")
			got := attempts(t, book)
			if len(got) != trials {
				t.Fatalf("%d answers", len(got))
			}
			for i, a := range got {
				if a.Trial.Target != lefts[i] || *a.Answer.Colour != rights[i] {
					t.Errorf("trial %d: on the screen %v and %v, in the book %v and %v", i+1, lefts[i], rights[i], a.Trial.Target, *a.Answer.Colour)
				}
			}
			if shown, ok := screen.Shown(); !ok || shown.ReadBack != "exact" || shown.PixelRatio != c.ratio || shown.Touch != c.touch || shown.Forced != c.forced {
				t.Errorf("the page says %+v", shown)
			}
			if *weight > 60_000 {
				t.Errorf("the page weighs %d bytes", *weight)
			}
			t.Logf("the page weighs %d bytes; %+v; %+v", *weight, screen.Stats(), screen.Times())
		})
	}
}
