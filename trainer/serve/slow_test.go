package serve

import (
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"shadedrill/scoring/record"
	"shadedrill/trainer/web/webtest"
)

// Who sends a request letter by letter, or a form and never its end, is let go, and so
// is who asks for page after page and reads none; others are served meanwhile.
func TestSlowPeopleAreLetGo(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	address := strings.TrimPrefix(h.url, "http://")
	open := func(text string) net.Conn {
		t.Helper()
		c, err := net.Dial("tcp", address)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { c.Close() })
		if _, err := io.WriteString(c, text); err != nil {
			t.Fatal(err)
		}
		return c
	}
	letters := open("GET / HTTP/1.1\r\nHost: " + address + "\r\nX-Slow: ")
	began := time.Now()
	for {
		if _, err := io.WriteString(letters, "a"); err != nil {
			break
		}
		if time.Since(began) > headersWithin+late {
			t.Fatal("a header without end is taken")
		}
		time.Sleep(200 * time.Millisecond)
	}
	if took := time.Since(began); took < headersWithin/2 {
		t.Errorf("let go after %v, which honest people on a slow line need", took)
	}
	// More header than anybody needs.
	huge := open("GET / HTTP/1.1\r\nHost: " + address + "\r\n")
	go io.WriteString(huge, "X-Huge: "+strings.Repeat("a", 1<<20)+"\r\n\r\n")
	huge.SetReadDeadline(time.Now().Add(late))
	if said, err := io.ReadAll(huge); err == nil && !strings.Contains(string(said), " 431 ") {
		t.Errorf("a header of a megabyte: %q", said)
	}
	// A page after the other, none of them read: the socket fills up, and the server waits
	// for nobody longer than it says.
	var asks strings.Builder
	for range 2000 {
		fmt.Fprintf(&asks, "GET /style.css HTTP/1.1\r\nHost: %s\r\n\r\n", address)
	}
	deaf := open("")
	go io.WriteString(deaf, asks.String())
	status, page := ida.get("/")
	ida.ok(status, page, "New class")
	if s := h.server.http(); s.WriteTimeout <= 0 || s.ReadTimeout <= 0 || s.IdleTimeout <= 0 || s.MaxHeaderBytes <= 0 {
		t.Errorf("a server without bounds: %+v", s)
	}
}

// A class that signs in at once, some with a wrong passphrase, holds no drill up for
// good: every key that was pressed meanwhile counted, and everybody came in.
func TestASignInStormBesideDrills(t *testing.T) {
	h := openedWith(t, Options{Book: record.NewMemory(), hashMemory: memoryKiB}) // the hashes are the storm
	ida := h.instructor("Ida Vale")
	var names []string
	for n := range 24 {
		names = append(names, fmt.Sprintf("Learner %02d", n))
	}
	class := ida.class("Monday group", names...)
	status, page := ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", "6", "due", "2031-05-01")
	ida.ok(status, page)
	code := ida.code(class)
	var sockets []*webtest.Client
	for _, name := range names[:4] {
		c := h.joined(code, name).drill()
		h.checked(c)
		c.Cut()
	}
	ida.post("/classes/"+class+"/begin", "set", h.assignment(1))
	for _, name := range names[:4] {
		b := h.browser()
		status, page := b.post("/sign-in", "name", name, "passphrase", phrase)
		b.ok(status, page)
		c := b.drill()
		until(t, c, "6 trials", "begin")
		sockets = append(sockets, c)
	}
	h.press(sockets[0])
	for _, c := range sockets {
		if err := c.Press("enter"); err != nil {
			t.Fatal(err)
		}
	}
	var storm, drills sync.WaitGroup
	for i, name := range names[4:] {
		storm.Go(func() {
			b := h.browser()
			if i%4 == 0 {
				if status, _ := b.post("/sign-in", "name", names[i%4], "passphrase", "not what it is at all"); status != http.StatusUnauthorized {
					t.Errorf("a wrong passphrase: %d", status)
				}
			}
			status, page := b.post("/join", "ticket", code, "name", name, "passphrase", phrase)
			if status != http.StatusOK || !strings.Contains(page, "Practise") {
				t.Errorf("%s cannot come in: %d", name, status)
			}
		})
	}
	for _, c := range sockets {
		drills.Go(func() { h.meanwhile(c, 6, 6, false) })
	}
	storm.Wait()
	drills.Wait()
	for _, name := range names[:4] {
		if n := len(h.attempts(h.person(name).ID)); n != 6 {
			t.Errorf("%s gave 6 answers, the book has %d", name, n)
		}
	}
	h.server.drills.each(func(d *drill) {
		if n := d.screen.Stats().Refused; n != 0 {
			t.Errorf("%d keys were refused", n)
		}
	})
}

// Ten thousand connections that say nothing, from several addresses: never more are held
// than the bound, and people come in while they last. It opens 15,000 files.
func TestTenThousandHalfOpenConnections(t *testing.T) {
	if os.Getenv("SHADEDRILL_HEAVY") == "" {
		t.Skip("SHADEDRILL_HEAVY=1")
	}
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	to := strings.TrimPrefix(h.url, "http://")
	var mu sync.Mutex
	var open []net.Conn
	refused := 0
	var all sync.WaitGroup
	for n := range 10 {
		all.Go(func() {
			from := &net.Dialer{LocalAddr: &net.TCPAddr{IP: net.IPv4(127, 0, 1, byte(n+1))}, Timeout: late}
			for range 1000 {
				c, err := from.DialContext(context.Background(), "tcp", to)
				mu.Lock()
				if err != nil {
					refused++
				} else {
					open = append(open, c)
				}
				mu.Unlock()
			}
		})
	}
	all.Wait()
	defer func() {
		for _, c := range open {
			c.Close()
		}
	}()
	began := time.Now()
	for {
		b := &http.Client{Timeout: 2 * time.Second, Jar: ida.client.Jar, Transport: &http.Transport{DisableKeepAlives: true}}
		answer, err := b.Get(h.url + "/")
		if err == nil {
			answer.Body.Close()
			break
		}
		if time.Since(began) > late {
			t.Fatal("nobody is let in any more")
		}
	}
	t.Logf("%d were opened, %d refused by the machine; somebody came in %v after the last of them", len(open), refused, time.Since(began).Round(time.Millisecond))
}
