package serve

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/base64"
	"encoding/json"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"math/big"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/http/httputil"
	"net/netip"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"golang.org/x/crypto/acme"

	"shadedrill/scoring/record"
	"shadedrill/trainer/web/webtest"
)

// authority gives certificates to whoever asks in this test.
type authority struct {
	key  *ecdsa.PrivateKey
	cert *x509.Certificate
	der  []byte
	n    int64
}

func newAuthority(t *testing.T) *authority {
	t.Helper()
	a := &authority{n: 1}
	var err error
	if a.key, err = ecdsa.GenerateKey(elliptic.P256(), rand.Reader); err != nil {
		t.Fatal(err)
	}
	root := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "a root of this test"}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign}
	if a.der, err = x509.CreateCertificate(rand.Reader, root, root, a.key.Public(), a.key); err != nil {
		t.Fatal(err)
	}
	if a.cert, err = x509.ParseCertificate(a.der); err != nil {
		t.Fatal(err)
	}
	return a
}

func (a *authority) sign(public any, names ...string) ([]byte, error) {
	a.n++
	return x509.CreateCertificate(rand.Reader, &x509.Certificate{SerialNumber: big.NewInt(a.n), DNSNames: names, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(100 * 24 * time.Hour),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}, a.cert, public, a.key)
}

func (a *authority) pool() *x509.CertPool {
	p := x509.NewCertPool()
	p.AddCert(a.cert)
	return p
}

// files writes a new certificate and its key where a server reads them.
func (a *authority) files(t *testing.T, cert, key string) {
	t.Helper()
	own, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	der, err := a.sign(own.Public(), "class.example")
	if err != nil {
		t.Fatal(err)
	}
	raw, err := x509.MarshalPKCS8PrivateKey(own)
	if err != nil {
		t.Fatal(err)
	}
	err = errors.Join(os.WriteFile(key, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: raw}), 0o600),
		os.WriteFile(cert, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o600))
	if err != nil {
		t.Fatal(err)
	}
}

// behind runs a server on this machine behind a door, and gives a browser that finds
// class.example there and trusts the authority.
func behind(t *testing.T, d Door, a *authority) (h *house, b *browser) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	_, port, _ := net.SplitHostPort(l.Addr().String())
	d.Listen, d.PublicURL = l.Addr().String(), "https://class.example:"+port
	plan, err := d.Plan()
	if err != nil {
		t.Fatal(err)
	}
	h = &house{t: t, book: record.NewMemory(), url: plan.PublicURL}
	base, end := context.WithCancel(context.Background())
	if h.server, err = New(base, Options{Book: h.book, PublicURL: plan.PublicURL, Proxy: plan.Proxy, hashMemory: cheap}); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ran := make(chan error, 1)
	go func() { ran <- h.server.Run(ctx, l, plan.TLS) }()
	t.Cleanup(func() {
		stop()
		if err := <-ran; err != nil {
			t.Error(err)
		}
		end()
	})
	jar, _ := cookiejar.New(nil)
	b = &browser{h, &http.Client{Jar: jar, Timeout: late, Transport: &http.Transport{
		DialContext: func(ctx context.Context, network, _ string) (net.Conn, error) {
			return (&net.Dialer{}).DialContext(ctx, network, l.Addr().String())
		},
		TLSClientConfig: &tls.Config{RootCAs: a.pool()}}}}
	t.Cleanup(b.client.CloseIdleConnections)
	return h, b
}

// first comes in by the first link and opens the socket of a drill.
func (b *browser) first() {
	t := b.h.t
	t.Helper()
	link, err := b.h.server.FirstLink(context.Background())
	if err != nil || !strings.HasPrefix(link, b.h.url+"/join/") {
		t.Fatalf("%q, %v", link, err)
	}
	status, page := b.post("/join", "ticket", link[strings.LastIndex(link, "/")+1:], "name", "Ida Vale", "passphrase", phrase)
	b.ok(status, page, "New class")
	c, err := webtest.Dial(context.Background(), "wss"+strings.TrimPrefix(b.h.url, "https")+"/socket", webtest.Options{Client: &http.Client{Jar: b.client.Jar, Transport: b.client.Transport}, Header: http.Header{"Origin": {b.h.url}}})
	if err != nil {
		t.Fatal(err)
	}
	until(t, c, "Before you begin")
	c.Cut()
}

