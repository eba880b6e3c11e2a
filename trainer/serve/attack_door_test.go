package serve

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlite"
)

// A link or a code works as often and as long as it says, and not once more; opening
// the page uses nothing up.
func TestLinksEnd(t *testing.T) {
	h := opened(t, record.NewMemory())
	ctx := context.Background()
	link, _ := h.server.FirstLink(ctx)
	secret := link[strings.LastIndex(link, "/")+1:]
	for range 3 {
		h.browser().get("/join/" + secret)
	}
	h.ahead.Store(int64(31 * time.Minute))
	if status, _ := h.browser().post("/join", "ticket", secret, "name", "Late", "passphrase", phrase); status != 403 {
		t.Errorf("a link that has ended: %d", status)
	}
	ida := h.instructor("Ida Vale")
	if again, err := h.server.FirstLink(ctx); again != "" || err != nil {
		t.Errorf("a link for a second first instructor: %q, %v", again, err)
	}
	class := ida.class("Monday group", "Ada Finch", "Ben Moor", "Cy Vale")
	status, page := ida.post("/classes/" + class + "/links")
	links := linkPattern.FindAllString(ida.ok(status, page, "Ada Finch"), -1)
	if len(links) != 3 {
		t.Fatalf("%d links", len(links))
	}
	own := links[0][strings.LastIndex(links[0], "/")+1:]
	first := h.browser()
	status, page = first.post("/join", "ticket", own, "passphrase", phrase)
	first.ok(status, page, "Ada Finch")
	for range 2 {
		if status, _ := h.browser().post("/join", "ticket", own, "passphrase", "another one of these"); status != 403 {
			t.Errorf("a link that was used: %d", status)
		}
	}
	// A new link ends the one before; a new code as well.
	ben := links[1][strings.LastIndex(links[1], "/")+1:]
	status, page = ida.post("/classes/" + class + "/links")
	ida.ok(status, page, "2 links of this class can still be used", "Yes, do it")
	if status, page := h.browser().get("/join/" + ben); status != 200 {
		t.Errorf("a link that was only to be replaced: %d\n%s", status, page)
	}
	ida.post("/classes/"+class+"/links", "confirm", "yes")
	if status, _ := h.browser().post("/join", "ticket", ben, "passphrase", phrase); status != 403 {
		t.Errorf("a link before the last: %d", status)
	}
	old := ida.code(class)
	status, page = ida.post("/classes/" + class + "/code")
	ida.ok(status, page, "A code is good already, until", "Yes, do it")
	status, page = h.browser().post("/join", "ticket", old, "step", "code")
	ida.ok(status, page, "Monday group")
	code := ida.code(class)
	if status, _ := h.browser().post("/join", "ticket", old, "name", "Ben Moor", "passphrase", phrase); status != 403 {
		t.Errorf("a code before the last: %d", status)
	}
	h.joined(code, "Ben Moor")
	h.ahead.Add(int64(codeFor + time.Minute))
	if status, _ := h.browser().post("/join", "ticket", code, "name", "Cy Vale", "passphrase", phrase); status != 403 {
		t.Errorf("a code that has ended: %d", status)
	}
	// Nothing of a secret is in the book.
	for _, id := range []string{secret, own, code} {
		ticketID, random, _ := splitTicket(id)
		if tk, err := h.book.Ticket(ctx, ticketID); err == nil && (strings.Contains(tk.Hash, random) || tk.Hash == "") {
			t.Errorf("a secret is kept as %q", tk.Hash)
		}
	}
}

// Guessing a passphrase or a code is stopped, and a restart gives no new tries.
func TestGuessingIsStopped(t *testing.T) {
	path := filepath.Join(t.TempDir(), "school.db")
	book, err := sqlite.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	h := opened(t, book)
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch")
	code := ida.code(class)
	thief := h.browser()
	h.still.Store(time.Now().UnixNano()) // a slow machine is no patience of the thief
	for n := range freeTries {
		if status, page := thief.post("/sign-in", "name", "Ida Vale", "passphrase", fmt.Sprint("wrong number ", n)); status != 401 || !strings.Contains(page, "do not belong together") {
			t.Errorf("try %d: %d", n, status)
		}
		if status, _ := thief.post("/join", "ticket", code[:5]+"BBBB-BBBB", "step", "code"); status != 403 {
			t.Errorf("code %d: %d", n, status)
		}
	}
	stopped := func(h *house) {
		t.Helper()
		b := h.browser()
		if status, page := b.post("/sign-in", "name", "Ida Vale", "passphrase", phrase); status != 401 || !strings.Contains(page, "too often") {
			t.Errorf("after guessing, the right passphrase: %d", status)
		}
		if status, page := b.post("/join", "ticket", code, "step", "code"); status != 403 || !strings.Contains(page, "too often") {
			t.Errorf("after guessing, the right code: %d", status)
		}
	}
	stopped(h)
	later := opened(t, book) // a server that was started anew
	later.still.Store(h.still.Load())
	stopped(later)
	later.ahead.Store(int64(time.Minute))
	b := later.browser()
	status, page := b.post("/sign-in", "name", "Ida Vale", "passphrase", phrase)
	b.ok(status, page, "New class")
	// A name that nobody has answers as one that somebody has.
	_, known := thief.post("/sign-in", "name", "Ada Finch", "passphrase", "wrong as well")
	_, unknown := thief.post("/sign-in", "name", "Nobody Here", "passphrase", "wrong as well")
	if strings.ReplaceAll(known, "Ada Finch", "") != strings.ReplaceAll(unknown, "Nobody Here", "") {
		t.Error("a page tells which names exist")
	}
	if longest := waits(100, time.Time{}.Add(time.Hour)).Sub(time.Time{}.Add(time.Hour)); longest != longestWait {
		t.Errorf("the longest wait is %v", longest)
	}
	t.Cleanup(func() { book.Close() })
}

