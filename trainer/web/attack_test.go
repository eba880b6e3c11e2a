package web_test

import (
	"context"
	"errors"
	"net/http"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/coder/websocket"

	"shadedrill/trainer"
	"shadedrill/trainer/web"
	"shadedrill/trainer/web/webtest"
)

// Messages that no page sends close the socket; the trainer goes on.
func TestWhatNoPageSends(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	big := make([]byte, 4096)
	big[0] = 8
	for name, send := range map[string][]byte{
		"nothing":                     {},
		"an unknown kind":             {99},
		"a second hello":              webtest.Hello(80, 24),
		"a key that is cut off":       {2, 0, 0, 0, 1},
		"a key without a name":        {2, 0, 0, 0, 1, 0},
		"a key with a control sign":   webtest.KeyOn(1, "\x03"),
		"a key of two signs":          webtest.KeyOn(1, "ab"),
		"a key that is no text":       webtest.KeyOn(1, "\xff"),
		"a key on a picture to come":  webtest.KeyOn(1<<30, "a"),
		"a mouse far outside":         webtest.MouseOn(1, 1, 60000, 3),
		"drawn what was never sent":   webtest.Drawn(1 << 30),
		"an answer to no ping":        {6, 9, 9, 9, 9},
		"a size that is too long":     append(webtest.Size(80, 24), 0),
		"a display that is no object": append([]byte{8}, "[]"...),
		"a display with other words":  append([]byte{8}, `{"gamut":"<script>","range":"standard","read_back":"exact","pixel_ratio":1,"cell_width":8,"cell_height":16}`...),
		"a display with a note":       append([]byte{8}, `{"gamut":"srgb","range":"standard","read_back":"exact","pixel_ratio":1,"cell_width":8,"cell_height":16,"note":"x"}`...),
	} {
		t.Run(name, func(t *testing.T) {
			c := s.dial(webtest.Options{})
			until(t, c, "begin")
			if err := c.Send(send); err != nil {
				t.Fatal(err)
			}
			closedWith(t, c, websocket.StatusProtocolError)
		})
	}
	t.Run("too large", func(t *testing.T) {
		c := s.dial(webtest.Options{})
		until(t, c, "begin")
		c.Send(big)
		// What the server leaves unread resets the connection, which can overtake the reason.
		err := c.Closed(late)
		if code := websocket.CloseStatus(err); code != websocket.StatusMessageTooBig && !errors.Is(err, syscall.ECONNRESET) && !errors.Is(err, syscall.EPIPE) {
			t.Errorf("closed with %v, want StatusMessageTooBig or a reset", err)
		}
	})
	t.Run("a text", func(t *testing.T) {
		conn, _, err := websocket.Dial(context.Background(), s.address(), &websocket.DialOptions{HTTPHeader: fromPage})
		if err != nil {
			t.Fatal(err)
		}
		defer conn.CloseNow()
		conn.Write(context.Background(), websocket.MessageText, webtest.Hello(80, 24))
		if _, _, err := conn.Read(context.Background()); websocket.CloseStatus(err) != websocket.StatusProtocolError {
			t.Errorf("closed with %v", err)
		}
	})
	t.Run("no hello first", func(t *testing.T) {
		conn, _, err := websocket.Dial(context.Background(), s.address(), &websocket.DialOptions{HTTPHeader: fromPage})
		if err != nil {
			t.Fatal(err)
		}
		defer conn.CloseNow()
		conn.Write(context.Background(), websocket.MessageBinary, webtest.KeyOn(0, "q"))
		if _, _, err := conn.Read(context.Background()); websocket.CloseStatus(err) != websocket.StatusProtocolError {
			t.Errorf("closed with %v", err)
		}
	})
	c := s.dial(webtest.Options{})
	until(t, c, "4 trials", "begin")
}

// Sizes are brought to what can be shown, whatever is asked for.
func TestSizesAreHeld(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	for _, size := range [][4]int{{1, 1, 80, 24}, {1, 65535, 80, 50}, {65535, 65535, 160, 50}, {100, 30, 100, 30}} {
		c := s.dial(webtest.Options{W: size[0], H: size[1]})
		if err := c.Until(late, func(p *webtest.Picture) bool { return p.W == size[2] && p.H == size[3] }); err != nil {
			t.Errorf("%v: %v", size, err)
		}
		c.Cut()
	}
}

// A thousand sizes in a second are twenty pictures, and the last one counts.
func TestAThousandSizes(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	c := s.dial(webtest.Options{})
	until(t, c, "begin")
	start := time.Now()
	for i := range 1000 {
		if err := c.Send(webtest.Size(80+i%80, 24+i%26)); err != nil {
			t.Fatal(err)
		}
		time.Sleep(500 * time.Microsecond)
	}
	c.Send(webtest.Size(132, 44))
	if err := c.Until(late, func(p *webtest.Picture) bool { return p.W == 132 && p.H == 44 && p.Shows("begin") }); err != nil {
		t.Fatal(err)
	}
	most := int(time.Since(start)/(50*time.Millisecond)) + 4
	if got := s.screen.Stats().Pictures; got > most {
		t.Errorf("%d pictures for a thousand sizes in %v", got, time.Since(start))
	}
}

