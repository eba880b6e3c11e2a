//go:build endtoend

package webtest

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"net/http"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/coder/websocket"

	"shadedrill/colour"
)

// chromiumLate is how long a page may take for what should come at once.
const chromiumLate = 30 * time.Second

// Chromium is a Chromium without a window, told what to do over its debugging socket.
type Chromium struct {
	t    *testing.T
	conn *websocket.Conn
	id   int
}

func OpenChromium(t *testing.T, width, height int, ratio float64, touch bool) *Chromium {
	t.Helper()
	profile, err := os.MkdirTemp("", "chromium")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithTimeout(context.Background(), 15*time.Minute)
	cmd := exec.CommandContext(ctx, "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--hide-scrollbars", "--remote-debugging-port=0", "--user-data-dir="+profile, "about:blank")
	said, err := cmd.StderrPipe()
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		stop()
		cmd.Wait()
		for range 50 { // its children go on writing for a moment
			if os.RemoveAll(profile) == nil {
				break
			}
			time.Sleep(100 * time.Millisecond)
		}
	})
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
	b := &Chromium{t: t}
	if b.conn, _, err = websocket.Dial(ctx, pages[0].WebSocketDebuggerURL, nil); err != nil {
		t.Fatal(err)
	}
	b.conn.SetReadLimit(1 << 26)
	b.Do("Emulation.setDeviceMetricsOverride", fmt.Sprintf(`{"width":%d,"height":%d,"deviceScaleFactor":%g,"mobile":%v}`, width, height, ratio, touch))
	b.Do("Emulation.setTouchEmulationEnabled", fmt.Sprintf(`{"enabled":%v}`, touch))
	return b
}

// Do gives an order and returns what it gave back.
func (b *Chromium) Do(method, parameters string) json.RawMessage {
	b.t.Helper()
	got, refused := b.try(method, parameters)
	if refused != nil {
		b.t.Fatalf("%s: %s", method, refused)
	}
	return got
}

// try gives an order and returns what it gave back, or why it was refused.
func (b *Chromium) try(method, parameters string) (got, refused json.RawMessage) {
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
			return got.Result, got.Error
		}
	}
}

// Eval is the value of an expression on the page, as text.
func (b *Chromium) Eval(expression string) string {
	b.t.Helper()
	value, wrong := b.eval(expression)
	if wrong != nil {
		b.t.Fatalf("%s: %s", expression, wrong)
	}
	return value
}

func (b *Chromium) eval(expression string) (value string, wrong json.RawMessage) {
	b.t.Helper()
	quoted, _ := json.Marshal(expression)
	var got struct {
		Result           struct{ Value any }
		ExceptionDetails json.RawMessage
	}
	answer, wrong := b.try("Runtime.evaluate", fmt.Sprintf(`{"expression":%s,"returnByValue":true,"userGesture":true}`, quoted))
	if wrong == nil {
		json.Unmarshal(answer, &got)
		wrong = got.ExceptionDetails
	}
	return fmt.Sprint(got.Result.Value), wrong
}

// Until waits until an expression holds. On its way from one page to the next a browser
// has none that could be asked.
func (b *Chromium) Until(what, expression string) {
	b.t.Helper()
	for start := time.Now(); ; time.Sleep(25 * time.Millisecond) {
		value, wrong := b.eval(expression)
		if value == "true" {
			return
		}
		if time.Since(start) > chromiumLate {
			said, _ := b.eval("document.getElementById('said')?.textContent")
			b.t.Fatalf("%s: never; the page says %q; %s", what, said, wrong)
		}
	}
}

// Says waits until the page has told a text to who listens to it.
func (b *Chromium) Says(text string) {
	b.t.Helper()
	b.Until(text, fmt.Sprintf("!!document.getElementById('said')?.textContent.includes(%q) && document.getElementById('notice').hidden", text))
}

var codes = map[string]string{"Enter": "13", "ArrowLeft": "37", "ArrowRight": "39", "1": "49", "2": "50", "3": "51"}

func (b *Chromium) Key(name string) {
	b.t.Helper()
	for _, kind := range []string{"rawKeyDown", "keyUp"} {
		b.Do("Input.dispatchKeyEvent", fmt.Sprintf(`{"type":%q,"key":%q,"code":%q,"windowsVirtualKeyCode":%s}`, kind, name, name, codes[name]))
	}
}

// Tap touches the middle of the button for a key.
func (b *Chromium) Tap(sign string) {
	b.t.Helper()
	at := b.Eval(fmt.Sprintf(`(() => { const r = [...document.querySelectorAll('#keys button')].find(b => b.querySelector('b').textContent === %q).getBoundingClientRect();
		return Math.round(r.x + r.width / 2) + "," + Math.round(r.y + r.height / 2) })()`, sign))
	x, y, _ := strings.Cut(at, ",")
	b.Do("Input.dispatchTouchEvent", fmt.Sprintf(`{"type":"touchStart","touchPoints":[{"x":%s,"y":%s}]}`, x, y))
	b.Do("Input.dispatchTouchEvent", `{"type":"touchEnd","touchPoints":[]}`)
}

// Picture is what the browser would put on the screen.
func (b *Chromium) Picture() image.Image {
	b.t.Helper()
	return b.picture(`{"format":"png"}`)
}

func (b *Chromium) picture(parameters string) image.Image {
	b.t.Helper()
	var got struct{ Data string }
	json.Unmarshal(b.Do("Page.captureScreenshot", parameters), &got)
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

// At is one pixel.
func At(m image.Image, x, y int) colour.SRGB {
	r, g, b, _ := m.At(x, y).RGBA()
	return colour.SRGB{R: uint8(r >> 8), G: uint8(g >> 8), B: uint8(b >> 8)}
}

// Field are the two patches: at the left and right of the middle of the picture, a fifth
// of its height below its top. It takes a picture of a few rows alone: a whole one takes
// a moment to write.
func (b *Chromium) Field(width, height int) (left, right colour.SRGB) {
	b.t.Helper()
	m := b.picture(fmt.Sprintf(`{"format":"png","clip":{"x":0,"y":%d,"width":%d,"height":2,"scale":1}}`, height/5, width))
	w := m.Bounds().Dx()
	return At(m, w/2-w/20, 0), At(m, w/2+w/20, 0)
}
