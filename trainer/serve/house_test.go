package serve

import (
	"cmp"
	"context"
	"fmt"
	"html"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"regexp"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer/web/webtest"
)

// late is how long a test waits for what should come at once.
const late = 30 * time.Second

// house is a server on this machine, with a clock that can be set forward.
type house struct {
	t      testing.TB
	server *Server
	book   record.Store
	url    string
	ahead  atomic.Int64 // by how much its clock is ahead of the machine's
	still  atomic.Int64 // where the clock stands, in nanoseconds; 0 while it goes
}

// opened starts a server on a book.
func opened(t testing.TB, book record.Store) *house { return openedWith(t, Options{Book: book}) }

// cheap is the memory of a hash that takes next to no time, in KiB.
const cheap = 64

// openedWith starts a server; the options are completed.
func openedWith(t testing.TB, o Options) *house {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	h := &house{t: t, book: o.Book, url: "http://" + l.Addr().String()}
	base, end := context.WithCancel(context.Background())
	o.hashMemory = cmp.Or(o.hashMemory, cheap)
	o.PublicURL, o.Clock = h.url, func() time.Time {
		now := time.Now()
		if still := h.still.Load(); still != 0 {
			now = time.Unix(0, still)
		}
		return now.Add(time.Duration(h.ahead.Load()))
	}
	h.server, err = New(base, o)
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ran := make(chan error, 1)
	plan, err := Door{Listen: l.Addr().String()}.Plan()
	if err != nil {
		t.Fatal(err)
	}
	go func() { ran <- h.server.Run(ctx, l, plan.TLS) }()
	t.Cleanup(func() {
		stop()
		if err := <-ran; err != nil {
			t.Error(err)
		}
		end()
	})
	return h
}

// browser is somebody's, with its cookies.
type browser struct {
	h      *house
	client *http.Client
}

func (h *house) browser() *browser {
	jar, _ := cookiejar.New(nil)
	return &browser{h, &http.Client{Jar: jar, Timeout: 4 * late}}
}

// at is the same browser at another server of the same house, as behind one name that
// leads to whichever server lives.
func (b *browser) at(other *house) *browser {
	there := other.browser()
	here, _ := url.Parse(b.h.url)
	to, _ := url.Parse(other.url)
	there.client.Jar.SetCookies(to, b.client.Jar.Cookies(here))
	return there
}

func (b *browser) get(path string) (int, string) {
	b.h.t.Helper()
	r, err := b.client.Get(b.h.url + path)
	if err != nil {
		b.h.t.Fatal(err)
	}
	defer r.Body.Close()
	text, _ := io.ReadAll(r.Body)
	return r.StatusCode, string(text)
}

func (b *browser) post(path string, fields ...string) (int, string) {
	b.h.t.Helper()
	form := url.Values{}
	for i := 0; i < len(fields); i += 2 {
		form.Set(fields[i], fields[i+1])
	}
	q, _ := http.NewRequest("POST", b.h.url+path, strings.NewReader(form.Encode()))
	q.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	q.Header.Set("Origin", b.h.url)
	r, err := b.client.Do(q)
	if err != nil {
		b.h.t.Fatal(err)
	}
	defer r.Body.Close()
	text, _ := io.ReadAll(r.Body)
	return r.StatusCode, string(text)
}

// ok fails unless a page came and shows the texts.
func (b *browser) ok(status int, page string, texts ...string) string {
	b.h.t.Helper()
	if status != http.StatusOK {
		b.h.t.Fatalf("status %d:\n%s", status, page)
	}
	for _, text := range texts {
		if !strings.Contains(html.UnescapeString(page), text) {
			b.h.t.Fatalf("the page does not say %q:\n%s", text, page)
		}
	}
	return page
}

func (b *browser) cookie() string {
	u, _ := url.Parse(b.h.url)
	for _, c := range b.client.Jar.Cookies(u) {
		return c.String()
	}
	return ""
}

// drill opens the person's own picture.
func (b *browser) drill() *webtest.Client {
	b.h.t.Helper()
	c, err := b.dial(b.h.url)
	if err != nil {
		b.h.t.Fatal(err)
	}
	b.h.t.Cleanup(c.Cut)
	return c
}

func (b *browser) dial(origin string) (*webtest.Client, error) {
	return webtest.Dial(context.Background(), "ws"+strings.TrimPrefix(b.h.url, "http")+"/socket", webtest.Options{W: 120, H: 36,
		Header: http.Header{"Origin": {origin}, "Cookie": {b.cookie()}}})
}

func until(t testing.TB, c *webtest.Client, texts ...string) {
	t.Helper()
	err := c.Until(late, func(p *webtest.Picture) bool {
		for _, text := range texts {
			if !p.Shows(text) {
				return false
			}
		}
		return true
	})
	if err != nil {
		t.Fatalf("waiting for %q: %v", texts, err)
	}
}

