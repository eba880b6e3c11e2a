//go:build endtoend

package web_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"net/http"
	"net/http/httptest"
	"os/exec"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/coder/websocket"

	"shadedrill/colour"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/display"
	"shadedrill/trainer/web"
)

// browser is a Chromium without a window, told what to do over its debugging socket.
type browser struct {
	t    *testing.T
	conn *websocket.Conn
	id   int
}

func openBrowser(t *testing.T, width, height int, ratio float64, touch bool) *browser {
	t.Helper()
	ctx, stop := context.WithTimeout(context.Background(), 4*time.Minute)
	cmd := exec.CommandContext(ctx, "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--hide-scrollbars", "--remote-debugging-port=0", "--user-data-dir="+t.TempDir(), "about:blank")
	said, err := cmd.StderrPipe()
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { stop(); cmd.Wait() })
	var seen []byte
	address := regexp.MustCompile(`ws://127\.0\.0\.1:(\d+)/`)
	for buf := make([]byte, 1024); !address.Match(seen); {
		n, err := said.Read(buf)
		if seen = append(seen, buf[:n]...); err != nil {
			t.Fatalf("%v\n%s", err, seen)
		}
	}
	go func() { // so that it is not held up by what it says
		for buf := make([]byte, 1024); ; {
			if _, err := said.Read(buf); err != nil {
				return
			}
		}
	}()
	answer, err := http.Get("http://127.0.0.1:" + string(address.FindSubmatch(seen)[1]) + "/json/list")
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	var pages []struct{ Type, WebSocketDebuggerURL string }
	if err := json.NewDecoder(answer.Body).Decode(&pages); err != nil || len(pages) == 0 {
		t.Fatalf("%v %v", err, pages)
	}
	b := &browser{t: t}
	if b.conn, _, err = websocket.Dial(ctx, pages[0].WebSocketDebuggerURL, nil); err != nil {
		t.Fatal(err)
	}
	b.conn.SetReadLimit(1 << 26)
	b.do("Emulation.setDeviceMetricsOverride", fmt.Sprintf(`{"width":%d,"height":%d,"deviceScaleFactor":%g,"mobile":%v}`, width, height, ratio, touch))
	b.do("Emulation.setTouchEmulationEnabled", fmt.Sprintf(`{"enabled":%v}`, touch))
	return b
}

// do gives an order and returns what it gave back.
func (b *browser) do(method, parameters string) json.RawMessage {
	b.t.Helper()
	b.id++
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	if err := b.conn.Write(ctx, websocket.MessageText, fmt.Appendf(nil, `{"id":%d,"method":%q,"params":%s}`, b.id, method, parameters)); err != nil {
		b.t.Fatal(err)
	}
	for {
		_, text, err := b.conn.Read(ctx)
		if err != nil {
			b.t.Fatal(err)
		}
		var got struct {
			ID     int
			Result json.RawMessage
			Error  json.RawMessage
		}
		if json.Unmarshal(text, &got); got.ID == b.id {
			if got.Error != nil {
				b.t.Fatalf("%s: %s", method, got.Error)
			}
			return got.Result
		}
	}
}

// eval is the value of an expression on the page, as text.
func (b *browser) eval(expression string) string {
	b.t.Helper()
	quoted, _ := json.Marshal(expression)
	var got struct {
		Result           struct{ Value any }
		ExceptionDetails json.RawMessage
	}
	json.Unmarshal(b.do("Runtime.evaluate", fmt.Sprintf(`{"expression":%s,"returnByValue":true,"userGesture":true}`, quoted)), &got)
	if got.ExceptionDetails != nil {
		b.t.Fatalf("%s: %s", expression, got.ExceptionDetails)
	}
	return fmt.Sprint(got.Result.Value)
}

func (b *browser) until(what, expression string) {
	b.t.Helper()
	for start := time.Now(); b.eval(expression) != "true"; time.Sleep(10 * time.Millisecond) {
		if time.Since(start) > late {
			b.t.Fatalf("%s: never; the page says %q", what, b.eval("document.getElementById('said')?.textContent"))
		}
	}
}

// says waits until the page has told a text to who listens to it.
func (b *browser) says(text string) {
	b.t.Helper()
	b.until(text, fmt.Sprintf("!!document.getElementById('said')?.textContent.includes(%q) && document.getElementById('notice').hidden", text))
}

