package serve

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlite"
)

// A monkey at the door: as nobody, a learner, a lead and an instructor it sends whatever
// the routes take and whatever they do not. Nothing breaks, nobody reads of others, and the
// answers are as they were given. With SHADEDRILL_HEAVY=1 forty monkeys do, on a book on
// the disk.
func TestAMonkeyAtTheDoor(t *testing.T) {
	worlds, steps := 1, 4000
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		worlds, steps = 40, 5000
	}
	for seed := range uint64(worlds) {
		if worlds > 1 {
			seed = rand.Uint64() // others each time; what all must pass is always the same
		}
		t.Run(fmt.Sprintf("seed-%d", seed), func(t *testing.T) { letLoose(t, seed, steps, worlds > 1) })
	}
}

func letLoose(t *testing.T, seed uint64, steps int, onDisk bool) {
	ctx := context.Background()
	var book record.Store = record.NewMemory()
	if onDisk {
		file, err := sqlite.Open(ctx, filepath.Join(t.TempDir(), "school.db"))
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { file.Close() })
		book = file
	}
	var said written
	h := openedWith(t, Options{Book: book, Log: slog.New(slog.NewTextHandler(&said, &slog.HandlerOptions{Level: slog.LevelDebug}))})
	m := newMonkey(h, rand.New(rand.NewPCG(seed, 1)))
	before := h.answersOf(m.far)
	if !strings.Contains(before, "Trial") {
		t.Fatal("nobody out of reach has an answer")
	}
	read := map[string]int{} // pages by who read them
	for n := range steps {
		who := &m.callers[n%len(m.callers)]
		q := m.request(who)
		w := httptest.NewRecorder()
		h.server.handler().ServeHTTP(w, q)
		tell := func() string { return fmt.Sprintf("step %d, %s, %s %q: %d", n, who.role, q.Method, q.URL, w.Code) }
		if w.Code >= 500 {
			t.Errorf("%s\n%s", tell(), w.Body)
		}
		page := w.Body.String()
		for _, name := range who.hidden {
			if strings.Contains(page, name) {
				t.Errorf("%s tells of %s", tell(), name)
			}
		}
		if w.Code == 200 {
			read[who.role]++
		}
		if t.Failed() {
			return
		}
	}
	h.malformed(m.chance, steps/50)
	for _, role := range []string{"nobody", "learner", "lead", "instructor"} {
		if read[role] < steps/200 {
			t.Errorf("the %s has read %d pages: the monkey tried too little", role, read[role])
		}
	}
	if p, f := h.server.counts.panics.Load(), h.server.counts.failures.Load(); p != 0 || f != 0 || strings.Contains(said.String(), "level=ERROR") {
		t.Errorf("%d panics, %d failures; the log:\n%s", p, f, firstError(said.String()))
	}
	if broken, err := record.VerifyChains(ctx, book.(record.Chained), record.Filter{}); err != nil || len(broken) > 0 {
		t.Errorf("chains are broken: %v, %v", broken, err)
	}
	if after := h.answersOf(m.far); before != after {
		t.Error("answers of somebody out of reach have changed")
	}
}

func firstError(log string) string {
	for line := range strings.Lines(log) {
		if strings.Contains(line, "level=ERROR") {
			return line
		}
	}
	return ""
}

// answersOf are somebody's answers as text.
func (h *house) answersOf(who personID) string {
	h.t.Helper()
	text, err := json.Marshal(h.attempts(who))
	if err != nil {
		h.t.Fatal(err)
	}
	return string(text)
}

// caller is one of those for whom the monkey speaks.
type caller struct {
	role, cookie string
	hidden       []string // names that no page may tell them
}

type monkey struct {
	h       *house
	chance  *rand.Rand
	callers []caller
	routes  []string // methods and paths
	ids     []string // of classes and people, theirs and others'
	values  []string
	far     personID // somebody whom none of the callers may touch
}