// With a certificate of one's own: cookies go over TLS alone, browsers are told never to
// come without it, sockets work, old TLS does not, and a renewed certificate is taken.
func TestATrustedCertificate(t *testing.T) {
	a, folder := newAuthority(t), t.TempDir()
	cert, key := filepath.Join(folder, "cert.pem"), filepath.Join(folder, "key.pem")
	a.files(t, cert, key)
	_, b := behind(t, Door{Cert: cert, Key: key}, a)
	b.first()
	u, _ := url.Parse(b.h.url)
	if list := b.client.Jar.Cookies(u); len(list) != 1 || list[0].Name != "__Host-shadedrill" {
		t.Errorf("the cookie is %v", list)
	}
	u.Scheme = "http"
	if list := b.client.Jar.Cookies(u); len(list) != 0 {
		t.Errorf("without TLS the browser sends %v", list)
	}
	answer, err := b.client.Get(b.h.url + "/")
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.Header.Get("Strict-Transport-Security") == "" || answer.TLS == nil || answer.ProtoMajor != 1 {
		t.Errorf("%v by HTTP %d", answer.Header, answer.ProtoMajor)
	}
	serial := answer.TLS.PeerCertificates[0].SerialNumber
	old := &http.Client{Transport: &http.Transport{DialContext: b.client.Transport.(*http.Transport).DialContext, TLSClientConfig: &tls.Config{RootCAs: a.pool(), MaxVersion: tls.VersionTLS11, MinVersion: tls.VersionTLS10}}}
	if _, err := old.Get(b.h.url + "/"); err == nil {
		t.Error("TLS 1.1 is spoken")
	}
	a.files(t, cert, key)
	soon := time.Now().Add(2 * time.Second)
	if err := os.Chtimes(cert, soon, soon); err != nil {
		t.Fatal(err)
	}
	b.client.CloseIdleConnections()
	if answer, err = b.client.Get(b.h.url + "/"); err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.TLS.PeerCertificates[0].SerialNumber.Cmp(serial) == 0 {
		t.Error("a renewed certificate is not taken")
	}
}

// directory is an ACME server (RFC 8555) that gives a certificate to whoever answers on
// TLS-ALPN (RFC 8737). It believes every signature.
type directory struct {
	t      *testing.T
	a      *authority
	at     string // where the server that asks is reached
	mu     sync.Mutex
	url    string
	proved bool
	cert   []byte
	orders int
}

func (d *directory) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	d.mu.Lock()
	defer d.mu.Unlock()
	w.Header().Set("Replay-Nonce", fmt.Sprint(time.Now().UnixNano()))
	var body struct{ Payload string }
	if r.Method == http.MethodPost {
		if err := json.NewDecoder(r.Body).Decode(&body); err != nil {
			d.t.Error(err)
		}
	}
	payload, _ := base64.RawURLEncoding.DecodeString(body.Payload)
	order := func(status string) map[string]any {
		w.Header().Set("Location", d.url+"/order")
		o := map[string]any{"status": status, "identifiers": []any{map[string]string{"type": "dns", "value": "class.example"}}, "authorizations": []string{d.url + "/authz"}, "finalize": d.url + "/finalize"}
		if d.cert != nil {
			o["certificate"] = d.url + "/cert"
		}
		return o
	}
	say := func(status int, v any) {
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(status)
		json.NewEncoder(w).Encode(v)
	}
	state := map[bool]string{false: "pending", true: "valid"}[d.proved]
	switch r.URL.Path {
	case "/":
		say(200, map[string]string{"newNonce": d.url + "/nonce", "newAccount": d.url + "/account", "newOrder": d.url + "/orders", "revokeCert": d.url + "/revoke", "keyChange": d.url + "/change"})
	case "/nonce":
	case "/account":
		w.Header().Set("Location", d.url+"/account/1")
		say(201, map[string]string{"status": "valid"})
	case "/orders":
		if d.orders++; !strings.Contains(string(payload), `"class.example"`) {
			d.t.Errorf("asked for %s", payload)
		}
		say(201, order("pending"))
	case "/authz":
		say(200, map[string]any{"status": state, "identifier": map[string]string{"type": "dns", "value": "class.example"}, "challenges": []any{map[string]string{"type": "tls-alpn-01", "url": d.url + "/challenge", "token": "a-token-of-this-test", "status": state}}})
	case "/challenge":
		conn, err := tls.Dial("tcp", d.at, &tls.Config{ServerName: "class.example", NextProtos: []string{acme.ALPNProto}, InsecureSkipVerify: true})
		if err != nil {
			d.t.Error(err)
		} else {
			s := conn.ConnectionState()
			for _, e := range s.PeerCertificates[0].Extensions {
				d.proved = d.proved || s.NegotiatedProtocol == acme.ALPNProto && e.Id.String() == "1.3.6.1.5.5.7.1.31"
			}
			conn.Close()
		}
		say(200, map[string]string{"type": "tls-alpn-01", "url": d.url + "/challenge", "token": "a-token-of-this-test", "status": map[bool]string{false: "invalid", true: "valid"}[d.proved]})
	case "/order":
		say(200, order(map[bool]string{false: "ready", true: "valid"}[d.cert != nil]))
	case "/finalize":
		var asked struct{ CSR string }
		json.Unmarshal(payload, &asked)
		raw, _ := base64.RawURLEncoding.DecodeString(asked.CSR)
		csr, err := x509.ParseCertificateRequest(raw)
		if err != nil || !d.proved {
			d.t.Errorf("finalize: %v, proved %v", err, d.proved)
			say(403, map[string]string{"type": "unauthorized"})
			return
		}
		if d.cert, err = d.a.sign(csr.PublicKey, "class.example"); err != nil {
			d.t.Error(err)
		}
		say(200, order("valid"))
	case "/cert":
		w.Header().Set("Content-Type", "application/pem-certificate-chain")
		for _, der := range [][]byte{d.cert, d.a.der} {
			pem.Encode(w, &pem.Block{Type: "CERTIFICATE", Bytes: der})
		}
	default:
		d.t.Errorf("%s %s", r.Method, r.URL.Path)
	}
}

