package serve

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"golang.org/x/crypto/acme"
	"golang.org/x/crypto/acme/autocert"

	"shadedrill/colour/fault"
)

// Door is where a server listens and how it is protected there.
type Door struct {
	Listen    string // host:port
	PublicURL string // empty where it follows from the rest
	Cert, Key string // files
	Domain    string // certificates by ACME (RFC 8555) over TLS-ALPN (RFC 8737)
	Directory string // of whoever gives those; empty for the usual one
	Keep      string // folder where they are kept
	Proxy     string // address of a trusted proxy, which does TLS
}

const tlsHint = "--tls-cert and --tls-key, --domain, or --behind-proxy; without TLS the server listens on this machine only"

// Plan is a door that makes sense.
type Plan struct {
	Listen    string
	PublicURL string
	Proxy     netip.Addr
	TLS       *tls.Config // nil for none
}

// Plan says what is wrong with a door, or how it is opened.
func (d Door) Plan() (Plan, error) {
	p := Plan{Listen: d.Listen, PublicURL: d.PublicURL}
	host, port, err := net.SplitHostPort(d.Listen)
	if err != nil {
		return p, fault.New(fmt.Sprintf("%q is no address to listen on", d.Listen), "such as 127.0.0.1:8443")
	}
	ways := 0
	for _, given := range []bool{d.Cert != "" || d.Key != "", d.Domain != "", d.Proxy != ""} {
		if given {
			ways++
		}
	}
	switch {
	case ways > 1:
		return p, fault.New("there are several ways of protection at once", "choose one of --tls-cert with --tls-key, --domain and --behind-proxy")
	case d.Directory != "" && d.Domain == "":
		return p, fault.New("there is nobody to fetch certificates for", "--acme-directory goes with --domain")
	case d.Domain != "":
		m := &autocert.Manager{Prompt: autocert.AcceptTOS, HostPolicy: autocert.HostWhitelist(d.Domain), Cache: autocert.DirCache(d.Keep)}
		if d.Directory != "" {
			m.Client = &acme.Client{DirectoryURL: d.Directory}
		}
		p.TLS = m.TLSConfig()
		if p.PublicURL == "" {
			p.PublicURL = "https://" + d.Domain
		}
	case d.Cert != "" || d.Key != "":
		pair := &certificate{cert: d.Cert, key: d.Key}
		if _, err := pair.get(nil); err != nil {
			return p, fault.New(fmt.Sprintf("the certificate cannot be used: %v", err), "--tls-cert and --tls-key name PEM files that belong together")
		}
		p.TLS = &tls.Config{GetCertificate: pair.get}
	case d.Proxy != "":
		if p.Proxy, err = netip.ParseAddr(d.Proxy); err != nil {
			return p, fault.New(fmt.Sprintf("%q is no address of a proxy", d.Proxy), "its IP address, such as 127.0.0.1")
		}
		p.Proxy = p.Proxy.Unmap()
	case !Loopback(host):
		return p, fault.New(fmt.Sprintf("%s would be reached over the network unprotected", d.Listen), tlsHint)
	default:
		if p.PublicURL == "" && port != "0" {
			p.PublicURL = "http://" + d.Listen
		}
	}
	if p.PublicURL == "" && !(ways == 0 && port == "0") {
		return p, fault.New("how the server is reached is not said", "--public-url https://class.example")
	}
	if p.PublicURL != "" {
		u, err := parsePublicURL(p.PublicURL)
		if err != nil {
			return p, err
		}
		if ways > 0 && u.Scheme != "https" {
			return p, fault.New(p.PublicURL+" is not protected, and the server is", "--public-url begins with https here")
		}
	}
	if p.TLS != nil {
		p.TLS.MinVersion = tls.VersionTLS12
	}
	return p, nil
}

// certificate is read anew when its file has changed, so that renewing it needs no
// restart.
type certificate struct {
	cert, key string
	mu        sync.Mutex
	at        time.Time
	pair      *tls.Certificate
}

