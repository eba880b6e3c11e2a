package main

import (
	"cmp"
	"context"
	"crypto/tls"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres"
	"shadedrill/scoring/record/sqlite"
	"shadedrill/trainer/serve"
)

func (a *app) serveCommand() *cobra.Command {
	var d serve.Door
	var metrics, linkFor string
	var check, probe, quiet bool
	c := &cobra.Command{
		Use:   "serve",
		Short: "A class in the browser: one server, nothing to install for students",
		Long: `A class in the browser: one server, nothing to install for students. They open a
page, join with a code, and practise with the same trainer, colours exact; the
instructor sees the class live and reads every report in the same place.

At the first start it prints a link for the first instructor, good once, for half an
hour. Without TLS it listens on this machine only.`,
		Example: `  shadedrill serve --book school.db
  shadedrill serve --book school.db --domain class.example
  shadedrill serve --listen 127.0.0.1:8443 --behind-proxy 127.0.0.1 \
    --public-url https://class.example
  shadedrill serve --book school.db --link-for "Ida Vale"`,
	}
	f := c.Flags()
	f.StringVar(&d.Listen, "listen", "127.0.0.1:8443", "the `address` to listen on")
	f.StringVar(&d.PublicURL, "public-url", "", "what stands in a browser's address line, such as https://class.example")
	f.StringVar(&d.Cert, "tls-cert", "", "a `file` with the certificate (PEM), read anew when it changes")
	f.StringVar(&d.Key, "tls-key", "", "a `file` with its key")
	f.StringVar(&d.Domain, "domain", "", "the `name` for which certificates are fetched by ACME; listens on :443 then")
	f.StringVar(&d.Directory, "acme-directory", "", "the `address` of the ACME directory to fetch them from (default: Let's Encrypt)")
	f.StringVar(&d.Proxy, "behind-proxy", "", "the `IP address` of a proxy that does TLS; only it is let in, only its headers are believed")
	f.StringVar(&metrics, "metrics", "127.0.0.1:8444", "the `address` for /metrics, on this machine only; none for no such page")
	f.BoolVar(&check, "check", false, "say what is wrong with this set-up, and listen to nobody")
	f.BoolVar(&probe, "probe", false, "ask the server that runs on this book whether it is well")
	f.StringVar(&linkFor, "link-for", "", "print a link with which a `person` of the book can choose a new passphrase")
	f.BoolVar(&quiet, "quiet", false, "write no line a request")
	c.RunE = func(cmd *cobra.Command, _ []string) error {
		if d.Domain != "" && !cmd.Flags().Changed("listen") {
			d.Listen = ":443"
		}
		d.Keep = serve.Folder(a.besideBook())
		switch {
		case probe:
			return a.probeServer(cmd.Context())
		case linkFor != "":
			return a.linkFor(cmd.Context(), linkFor, d.PublicURL)
		}
		plan, err := d.Plan()
		if err != nil {
			return told.Misread(err, cmd.CommandPath())
		}
		if host, _, err := net.SplitHostPort(metrics); metrics != "none" && (err != nil || !serve.Loopback(host)) {
			return told.Misused("such as 127.0.0.1:8444, or none", "--metrics is %q, which is no address of this machine", metrics)
		}
		level := slog.LevelInfo
		if quiet {
			level = slog.LevelWarn
		}
		if check {
			return a.checkServe(cmd.Context(), plan)
		}
		return a.serve(cmd.Context(), plan, metrics, slog.New(slog.NewTextHandler(a.stderr, &slog.HandlerOptions{Level: level})))
	}
	return c
}

func (a *app) serve(ctx context.Context, plan serve.Plan, metrics string, log *slog.Logger) error {
	book, err := a.useBook(ctx)
	if err != nil {
		return err
	}
	listener, err := listen(plan)
	if err != nil {
		return err
	}
	defer listener.Close()
	plan.PublicURL = cmp.Or(plan.PublicURL, "http://"+listener.Addr().String())
	base, end := context.WithCancel(context.WithoutCancel(ctx)) // trainers end when they are told
	defer end()
	server, err := serve.New(base, serve.Options{Book: book, PublicURL: plan.PublicURL, Proxy: plan.Proxy, Clock: a.now, Log: log})
	if err != nil {
		return err
	}
	link, err := server.FirstLink(ctx)
	if err != nil {
		return err
	}
	if metrics != "none" {
		m, err := net.Listen("tcp", metrics)
		if err != nil {
			return told.Fail("choose another --metrics, or none", "cannot listen on %s: %w", metrics, told.Reason(err))
		}
		inside := &http.Server{Handler: http.NewServeMux(), ReadHeaderTimeout: 5 * time.Second, WriteTimeout: 10 * time.Second}
		inside.Handler.(*http.ServeMux).Handle("GET /metrics", server.Metrics())
		go inside.Serve(m)
		defer inside.Close()
		fmt.Fprintf(a.stdout, "Counters at http://%s/metrics\n", m.Addr())
	}
	here := serving{Address: listener.Addr().String(), TLS: plan.TLS != nil, URL: plan.PublicURL}
	if err := here.write(a.servingFile()); err != nil {
		return err
	}
	defer os.Remove(a.servingFile())
	fmt.Fprintf(a.stdout, "Listening on %s; reached at %s\n", listener.Addr(), plan.PublicURL)
	if link != "" {
		fmt.Fprintf(a.stdout, "The first instructor opens, once, within half an hour: %s\n", link)
	}
	if err := server.Run(ctx, listener, plan.TLS); err != nil {
		return told.Fail("start it again", "the server has ended: %w", err)
	}
	fmt.Fprintln(a.stdout, "Stopped; every answer given is in the book.")
	return nil
}