func newMonkey(h *house, chance *rand.Rand) *monkey {
	ctx := context.Background()
	ida := h.instructor("Ida Vale")
	monday := h.practised(ida)
	status, page := ida.post("/classes/"+monday+"/roster", "names", "Ada Finch\nBen Moor\nLea Orme")
	ida.ok(status, page)
	status, page = ida.post("/classes/"+monday+"/tests", "name", "spring", "items", "4")
	ida.ok(status, page)
	code := ida.code(monday)
	ada, lea := h.joined(code, "Ada Finch"), h.joined(code, "Lea Orme")
	status, page = ida.post("/classes/"+monday+"/people/"+string(h.person("Lea Orme").ID)+"/lead", "confirm", "yes")
	ida.ok(status, page)
	team := lea.class("The practice", "Tam Vane")
	rolf, err := h.book.AddLearner(ctx, scoring.Learner{Name: "Rolf Stein", Role: scoring.RoleInstructor, At: time.Now()})
	if err != nil {
		h.t.Fatal(err)
	}
	friday, err := h.book.AddClass(ctx, scoring.Class{Name: "Friday group", At: time.Now()})
	if err != nil {
		h.t.Fatal(err)
	}
	// One of those who practised goes over to the other class and takes another name.
	far := h.person("Simulated 03")
	for _, err := range []error{h.book.Unenrol(ctx, scoring.ClassID(monday), far.ID, time.Now()), h.book.Enrol(ctx, friday.ID, far.ID, time.Now()), h.book.Enrol(ctx, friday.ID, rolf.ID, time.Now())} {
		if err != nil {
			h.t.Fatal(err)
		}
	}
	m := &monkey{h: h, chance: chance, far: far.ID}
	friends := []string{"Simulated 01", "Simulated 02", "Ben Moor"}
	strangers := []string{"Rolf Stein", "Simulated 03", "Friday group"}
	m.callers = []caller{
		{"nobody", "", slices.Concat(friends, strangers, []string{"Ada Finch", "Lea Orme", "Tam Vane", "Ida Vale"})},
		{"learner", ada.cookie(), slices.Concat(friends, strangers, []string{"Lea Orme", "Tam Vane", "Ida Vale"})},
		{"lead", lea.cookie(), slices.Concat(friends, strangers, []string{"Ada Finch", "Ida Vale"})},
		{"instructor", ida.cookie(), slices.Concat(strangers, []string{"Tam Vane"})},
	}
	for _, r := range h.server.routes() {
		if !strings.HasPrefix(r.pattern, "GET /assets/") {
			m.routes = append(m.routes, r.pattern)
		}
	}
	m.ids = []string{monday, team, string(friday.ID), "01J0000000000000000000000A"}
	for _, class := range m.ids[:3] {
		for _, id := range h.people(class) {
			m.ids = append(m.ids, string(id))
		}
	}
	forms, err := h.book.Forms(ctx)
	if err != nil {
		h.t.Fatal(err)
	}
	m.values = append([]string{"", " ", "0", "1", "2", "-1", "4", "1e309", "NaN", "99999999999999999999", "80%", "2.0", "yes", "everywhere", "code", "team", "2031-05-01", "2031-02-30", "0001-01-01", "9999-12-31T23:59",
		"value-first", "threshold", "bench", "spring", "Spring", "due", "extended", "excused", "dropped", "removed", code, phrase, "\x00", "\xff\xfe", "'; DROP TABLE learners; --", `"><script>alert(1)</script>`,
		"{{.Class}}", "../../etc/passwd", "=1+1", "%s%n%d", "\u202eabc", "مريم", "👩‍🔬", "ﷺ", "e\u0301", "a\r\nSet-Cookie: x=y", strings.Repeat("A", 300), strings.Repeat("é", 5000), "panel:Spring", "assignment:", "exam:",
		h.assignment(1), forms[0].Set().Ref.String()}, m.ids...)
	return m
}

func (m *monkey) one(of []string) string { return of[m.chance.IntN(len(of))] }

// fields are those of all forms and addresses.
var fields = []string{"name", "names", "ticket", "passphrase", "old", "step", "runs", "kind", "count", "pass", "due", "items", "repeats", "set", "confirm", "what", "who", "item", "until", "why", "back", "into", "to",
	"against", "of", "before", "assignment", "everywhere"}