// press presses a key as a person does: not before the picture can have been seen. The
// clock is set forward by as much.
func (h *house) press(c *webtest.Client, names ...string) {
	t := h.t
	t.Helper()
	h.ahead.Add(int64(time.Second))
	if err := c.Press(names...); err != nil {
		t.Fatal(err)
	}
}

const phrase = "grey is not beige"

var (
	linkPattern  = regexp.MustCompile(`http://[0-9.:]+/join/[A-Z0-9.]+`)
	codePattern  = regexp.MustCompile(`[A-Z]{4}-[A-Z]{4}-[A-Z]{4}`)
	classPattern = regexp.MustCompile(`/classes/([0-9A-Z]{26})`)
)

// instructor opens the first link.
func (h *house) instructor(name string) *browser {
	h.t.Helper()
	link, err := h.server.FirstLink(context.Background())
	if err != nil || link == "" {
		h.t.Fatalf("no link for the first instructor: %q, %v", link, err)
	}
	b := h.browser()
	secret := link[strings.LastIndex(link, "/")+1:]
	status, page := b.get("/join/" + secret)
	b.ok(status, page, "first instructor")
	status, page = b.post("/join", "ticket", secret, "name", name, "passphrase", phrase)
	b.ok(status, page, "New class")
	return b
}

// class makes a class with people on its list, and gives its identifier.
func (b *browser) class(name string, people ...string) string {
	b.h.t.Helper()
	status, page := b.post("/classes", "name", name)
	b.ok(status, page, name)
	id := classPattern.FindStringSubmatch(page)[1]
	if len(people) > 0 {
		status, page = b.post("/classes/"+id+"/roster", "names", strings.Join(people, "\n"))
		b.ok(status, page, people...)
	}
	return id
}

// assignment is what a form names an assignment by.
func (h *house) assignment(number int) string {
	h.t.Helper()
	a, err := h.book.Assignment(context.Background(), number)
	if err != nil {
		h.t.Fatal(err)
	}
	return a.Set().Ref.String()
}

// people are those on a class's list.
func (h *house) people(class string) (ids []personID) {
	h.t.Helper()
	list, err := h.book.Roster(context.Background(), scoring.ClassID(class))
	if err != nil {
		h.t.Fatal(err)
	}
	for _, l := range list {
		ids = append(ids, l.ID)
	}
	return ids
}

func (b *browser) code(class string) string {
	b.h.t.Helper()
	status, page := b.post("/classes/"+class+"/code", "confirm", "yes")
	return codePattern.FindString(b.ok(status, page))
}

// joined is a student who has come in by a code.
func (h *house) joined(code, name string) *browser {
	h.t.Helper()
	b := h.browser()
	status, page := b.post("/join", "step", "code", "ticket", strings.ToLower(code))
	b.ok(status, page, "Before you begin")
	status, page = b.post("/join", "ticket", code, "name", name, "passphrase", phrase)
	b.ok(status, page, "Practise")
	return b
}

// checked takes a new student past cautions and display check.
func (h *house) checked(c *webtest.Client) {
	t := h.t
	t.Helper()
	until(t, c, "Before you begin")
	h.press(c, "enter")
	until(t, c, "question 1 of 4")
	h.press(c, "1")
	until(t, c, "question 2 of 4")
	h.press(c, "1")
	until(t, c, "question 3 of 4")
	h.press(c, "3")
	until(t, c, "question 4 of 4")
	h.press(c, "1")
	until(t, c, "The check is repeated after a week and for another screen or browser.")
	h.press(c, "enter")
	until(t, c, "Today's practice")
}

func (h *house) person(name string) scoring.Learner {
	h.t.Helper()
	l, err := h.book.LearnerByName(context.Background(), name)
	if err != nil {
		h.t.Fatal(err)
	}
	return l
}

func (h *house) attempts(who personID) (list []scoring.Attempt) {
	h.t.Helper()
	for a, err := range h.book.Attempts(context.Background(), record.Filter{Learner: who}) {
		if err != nil {
			h.t.Fatal(err)
		}
		list = append(list, a)
	}
	return list
}

// answer answers trials of a value-first drill from one to another, seeing each.
func (h *house) answer(c *webtest.Client, from, to, of int) {
	t := h.t
	t.Helper()
	for n := from; n <= to; n++ {
		until(t, c, fmt.Sprintf("trial %d of %d Step 1 of 2", n, of))
		h.press(c, []string{"left", "right"}[n%2])
		h.press(c, "enter")
		until(t, c, fmt.Sprintf("trial %d of %d Step 2 of 2", n, of))
		h.press(c, "enter")
		until(t, c, fmt.Sprintf("trial %d of %d, answered", n, of))
		h.press(c, "enter")
	}
}