var codes = map[string]string{"Enter": "13", "ArrowLeft": "37", "ArrowRight": "39"}

func (b *browser) key(name string) {
	b.t.Helper()
	for _, kind := range []string{"rawKeyDown", "keyUp"} {
		b.do("Input.dispatchKeyEvent", fmt.Sprintf(`{"type":%q,"key":%q,"code":%q,"windowsVirtualKeyCode":%s}`, kind, name, name, codes[name]))
	}
}

// tap touches the middle of the button for a key.
func (b *browser) tap(sign string) {
	b.t.Helper()
	at := b.eval(fmt.Sprintf(`(() => { const r = [...document.querySelectorAll('#keys button')].find(b => b.querySelector('b').textContent === %q).getBoundingClientRect();
		return Math.round(r.x + r.width / 2) + "," + Math.round(r.y + r.height / 2) })()`, sign))
	x, y, _ := strings.Cut(at, ",")
	b.do("Input.dispatchTouchEvent", fmt.Sprintf(`{"type":"touchStart","touchPoints":[{"x":%s,"y":%s}]}`, x, y))
	b.do("Input.dispatchTouchEvent", `{"type":"touchEnd","touchPoints":[]}`)
}

// picture is what the browser would put on the screen.
func (b *browser) picture() image.Image {
	b.t.Helper()
	var got struct{ Data string }
	json.Unmarshal(b.do("Page.captureScreenshot", `{"format":"png"}`), &got)
	raw, err := base64.StdEncoding.DecodeString(got.Data)
	if err != nil {
		b.t.Fatal(err)
	}
	m, err := png.Decode(bytes.NewReader(raw))
	if err != nil {
		b.t.Fatal(err)
	}
	return m
}

func at(m image.Image, x, y int) colour.SRGB {
	r, g, b, _ := m.At(x, y).RGBA()
	return colour.SRGB{R: uint8(r >> 8), G: uint8(g >> 8), B: uint8(b >> 8)}
}

// field are the two patches: at the left and right of the middle of the picture, in
// the row where most is coloured.
func field(m image.Image, height int) (left, right colour.SRGB) {
	w := m.Bounds().Dx()
	y := height / 5
	return at(m, w/2-w/20, y), at(m, w/2+w/20, y)
}

// onPage serves a trainer and its page, and counts what the page weighs.
func onPage(t *testing.T, cfg trainer.Config) (address string, book record.Book, screen *web.Screen, weight *int, cut func()) {
	book, screen, weight = record.NewMemory(), web.New(web.Options{}), new(int)
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
	return server.URL, book, screen, weight, func() { screen.Cut(websocket.StatusGoingAway, "the network is cut") }
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
			address, book, screen, weight, cut := onPage(t, drilling(trials))
			b := openBrowser(t, c.width, c.height, c.ratio, c.touch)
			if c.forced {
				b.do("Emulation.setEmulatedMedia", `{"features":[{"name":"forced-colors","value":"active"}]}`)
			}
			b.do("Page.navigate", fmt.Sprintf(`{"url":%q}`, address))
			b.says("50 trials")
			quick := b.key
			if c.touch {
				quick = func(key string) {
					b.tap(map[string]string{"Enter": "↵", "ArrowLeft": "←", "ArrowRight": "→"}[key])
				}
			}
			press := func(key string) {
				time.Sleep(900 * time.Millisecond) // as a person looks
				quick(key)
			}
			height := int(float64(c.height) * c.ratio)
			if c.touch {
				height = height * 46 / 100
			}
			press("Enter")
			var lefts, rights []colour.SRGB
			for n := 1; n <= trials; n++ {
				b.says(fmt.Sprintf("trial %d of %d", n, trials))
				b.says("Step 1 of 2")
				if n == 10 {
					cut()
					b.until("the notice", "!document.getElementById('notice').hidden")
					b.says("Step 1 of 2")
				}
				press([]string{"ArrowLeft", "ArrowRight"}[n%2])
				press("Enter")
				for b.eval("document.getElementById('said').textContent.includes('Step 2 of 2')") != "true" {
					time.Sleep(20 * time.Millisecond)
				}
				left, right := field(b.picture(), height)
				lefts, rights = append(lefts, left), append(rights, right)
				press("Enter")
				b.says("answered")
				press("Enter")
			}
			b.says("summary")
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
