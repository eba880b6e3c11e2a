package serve

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer/web"
)

// Options are what whoever runs the server chooses.
type Options struct {
	Book record.Store
	// PublicURL is what stands in a browser's address line, such as
	// "https://class.example". Every link is made of it, and no other origin may open
	// a socket or send a form.
	PublicURL string
	// Proxy, when valid, is the address from which alone connections are taken, and
	// whose word on the client's address is believed.
	Proxy netip.Addr
	Clock func() time.Time // nil is time.Now
	Log   *slog.Logger     // nil says nothing
	Keep  time.Duration    // of a trainer without a page; 0 is five minutes

	// hashMemory is what the hash of a passphrase takes, in KiB; 0 is memoryKiB. Only
	// tests say less, who sign hundreds of people in.
	hashMemory uint32
}

// Server is the class server. It lives as long as its context.
type Server struct {
	Options
	base   context.Context
	origin string
	host   string
	secure bool
	pass   *passphrases
	limits limits
	drills drills
	counts counts
	mux    *http.ServeMux

	draining atomic.Bool
	running  sync.WaitGroup
}

// New makes a server; ctx ends what it runs.
func New(ctx context.Context, o Options) (*Server, error) {
	if o.Clock == nil {
		o.Clock = time.Now
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	u, err := parsePublicURL(o.PublicURL)
	if err != nil {
		return nil, err
	}
	s := &Server{Options: o, base: ctx, origin: u.Scheme + "://" + u.Host, host: u.Host, secure: u.Scheme == "https", mux: http.NewServeMux()}
	if s.pass, err = newPassphrases(cmp.Or(o.hashMemory, memoryKiB)); err != nil {
		return nil, err
	}
	s.limits.init(o.Clock)
	s.drills.byPerson = map[personID]*drill{}
	s.drills.next = map[personID]setRef{}
	s.drills.checks = map[personID]scoring.DisplayCheck{}
	for _, r := range s.routes() {
		s.mux.Handle(r.pattern, r.do)
	}
	return s, nil
}

// parsePublicURL reads the address of a server: scheme and host, nothing after it.
// Without TLS it must be this machine.
func parsePublicURL(text string) (*url.URL, error) {
	u, err := url.Parse(text)
	if err != nil || u.Host == "" || u.User != nil || u.RawQuery != "" || u.Fragment != "" || strings.Trim(u.Path, "/") != "" || u.Scheme != "https" && u.Scheme != "http" {
		return nil, fault.New(fmt.Sprintf("%q is no address of a server", text), "such as https://class.example")
	}
	if u.Scheme == "http" && !Loopback(u.Hostname()) {
		return nil, fault.New(text+" goes over the network unprotected", "use https: --tls-cert and --tls-key, --domain, or --behind-proxy")
	}
	return u, nil
}

// Loopback reports whether a host is this machine whatever the network says.
func Loopback(host string) bool {
	if host == "localhost" {
		return true
	}
	a, err := netip.ParseAddr(host)
	return err == nil && a.IsLoopback()
}

// handler answers everything but the counters.
func (s *Server) handler() http.Handler {
	cross := http.NewCrossOriginProtection()
	if err := cross.AddTrustedOrigin(s.origin); err != nil {
		panic(err) // it was parsed
	}
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.refuse(w, http.StatusForbidden, "This form was sent from another site.", "open the page here and send it again")
	}))
	return s.logged(s.hosted(http.MaxBytesHandler(cross.Handler(http.HandlerFunc(s.routed)), mostBody)))
}

// routed remembers which route was taken, for the log.
func (s *Server) routed(w http.ResponseWriter, r *http.Request) {
	if seen, ok := w.(*watched); ok {
		defer func() { seen.pattern = r.Pattern }()
	}
	s.mux.ServeHTTP(w, r)
}

// mostBody is the largest request; rosters are the largest.
const mostBody = 2 << 20

// hosted lets in what is meant for this server: a name that somebody else lets point
// to this machine is sent to the right one. Behind a proxy only the proxy is let in.
func (s *Server) hosted(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch probed := r.URL.Path == "/healthz" || r.URL.Path == "/readyz"; {
		case probed:
		case s.Proxy.IsValid():
			if peer(r) != s.Proxy {
				http.Error(w, "this server is reached by its public address only", http.StatusForbidden)
				return
			}
		case r.Host != s.host:
			if r.Method == http.MethodGet && r.Header.Get("Upgrade") == "" {
				http.Redirect(w, r, s.origin+"/", http.StatusTemporaryRedirect)
			} else {
				http.Error(w, "this server has another name", http.StatusMisdirectedRequest)
			}
			return
		}
		next.ServeHTTP(w, r)
	})
}

// peer is the address at the other end of the connection.
func peer(r *http.Request) netip.Addr {
	a, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	return a.Addr().Unmap()
}

// client is the address of whoever asks: behind a proxy the rightmost one that it
// forwards, since everything to the left of it anybody can have written.
func (s *Server) client(r *http.Request) netip.Addr {
	if s.Proxy.IsValid() {
		all := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
		for i := len(all) - 1; i >= 0; i-- {
			if a, err := netip.ParseAddr(strings.TrimSpace(all[i])); err == nil && a.Unmap() != s.Proxy {
				return a.Unmap()
			}
		}
	}
	return peer(r)
}