// With --domain the first browser brings the certificate: it is fetched from the
// directory, proved on the port itself, and kept beside the book. For another name
// nothing is fetched.
func TestACertificateIsFetched(t *testing.T) {
	a := newAuthority(t)
	d := &directory{t: t, a: a}
	giver := httptest.NewServer(d)
	defer giver.Close()
	d.url = giver.URL
	folder := t.TempDir()
	door := Door{Domain: "class.example", Directory: giver.URL + "/", Keep: folder}
	_, b := behind(t, door, a)
	conn, err := b.client.Transport.(*http.Transport).DialContext(context.Background(), "tcp", "")
	if err != nil {
		t.Fatal(err)
	}
	d.at = conn.RemoteAddr().String()
	conn.Close()
	if _, err := tls.Dial("tcp", d.at, &tls.Config{ServerName: "other.example", InsecureSkipVerify: true}); err == nil || d.orders != 0 {
		t.Errorf("a certificate for another name: %v, %d orders", err, d.orders)
	}
	b.first()
	if d.orders != 1 {
		t.Errorf("%d orders", d.orders)
	}
	if _, err := os.Stat(filepath.Join(folder, "class.example")); err != nil {
		t.Errorf("the certificate is not kept: %v", err)
	}
}

// Behind a proxy that does TLS: cookies, forms and sockets go through it, limits hold for
// the client that it names, and nobody goes round it.
func TestBehindAProxy(t *testing.T) {
	a := newAuthority(t)
	h, b := behind(t, Door{Proxy: "127.0.0.1"}, a)
	direct := b.client.Transport.(*http.Transport).DialContext
	conn, err := direct(context.Background(), "tcp", "")
	if err != nil {
		t.Fatal(err)
	}
	at := conn.RemoteAddr().String()
	conn.Close()
	if l, err := net.Listen("tcp", "127.0.0.3:0"); err != nil {
		t.Skipf("this machine has one address of its own: %v", err)
	} else {
		l.Close()
	}
	to, _ := url.Parse("http://" + at)
	proxy := httptest.NewUnstartedServer(&httputil.ReverseProxy{Rewrite: func(r *httputil.ProxyRequest) {
		r.SetURL(to)
		r.Out.Header["X-Forwarded-For"] = r.In.Header["X-Forwarded-For"]
		r.SetXForwarded()
		r.Out.Host = r.In.Host
	}})
	own, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	der, err := a.sign(own.Public(), "class.example")
	if err != nil {
		t.Fatal(err)
	}
	proxy.TLS = &tls.Config{Certificates: []tls.Certificate{{Certificate: [][]byte{der}, PrivateKey: own}}}
	proxy.StartTLS()
	defer proxy.Close()
	b.client.Transport.(*http.Transport).DialContext = func(ctx context.Context, network, _ string) (net.Conn, error) {
		return (&net.Dialer{LocalAddr: &net.TCPAddr{IP: net.IPv4(127, 0, 0, 3)}}).DialContext(ctx, network, proxy.Listener.Addr().String())
	}
	b.first()

	// From elsewhere on the network, or from this machine by another address, there is no
	// way in, whatever is claimed.
	other := &http.Client{Transport: &http.Transport{DialContext: func(ctx context.Context, network, _ string) (net.Conn, error) {
		return (&net.Dialer{LocalAddr: &net.TCPAddr{IP: net.IPv4(127, 0, 0, 2)}}).DialContext(ctx, network, at)
	}}}
	r, _ := http.NewRequest("GET", "http://"+at+"/", nil)
	r.Host = "class.example"
	r.Header.Set("X-Forwarded-For", "127.0.0.1")
	r.Header.Set("X-Forwarded-Proto", "https")
	answer, err := other.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.StatusCode != http.StatusForbidden {
		t.Errorf("round the proxy: %d", answer.StatusCode)
	}
	// A client that writes addresses of its own before the proxy's gains no new tries.
	for n := range triesAtOnce + 20 {
		q, _ := http.NewRequest("POST", b.h.url+"/join", strings.NewReader("step=code&ticket=BBBB-BBBB-BBBB"))
		q.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		q.Header.Set("Origin", b.h.url)
		q.Header.Set("X-Forwarded-For", fmt.Sprintf("10.1.%d.%d", n/250, n%250))
		answer, err := b.client.Do(q)
		if err != nil {
			t.Fatal(err)
		}
		io.Copy(io.Discard, answer.Body)
		answer.Body.Close()
	}
	h.server.limits.mu.Lock()
	seen := len(h.server.limits.by)
	_, real := h.server.limits.by[netip.MustParseAddr("127.0.0.3")]
	h.server.limits.mu.Unlock()
	if seen != 1 || !real {
		t.Errorf("%d addresses are believed, the real one among them: %v", seen, real)
	}
}
