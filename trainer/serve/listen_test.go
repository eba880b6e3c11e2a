package serve

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"testing"
	"time"

	"shadedrill/scoring/record"
)

// Connections that say nothing take nothing from others and are closed; so are more of
// them than an address may have.
func TestHalfOpenConnections(t *testing.T) {
	inner, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	l := bounded(inner, netip.Addr{}).(*limited)
	s := &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, "ok") }), ReadHeaderTimeout: 300 * time.Millisecond}
	go s.Serve(l)
	defer s.Close()
	var open []net.Conn
	defer func() {
		for _, c := range open {
			c.Close()
		}
	}()
	for range mostAnAddress + 200 {
		c, err := net.Dial("tcp", inner.Addr().String())
		if err != nil {
			break // this machine gives no more
		}
		open = append(open, c)
	}
	deadline := time.Now().Add(late)
	for {
		answer, err := (&http.Client{Timeout: time.Second, Transport: &http.Transport{DisableKeepAlives: true}}).Get("http://" + inner.Addr().String())
		if err == nil {
			answer.Body.Close()
			break
		}
		if time.Now().After(deadline) {
			t.Fatal("nobody is let in any more")
		}
	}
	for l.held() > 10 {
		if time.Now().After(deadline) {
			t.Fatalf("%d connections that said nothing are still held", l.held())
		}
		time.Sleep(20 * time.Millisecond)
	}
}

func (l *limited) held() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.all
}

// Behind a proxy nobody but the proxy is let in, and of what is forwarded only what it
// wrote itself is believed.
func TestTheProxyIsBelievedAndNobodyElse(t *testing.T) {
	s, err := New(context.Background(), Options{Book: record.NewMemory(), PublicURL: "https://class.example", Proxy: netip.MustParseAddr("10.0.0.1"), hashMemory: cheap})
	if err != nil {
		t.Fatal(err)
	}
	r := func(from string, forwarded ...string) *http.Request {
		r, _ := http.NewRequest("GET", "https://class.example/", nil)
		r.RemoteAddr = from
		for _, f := range forwarded {
			r.Header.Add("X-Forwarded-For", f)
		}
		return r
	}
	for _, c := range []struct {
		r    *http.Request
		want string
	}{
		{r("10.0.0.1:99", "1.2.3.4"), "1.2.3.4"},
		{r("10.0.0.1:99", "6.6.6.6, 1.2.3.4"), "1.2.3.4"},
		{r("10.0.0.1:99", "6.6.6.6", "1.2.3.4, 10.0.0.1"), "1.2.3.4"},
		{r("10.0.0.1:99"), "10.0.0.1"},
	} {
		if got := s.client(c.r); got.String() != c.want {
			t.Errorf("%v comes from %v, want %s", c.r.Header, got, c.want)
		}
	}
	for _, address := range []string{"http://class.example", "https://class.example/x", "ftp://x", "class.example", "https://a@b"} {
		if _, err := parsePublicURL(address); err == nil {
			t.Errorf("%q is taken for the address of a server", address)
		}
	}
	for _, d := range []Door{{Listen: "0.0.0.0:8443"}, {Listen: "192.168.1.4:80"}, {Listen: ":8443"}, {Listen: "[::]:8443"}, {Listen: "example.org:80"}, {Listen: "nonsense"},
		{Listen: "0.0.0.0:1", Proxy: "10.0.0.1"}, {Listen: "0.0.0.0:1", Proxy: "10.0.0.1", PublicURL: "http://127.0.0.1"}, {Listen: ":443", Domain: "a.example", Proxy: "10.0.0.1"},
		{Listen: ":443", Cert: "/nowhere", Key: "/nowhere", PublicURL: "https://a.example"}} {
		if _, err := d.Plan(); err == nil {
			t.Errorf("%+v is taken", d)
		}
	}
	for _, d := range []Door{{Listen: "127.0.0.1:8443"}, {Listen: "[::1]:8443"}, {Listen: "localhost:80"}, {Listen: "0.0.0.0:1", Proxy: "10.0.0.1", PublicURL: "https://a.example"}, {Listen: ":443", Domain: "a.example"}} {
		if _, err := d.Plan(); err != nil {
			t.Errorf("%+v: %v", d, err)
		}
	}
}