func (c *certificate) get(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	info, err := os.Stat(c.cert)
	if err == nil && c.pair != nil && info.ModTime().Equal(c.at) {
		return c.pair, nil
	}
	var pair tls.Certificate
	if err == nil {
		pair, err = tls.LoadX509KeyPair(c.cert, c.key)
	}
	if err != nil {
		if c.pair != nil { // a renewal that is half written
			return c.pair, nil
		}
		return nil, err
	}
	c.at, c.pair = info.ModTime(), &pair
	return c.pair, nil
}

// Limits of connections, house choices: a browser holds up to seven, a school sits
// behind one address.
const (
	mostConnections = 5000
	mostAnAddress   = 2000
	headersWithin   = 5 * time.Second
	requestWithin   = 30 * time.Second
	answerWithin    = 2 * time.Minute // a review of a large class
	idleWithin      = 90 * time.Second
)

// http is the server for strangers.
func (s *Server) http() *http.Server {
	return &http.Server{Handler: s.handler(), ReadHeaderTimeout: headersWithin, ReadTimeout: requestWithin, WriteTimeout: answerWithin, IdleTimeout: idleWithin,
		MaxHeaderBytes: 16 << 10, ErrorLog: log.New(quiet{}, "", 0)}
}

// quiet drops what net/http says of its clients: addresses stand in it.
type quiet struct{}

func (quiet) Write(b []byte) (int, error) { return len(b), nil }

// bounded bounds the connections that a listener has open, in all and by address; of
// a proxy, whose all are, in all only. What is more is closed at once.
func bounded(l net.Listener, proxy netip.Addr) net.Listener {
	return &limited{Listener: l, proxy: proxy, by: map[netip.Addr]int{}}
}

type limited struct {
	net.Listener
	proxy netip.Addr
	mu    sync.Mutex
	all   int
	by    map[netip.Addr]int
}

func (l *limited) Accept() (net.Conn, error) {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		var from netip.Addr
		if a, err := netip.ParseAddrPort(c.RemoteAddr().String()); err == nil {
			from = a.Addr().Unmap()
		}
		l.mu.Lock()
		full := l.all >= mostConnections || from != l.proxy && l.by[from] >= mostAnAddress
		if !full {
			l.all++
			l.by[from]++
		}
		l.mu.Unlock()
		if full {
			c.Close()
			continue
		}
		return &counted{Conn: c, gone: func() {
			l.mu.Lock()
			defer l.mu.Unlock()
			l.all--
			if l.by[from]--; l.by[from] == 0 {
				delete(l.by, from)
			}
		}}, nil
	}
}

type counted struct {
	net.Conn
	once sync.Once
	gone func()
}

func (c *counted) Close() error {
	c.once.Do(c.gone)
	return c.Conn.Close()
}

// Run serves until ctx ends, then drains: nobody new is let in, trainers end with
// their answers in the book, and pages are told to come back.
func (s *Server) Run(ctx context.Context, l net.Listener, config *tls.Config) error {
	h := s.http()
	h.BaseContext = func(net.Listener) context.Context { return s.base }
	l = bounded(l, s.Proxy)
	if config != nil {
		// HTTP/1.1 only: the socket of a drill is an upgrade of it.
		config = config.Clone()
		others := slices.DeleteFunc(slices.Clone(config.NextProtos), func(p string) bool { return p == "h2" || p == "http/1.1" })
		config.NextProtos = append([]string{"http/1.1"}, others...)
		l = tls.NewListener(l, config)
	}
	// Sessions that nobody has used for long open nothing any more, and are not kept.
	if err := s.Book.SignOutAll(ctx, "", s.Clock().Add(-idleFor)); err != nil {
		return err
	}
	failed := make(chan error, 1)
	go func() { failed <- h.Serve(l) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	within, cancel := context.WithTimeout(context.WithoutCancel(ctx), drainWithin)
	defer cancel()
	s.Drain(within)
	if err := h.Shutdown(within); err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return nil
}

// drainWithin is less than what service managers wait before they kill.
const drainWithin = 20 * time.Second

// Folder is where certificates are kept: beside the book.
func Folder(book string) string { return filepath.Join(filepath.Dir(book), "certificates") }