// Who signs in gets a new session whatever the browser brought; signing out and a new
// passphrase end the others, and an open page is closed.
func TestSessionsAreNewAndEnd(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	before := ida.cookie()
	u, _ := url.Parse(h.url)
	fixed := h.browser()
	fixed.client.Jar.SetCookies(u, []*http.Cookie{{Name: "shadedrill", Value: "FIXED.FIXED"}})
	status, page := fixed.post("/sign-in", "name", "Ida Vale", "passphrase", phrase)
	fixed.ok(status, page)
	if strings.Contains(fixed.cookie(), "FIXED") || fixed.cookie() == before {
		t.Error("a session that somebody else has chosen is used")
	}
	c := fixed.drill()
	until(t, c, "Before you begin")
	status, page = ida.post("/account", "old", phrase, "passphrase", "another one of these")
	ida.ok(status, page)
	if err := c.Closed(late); err == nil || !strings.Contains(err.Error(), "4003") {
		t.Errorf("after a new passphrase the page elsewhere was closed with %v", err)
	}
	if status, page := fixed.get("/account"); !strings.Contains(page, "Sign in") {
		t.Errorf("after a new passphrase the other session holds: %d", status)
	}
	old := &browser{h, &http.Client{Jar: ida.client.Jar}}
	stale := old.cookie()
	ida.post("/sign-out")
	r, _ := http.NewRequest("GET", h.url+"/account", nil)
	r.Header.Set("Cookie", stale)
	if answer, err := http.DefaultTransport.RoundTrip(r); err != nil || answer.StatusCode != http.StatusSeeOther {
		t.Errorf("a session that was ended: %v, %v", answer.StatusCode, err)
	}
	// Unused, one ends by itself.
	status, page = ida.post("/sign-in", "name", "Ida Vale", "passphrase", "another one of these")
	ida.ok(status, page)
	h.ahead.Store(int64(idleFor + time.Hour))
	if _, page := ida.get("/account"); !strings.Contains(page, "Sign in") {
		t.Error("a session that nobody used for long holds")
	}
}

// Names are text on every page, and paths lead nowhere else.
func TestHostileNamesAndPaths(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor(`Ida "><script>alert(1)</script>`)
	class := ida.class(`<img src=x onerror=alert(2)>`, `Ada'"><svg onload=alert(3)>`, "Ben {{.Class}} Moor")
	ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", "4", "due", "2031-05-01")
	status, page := ida.post("/classes/"+class+"/sessions", "name", `"><script>alert(4)`, "kind", "value-first", "items", "2", "repeats", "2")
	ida.ok(status, page, `alert(4)`)
	status, page = ida.post("/classes/"+class+"/tests", "name", "spring", "items", "4")
	ida.ok(status, page)
	hostile := h.people(class)[1]
	status, page = ida.post("/classes/"+class+"/assignments/1", "what", "excused", "who", string(hostile), "why", "<script>alert(5)</script>", "confirm", "yes")
	ida.ok(status, page, "alert(5)")
	dead := func(path string, status int, page string) {
		t.Helper()
		if status != 200 {
			t.Errorf("%s: %d", path, status)
		}
		for _, live := range []string{"<script", "<img", "<svg onload", "onerror=alert(2)>"} {
			if strings.Contains(page, live) {
				t.Errorf("%s holds %s", path, live)
			}
		}
	}
	get, post := h.paths(class, hostile)
	for _, path := range append(get, "/", "/account", "/join", "/classes/"+class+"/session.html?of=%22%3E%3Cscript%3Ealert(4)") {
		if strings.HasSuffix(path, ".csv") || strings.HasSuffix(path, ".csv?of=Spring") || strings.HasSuffix(path, ".json") || strings.HasSuffix(path, ".jsonl") || strings.HasSuffix(path, ".txt") {
			continue // no page, and said to be none
		}
		if strings.Contains(path, "of=Spring") && strings.Contains(path, "/session.") || strings.Contains(path, "of=exam") {
			continue // there is none of that name
		}
		status, page := ida.get(path)
		dead(path, status, page)
	}
	for _, path := range post { // what asks first says who it is about
		if strings.Contains(path, "/people/") || strings.HasSuffix(path, "/links") || strings.HasSuffix(path, "/code") {
			status, page := ida.post(path, "into", string(h.people(class)[0]), "to", class)
			dead(path, status, page)
		}
	}
	status, page = ida.post("/classes/"+class+"/collect", "set", `panel:"><script>alert(4)`)
	dead("collect", status, page)
	for _, path := range []string{"/assets/../serve.go", "/assets/..%2f..%2fgo.mod", "/style.css/../../go.mod", "/classes/..%2f..%2fetc%2fpasswd", "/people/..%2f..%2f/progress.html", "/classes/" + class + "/..%2freview.html", "/classes/" + class + "/review.exe", "/assets/page.html", "/pages.html"} {
		r, _ := http.NewRequest("GET", h.url+path, nil)
		r.Header.Set("Cookie", ida.cookie())
		answer, err := http.DefaultTransport.RoundTrip(r)
		if err != nil {
			t.Fatal(err)
		}
		body, _ := io.ReadAll(answer.Body)
		answer.Body.Close()
		if answer.StatusCode == 200 || strings.Contains(string(body), "package serve") {
			t.Errorf("%s: %d", path, answer.StatusCode)
		}
	}
	// A body that is too large is cut off.
	if status, _ := ida.post("/classes/"+class+"/roster", "names", strings.Repeat("a", mostBody+1)); status == 200 {
		t.Error("a huge form is taken")
	}
}