// A page that draws slowly gets the latest picture, not all of them, and holds
// nobody up.
func TestASlowPageGetsTheLatest(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	c := s.dial(webtest.Options{Lazy: true})
	until(t, c, "begin")
	on := c.Number()
	s.ahead.Add(int64(2 * time.Second)) // the picture can have been seen
	c.Send(webtest.KeyOn(on, "enter"))
	c.Send(webtest.Drawn(on))
	until(t, c, "Step 1 of 2")
	on = c.Number()
	for range 200 {
		c.Send(webtest.KeyOn(on, "left"))
	}
	c.Send(webtest.KeyOn(on, "right"))
	c.Send(webtest.KeyOn(on, "?"))
	for start := time.Now(); s.screen.Stats().Inputs < 203; time.Sleep(time.Millisecond) {
		if time.Since(start) > late {
			t.Fatalf("the trainer waits for the page: %+v", s.screen.Stats())
		}
	}
	if n := c.Number(); n != on {
		t.Errorf("picture %d came while %d was not drawn", n, on)
	}
	c.Send(webtest.Drawn(on))
	if c.Until(5*time.Second, func(p *webtest.Picture) bool { return p.Shows("Help") }) != nil { // it was not drawn yet
		c.Send(webtest.Drawn(on + 1))
		until(t, c, "Help")
	}
	if n := c.Number(); n > on+2 {
		t.Errorf("%d pictures for a page that wants one", n-on)
	}
}

// Who opens a socket and says nothing, or never draws, is let go.
func TestWhoSaysNothing(t *testing.T) {
	if testing.Short() {
		t.Skip("takes the seconds that a page is given")
	}
	s := serve(t, drilling(4), web.Options{})
	start := time.Now()
	conn, _, err := websocket.Dial(context.Background(), s.address(), &websocket.DialOptions{HTTPHeader: fromPage})
	if err != nil {
		t.Fatal(err)
	}
	defer conn.CloseNow()
	lazy := s.dial(webtest.Options{Lazy: true})
	if _, _, err := conn.Read(context.Background()); err == nil || time.Since(start) > 5*time.Second+late {
		t.Errorf("a socket without a word: %v after %v", err, time.Since(start))
	}
	closedWith(t, lazy, websocket.StatusPolicyViolation)
	if d := time.Since(start); d > 10*time.Second+late {
		t.Errorf("a page that never draws was let go after %v", d)
	}
}