func listen(plan serve.Plan) (net.Listener, error) {
	l, err := net.Listen("tcp", plan.Listen)
	if err != nil {
		return nil, told.Fail("another program listens there, or you may not: choose another --listen", "cannot listen on %s: %w", plan.Listen, told.Reason(err))
	}
	return l, nil
}

// checkServe says what would keep a server from starting, and changes nothing.
func (a *app) checkServe(ctx context.Context, plan serve.Plan) error {
	listener, err := listen(plan)
	if err != nil {
		return err
	}
	at := cmp.Or(plan.PublicURL, "http://"+listener.Addr().String())
	listener.Close()
	path := a.bookPath()
	var book record.Store
	says := "The book %s can be written"
	switch {
	case postgres.Named(path):
		book, err = a.readBook(ctx)
	case !a.mayHaveBook():
		says, book = "The book %s is not there yet and will be made", record.NewMemory()
	default:
		if book, err = sqlite.OpenToLook(ctx, path); err != nil {
			return told.Within(path, err)
		}
		defer book.Close()
	}
	if err == nil && !postgres.Named(path) {
		err = mayWrite(path)
	}
	if err != nil {
		return err
	}
	unled, err := serve.Unled(ctx, book)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.stdout, says+", %s is free, and the server will be reached at %s.\n", a.bookName(), plan.Listen, at)
	if unled {
		fmt.Fprintln(a.stdout, "There is no instructor yet: at its start it prints a link for the first one.")
	}
	return nil
}

// mayWrite says why a file, or where it is not there yet the first folder above it that
// is, cannot be written to.
func mayWrite(path string) error {
	const mend = "whoever runs the server must be able to write the book and its folder"
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err == nil {
		f.Close()
	} else if !errors.Is(err, fs.ErrNotExist) {
		return told.Fail(mend, "the book cannot be written: %w", told.Reason(err))
	}
	folder := filepath.Dir(path)
	for {
		if _, err := os.Stat(folder); err == nil || folder == filepath.Dir(folder) {
			break
		}
		folder = filepath.Dir(folder)
	}
	try, err := os.MkdirTemp(folder, ".shadedrill-")
	if err != nil {
		return told.Fail(mend, "the folder %s cannot be written: %w", folder, told.Reason(err))
	}
	return os.Remove(try)
}

// serving is what a server that runs leaves beside its book, so that a probe needs no
// further word.
type serving struct {
	Address string `json:"address"`
	TLS     bool   `json:"tls"`
	URL     string `json:"url"`
}

func (a *app) servingFile() string { return a.besideBook() + ".serving" }

func (s serving) write(path string) error {
	b, err := json.Marshal(s)
	if err == nil {
		err = os.WriteFile(path, append(b, '\n'), 0o600)
	}
	if err != nil {
		return told.Fail("the book's folder must be writable", "cannot write %s: %w", path, told.Reason(err))
	}
	return nil
}

func (a *app) serving() (s serving, err error) {
	b, err := os.ReadFile(a.servingFile())
	if errors.Is(err, fs.ErrNotExist) {
		return s, told.Fail("start one: shadedrill serve", "no server runs on the book %s", a.bookName())
	}
	if err == nil {
		err = json.Unmarshal(b, &s)
	}
	if err != nil {
		return s, told.Fail("start the server again", "cannot read %s: %w", a.servingFile(), told.Reason(err))
	}
	return s, nil
}

// probeServer asks the server that runs on this book whether it is well.
func (a *app) probeServer(ctx context.Context) error {
	s, err := a.serving()
	if err != nil {
		return err
	}
	host, port, err := net.SplitHostPort(s.Address)
	if err != nil {
		return told.Fail("start the server again", "cannot read %s: %w", a.servingFile(), err)
	}
	if ip := net.ParseIP(host); ip == nil || ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	scheme := "http://"
	if s.TLS {
		scheme = "https://"
	}
	ctx, cancel := context.WithTimeout(ctx, 4*time.Second)
	defer cancel()
	ask, err := http.NewRequestWithContext(ctx, http.MethodGet, scheme+net.JoinHostPort(host, port)+"/healthz", nil)
	if err != nil {
		return err
	}
	// Whether it answers at all is asked, on this machine, by address: no certificate is
	// for that.
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}}}
	answer, err := client.Do(ask)
	if err != nil {
		return told.Fail("see what the server has written", "the server at %s does not answer", s.Address)
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		return told.Fail("see what the server has written", "the server at %s is not well: %s", s.Address, answer.Status)
	}
	fmt.Fprintln(a.stdout, "ok")
	return nil
}

// linkFor prints a link for somebody who cannot get in.
func (a *app) linkFor(ctx context.Context, name, url string) error {
	if url == "" {
		s, err := a.serving()
		if err != nil {
			return err
		}
		url = s.URL
	}
	book, err := a.readBook(ctx)
	if err != nil {
		return err
	}
	who, err := book.LearnerByName(ctx, name)
	if err != nil {
		return err
	}
	server, err := serve.New(ctx, serve.Options{Book: book, PublicURL: url, Clock: a.now})
	if err != nil {
		return err
	}
	link, err := server.LinkFor(ctx, who.ID)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.stdout, "For %s alone, once, within half an hour: %s\n", who.Name, link)
	return nil
}