// request is one that a browser, or a program, could send.
func (m *monkey) request(who *caller) *http.Request {
	method, path, _ := strings.Cut(m.one(m.routes), " ")
	var reports, doing []string
	for name := range classReports {
		reports = append(reports, name)
	}
	slices.Sort(reports)
	reports = append(reports, "progress", "certificate", "answers", "nothing")
	for name := range deeds {
		doing = append(doing, name)
	}
	slices.Sort(doing)
	doing = append(doing, "nothing")
	report := m.one(reports) + "." + m.one([]string{"html", "html", "csv", "json", "jsonl", "txt", "exe", ""})
	for _, part := range [][2]string{{"{class}", m.one(m.ids)}, {"{person}", m.one(m.ids)}, {"{number}", m.one([]string{"1", "0", "-1", "99999999999999999999", "x"})}, {"{deed}", m.one(doing)}, {"{report}", report}, {"{ticket}", m.one(m.values)}, {"{$}", ""}} {
		if m.chance.IntN(20) == 0 {
			part[1] = m.one(m.values)
		}
		path = strings.ReplaceAll(path, part[0], part[1])
	}
	if m.chance.IntN(12) == 0 {
		method = m.one([]string{"GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "FOO"})
	}
	// What costs a passphrase, or ends what the others stand on, is rarer.
	dear := path == "/sign-in" || path == "/join" || path == "/account" || path == "/sign-out"
	if dear && m.chance.IntN(8) != 0 {
		method, path = "GET", "/join"
	}
	form := url.Values{}
	for range m.chance.IntN(9) {
		form.Add(m.one(fields), m.one(m.values))
	}
	if m.chance.IntN(3) == 0 {
		form.Set("set", m.one(m.values[len(m.values)-len(m.ids)-5:len(m.values)-len(m.ids)]))
	}
	if strings.HasSuffix(path, "/people/") || path == "/sign-out" || strings.HasSuffix(path, "/erase") {
		form.Del("confirm")
	}
	body := form.Encode()
	kind := "application/x-www-form-urlencoded"
	switch m.chance.IntN(20) {
	case 0:
		body = strings.Repeat("%", m.chance.IntN(2000))
	case 1:
		kind = m.one([]string{"", "text/plain", "multipart/form-data", "multipart/form-data; boundary=x", "application/json", "nonsense;;;"})
	case 2:
		kind = "multipart/form-data; boundary=x"
		body = "--x\r\nContent-Disposition: form-data; name=\"roster\"; filename=\"r.csv\"\r\n\r\nname,number,email\n" + m.one(m.values) + "," + m.one(m.values) + "," + m.one(m.values) + "\r\n--x--\r\n"
	}
	q := httptest.NewRequest("GET", "/", bytes.NewBufferString(body)).WithContext(m.h.t.Context())
	q.Method, q.Host, q.URL = method, strings.TrimPrefix(m.h.url, "http://"), &url.URL{Path: path}
	if m.chance.IntN(3) == 0 {
		q.URL.RawQuery = form.Encode()
	}
	q.Header.Set("Content-Type", kind)
	if m.chance.IntN(25) != 0 {
		q.Header.Set("Origin", m.h.url)
	} else {
		q.Header.Set("Origin", m.one([]string{"null", "http://evil.example", ""}))
	}
	switch {
	case m.chance.IntN(30) == 0:
		q.Header.Set("Cookie", m.one([]string{"shadedrill=", "shadedrill=a.b", "shadedrill=" + m.one(m.values), "=;=;"}))
	case who.cookie != "":
		q.Header.Set("Cookie", who.cookie)
	}
	return q
}

// malformed sends what is hardly HTTP, over the wire.
func (h *house) malformed(chance *rand.Rand, n int) {
	h.t.Helper()
	address := strings.TrimPrefix(h.url, "http://")
	for i := range n {
		parts := []string{"GET", " ", "/", " HTTP/1.1", "\r\n", "Host: " + address, "\r\n", "Content-Length: 5", "\r\n", "Transfer-Encoding: chunked", "\r\n", "Cookie: shadedrill=x", "\r\n\r\n", "zz\r\n", "\x00\xff", "PRI * HTTP/2.0\r\n\r\n", strings.Repeat("A: b\r\n", 400)}
		c, err := net.Dial("tcp", address)
		if err != nil {
			h.t.Fatal(err)
		}
		for range chance.IntN(14) {
			if _, err := c.Write([]byte(parts[chance.IntN(len(parts))])); err != nil {
				break // it was closed: that is an answer
			}
		}
		c.Close()
		if i%10 == 0 {
			if status, _ := h.browser().get("/healthz"); status != 200 {
				h.t.Errorf("after malformed requests the server says %d", status)
			}
		}
	}
}