// A page that reads nothing at all takes no memory, and the trainer goes on.
func TestWhoReadsNothing(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	conn, _, err := websocket.Dial(context.Background(), s.address(), &websocket.DialOptions{HTTPHeader: fromPage})
	if err != nil {
		t.Fatal(err)
	}
	defer conn.CloseNow()
	conn.Write(context.Background(), websocket.MessageBinary, webtest.Hello(160, 50))
	for start := time.Now(); s.screen.Stats().Pictures == 0; time.Sleep(time.Millisecond) {
		if time.Since(start) > late {
			t.Fatal("no picture was made")
		}
	}
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	for i := range 500 {
		conn.Write(context.Background(), websocket.MessageBinary, webtest.Size(80+i%80, 24+i%26))
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	if grown := int64(after.HeapAlloc) - int64(before.HeapAlloc); grown > 2<<20 {
		t.Errorf("the heap grew by %d bytes", grown)
	}
	if s := s.screen.Stats(); s.Pictures > 1 {
		t.Errorf("%d pictures were made for a page that has drawn none", s.Pictures)
	}
}

// A window that sends something in the very moment in which another takes over is told
// all the same: who is not told comes back, and the two take it from each other for ever.
func TestAWindowThatSendsWhileItIsLetGoOfIsTold(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	first := s.dial(webtest.Options{})
	for range 30 {
		until(t, first, "begin")
		go func(c *webtest.Client) {
			for c.Send(webtest.Size(100, 30)) == nil {
				time.Sleep(20 * time.Microsecond)
			}
		}(first)
		second := s.dial(webtest.Options{})
		closedWith(t, first, web.CloseTaken)
		first = second
	}
}

// A second window takes over and the first is told.
func TestASecondWindow(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	first := s.dial(webtest.Options{})
	until(t, first, "begin")
	s.press(first, "enter")
	until(t, first, "Step 1 of 2")
	on := first.Number()
	second := s.dial(webtest.Options{})
	until(t, second, "Step 1 of 2")
	closedWith(t, first, web.CloseTaken)
	// What was pressed for the first window is not for the second.
	if err := second.Send(webtest.KeyOn(on, "enter")); err != nil {
		t.Fatal(err)
	}
	if err := second.Until(late, func(p *webtest.Picture) bool { return p.Refused == 1 }); err != nil {
		t.Fatal(err)
	}
	s.press(second, "enter")
	until(t, second, "Step 2 of 2")
}

// Another site, and who names none, gets no socket.
func TestOnlyItsOwnOrigin(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	for _, origin := range []string{"", "null", "http://class.example.evil.example", "https://class.example", "http://evil.example"} {
		header := http.Header{}
		if origin != "" {
			header.Set("Origin", origin)
		}
		conn, answer, err := websocket.Dial(context.Background(), s.address(), &websocket.DialOptions{HTTPHeader: header})
		if err == nil {
			conn.CloseNow()
		}
		if err == nil || answer == nil || answer.StatusCode != http.StatusForbidden {
			t.Errorf("origin %q: %v", origin, err)
		}
	}
	if s.screen.Stats().Links != 0 {
		t.Error("another site was connected")
	}
}

// Without a page for long the trainer ends, and the drill waits in the book.
func TestNobodyComesBack(t *testing.T) {
	s := serve(t, drilling(4), web.Options{Keep: 3 * time.Second}) // long enough for a busy machine to bring the page
	c := s.dial(webtest.Options{})
	until(t, c, "begin")
	s.press(c, "enter")
	until(t, c, "Step 1 of 2")
	c.Cut()
	select {
	case err := <-s.ran:
		if !errors.Is(err, trainer.ErrGone) {
			t.Errorf("the trainer ended with %v", err)
		}
		s.ran <- nil
	case <-time.After(late):
		t.Fatal("the trainer goes on for nobody")
	}
	if !s.screen.Ended() {
		t.Error("the screen has not ended")
	}
	late := s.dial(webtest.Options{})
	closedWith(t, late, web.CloseEnded)
}

// A trainer that is left tells the page so; a server that stops says to come back.
func TestGoodbye(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	c := s.dial(webtest.Options{})
	until(t, c, "begin")
	s.screen.Goodbye(websocket.StatusGoingAway, "the server stops")
	s.press(c, "q")
	until(t, c, "Value first", "Settings")
	s.press(c, "q")
	closedWith(t, c, websocket.StatusGoingAway)
}

// The clocks of a trial stand still without a page.
func TestTimeStandsStillWithoutAPage(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	c := s.dial(webtest.Options{})
	until(t, c, "begin")
	s.press(c, "enter")
	until(t, c, "Step 1 of 2")
	c.Cut()
	for s.screen.Watched() {
		time.Sleep(time.Millisecond)
	}
	s.ahead.Add(int64(time.Minute))
	c = s.dial(webtest.Options{})
	until(t, c, "Step 1 of 2")
	s.press(c, "enter")
	until(t, c, "Step 2 of 2")
	s.press(c, "enter")
	until(t, c, "answered")
	if a := attempts(t, s.book); len(a) != 1 || a[0].Answer.Total > 30*time.Second { // two calm keys
		t.Errorf("an answer that took %v, with a minute without a page", a[0].Answer.Total)
	}
}

// Pages that come and go, by the dozen, leave nothing behind.
func TestNothingIsLeftBehind(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	c := s.dial(webtest.Options{})
	until(t, c, "begin")
	before := runtime.NumGoroutine()
	for i := range 60 {
		last := c
		c = s.dial(webtest.Options{W: 80 + i, H: 24})
		until(t, c, "begin")
		last.Closed(late)
		if i%3 == 0 {
			c.Cut()
		}
	}
	c = s.dial(webtest.Options{})
	until(t, c, "begin")
	for start := time.Now(); runtime.NumGoroutine() > before+2; time.Sleep(10 * time.Millisecond) {
		if time.Since(start) > late {
			t.Fatalf("%d goroutines, before %d", runtime.NumGoroutine(), before)
		}
	}
}

// A name as hostile as it gets reaches the page as text, and breaks no cell.
func TestHostileName(t *testing.T) {
	cfg := drilling(4)
	cfg.Start = nil
	cfg.Learner = "<b>\u202e" + strings.Repeat("é\u0301\u0302", 8) + "𝄞漢字👩‍👩‍👧" + strings.Repeat("\u0300", 60)
	s := serve(t, cfg, web.Options{})
	c := s.dial(webtest.Options{})
	until(t, c, "shadedrill")
	err := c.Until(late, func(p *webtest.Picture) bool {
		for _, cell := range p.Cells {
			if len(cell.Text) > 32 || strings.ContainsAny(cell.Text, "\x1b\n\r\x00") {
				t.Errorf("a cell holds %q", cell.Text)
			}
		}
		return true
	})
	if err != nil {
		t.Error(err)
	}
}