// logged writes a line a request: no address, no name, no path with an identifier or
// a secret in it. A panic ends the request and nothing else.
func (s *Server) logged(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		began := time.Now()
		seen := &watched{ResponseWriter: w}
		if s.secure { // and a browser that came once over TLS comes in no other way (RFC 6797)
			w.Header().Set("Strict-Transport-Security", "max-age=31536000")
		}
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler {
					panic(p)
				}
				s.counts.panics.Add(1)
				s.Log.Error("panic", "in", seen.pattern, "what", fmt.Sprint(p))
				if seen.status == 0 {
					s.refuse(seen, http.StatusInternalServerError, "Something broke here.", "try again; answers already given are kept")
				}
			}
			s.counts.requests.Add(1)
			if seen.status >= 500 {
				s.counts.failures.Add(1)
			}
			if seen.status != http.StatusSwitchingProtocols {
				s.Log.Info("request", "in", seen.pattern, "status", seen.status, "ms", time.Since(began).Milliseconds())
			}
		}()
		next.ServeHTTP(seen, r)
	})
}

// watched remembers what was answered.
type watched struct {
	http.ResponseWriter
	status  int
	pattern string
}

func (w *watched) WriteHeader(status int) {
	if w.status == 0 {
		w.status = status
	}
	w.ResponseWriter.WriteHeader(status)
}

func (w *watched) Write(b []byte) (int, error) {
	if w.status == 0 {
		w.status = http.StatusOK
	}
	return w.ResponseWriter.Write(b)
}

// Unwrap lets the socket's library take the connection over.
func (w *watched) Unwrap() http.ResponseWriter { return w.ResponseWriter }

// route is one way in, as net/http writes patterns.
type route struct {
	pattern string
	do      http.Handler
}

// routes are all ways in.
func (s *Server) routes() (list []route) {
	get := func(path string, h http.HandlerFunc) { list = append(list, route{"GET " + path, h}) }
	post := func(path string, h http.HandlerFunc) { list = append(list, route{"POST " + path, h}) }
	get("/healthz", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprintln(w, "ok") })
	get("/readyz", s.ready)
	get("/assets/", http.StripPrefix("/assets/", web.Assets()).ServeHTTP)
	get("/style.css", styleSheet)

	get("/", func(w http.ResponseWriter, _ *http.Request) {
		s.refuse(w, http.StatusNotFound, "There is no such page.", "go back to the start")
	})
	get("/{$}", s.home)
	get("/join", s.joinPage)
	get("/join/{ticket}", s.joinPage)
	get("/account", s.signedIn(s.accountPage))
	get("/drill", s.signedIn(s.drillPage))
	get("/socket", s.socket)
	get("/classes/{class}", s.signedIn(s.classPage))
	get("/classes/{class}/live", s.signedIn(s.livePage))
	get("/classes/{class}/log", s.signedIn(s.logPage))
	get("/classes/{class}/{report}", s.signedIn(s.classReport))
	get("/classes/{class}/assignments/{number}", s.signedIn(s.assignmentPage))
	get("/classes/{class}/people/{person}", s.signedIn(s.personPage))
	get("/people/{person}/{report}", s.signedIn(s.personReport))

	post("/sign-in", s.signIn)
	get("/sign-in", func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, "/", http.StatusSeeOther) })
	post("/join", s.join)
	// A form, and the page that it stands on.
	form := func(path string, do func(*visit) error, at string, page func(*visit) error) {
		post(path, s.signedIn(s.onPage(page, do)))
		if path != at {
			get(path, s.signedIn(standsOn(at)))
		}
	}
	form("/sign-out", s.signOut, "/", s.homePage)
	form("/account", s.changePassphrase, "/account", s.accountPage)
	form("/classes", s.makeClass, "/", s.homePage)
	for name, do := range map[string]func(*visit) error{"roster": s.addRoster, "code": s.makeCode, "links": s.makeLinks, "assign": s.assign, "sessions": s.makeSession, "tests": s.makeTest,
		"close": s.closeSession, "begin": s.beginNow, "collect": s.collect} {
		form("/classes/{class}/"+name, do, "/classes/{class}", s.classPage)
	}
	form("/classes/{class}/assignments/{number}", s.rule, "/classes/{class}/assignments/{number}", s.assignmentPage)
	form("/classes/{class}/people/{person}/{deed}", s.personDeed, "/classes/{class}/people/{person}", s.personPage)
	return list
}

func (s *Server) ready(w http.ResponseWriter, r *http.Request) {
	ctx, cancel := context.WithTimeout(r.Context(), 2*time.Second)
	defer cancel()
	if _, err := s.Book.Classes(ctx); s.draining.Load() || err != nil {
		http.Error(w, "not ready", http.StatusServiceUnavailable)
		return
	}
	fmt.Fprintln(w, "ready")
}

// errStopping is why trainers end when the server does.
var errStopping = errors.New("the server stops")

// Drain refuses new drills, ends those under way (answers are kept, pages are told
// to come back), and waits until all have ended or ctx has.
func (s *Server) Drain(ctx context.Context) {
	s.draining.Store(true)
	s.drills.each(func(d *drill) {
		d.screen.Goodbye(1001, "the server stops; it comes back")
		d.stop(errStopping)
	})
	ended := make(chan struct{})
	go func() { s.running.Wait(); close(ended) }()
	select {
	case <-ended:
	case <-ctx.Done():
	}
}
