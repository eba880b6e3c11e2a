package serve

import (
	"context"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"strings"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// paths are all ways into what is about a class or a person: every route of the server
// that names one, with every report and deed there is.
func (h *house) paths(class string, person personID) (get, post []string) {
	h.t.Helper()
	of := map[string][]string{"{class}": {class}, "{person}": {string(person)}, "{number}": {"1"}}
	for name := range classReports {
		of["/{class}/{report}"] = append(of["/{class}/{report}"], "/{class}/"+name+".html?of=Spring", "/{class}/"+name+".csv?of=Spring", "/{class}/"+name+".json", "/{class}/"+name+".txt")
	}
	of["/{person}/{report}"] = []string{"/{person}/progress.html", "/{person}/progress.json", "/{person}/answers.csv", "/{person}/answers.jsonl", "/{person}/certificate.html?of=exam:A:1"}
	for name := range deeds {
		of["{deed}"] = append(of["{deed}"], name)
	}
	for _, r := range h.server.routes() {
		method, path, _ := strings.Cut(r.pattern, " ")
		if !strings.Contains(path, "{class}") && !strings.Contains(path, "{person}") {
			continue
		}
		list := []string{path}
		for _, part := range []string{"/{class}/{report}", "/{person}/{report}", "{deed}", "{class}", "{person}", "{number}"} {
			var further []string
			for _, p := range list {
				if !strings.Contains(p, part) {
					further = append(further, p)
					continue
				}
				for _, with := range of[part] {
					further = append(further, strings.ReplaceAll(p, part, with))
				}
			}
			list = further
		}
		for _, p := range list {
			if strings.Contains(p, "{") {
				h.t.Fatalf("the way %s is not tried", p)
			}
		}
		if method == "GET" {
			get = append(get, list...)
		} else {
			post = append(post, list...)
		}
	}
	if len(get) < 30 || len(post) < 15 {
		h.t.Fatalf("only %d and %d ways are tried", len(get), len(post))
	}
	return get, post
}

// all is what a book holds of people, classes and what they are given, as text.
func (h *house) all() string {
	h.t.Helper()
	ctx := context.Background()
	people, err := h.book.Learners(ctx)
	list := []any{people}
	take := func(v any, e error) { list, err = append(list, v), errors.Join(err, e) }
	classes, e := h.book.Classes(ctx)
	take(classes, e)
	for _, c := range classes {
		in, e := h.book.Memberships(ctx, c.ID)
		take(in, e)
		tickets, e := h.book.Tickets(ctx, c.ID)
		take(tickets, e)
		done, e := h.book.ServedIn(ctx, c.ID)
		take(done, e)
	}
	given, e := h.book.Assignments(ctx, "")
	take(given, e)
	forms, e := h.book.Forms(ctx)
	take(forms, e)
	sessions, e := h.book.Panels(ctx)
	take(sessions, e)
	if err != nil {
		h.t.Fatal(err)
	}
	return fmt.Sprint(list...)
}

// two are a school of two classes that two instructors run.
func two(t *testing.T) (h *house, ida, rolf *browser, monday, friday string, ada, zoe *browser) {
	h = opened(t, record.NewMemory())
	ida = h.instructor("Ida Vale")
	monday = ida.class("Monday group", "Ada Finch", "Ben Moor")
	ada = h.joined(ida.code(monday), "Ada Finch")
	// The second instructor is made on the machine itself.
	ctx := context.Background()
	l, err := h.book.AddLearner(ctx, scoring.Learner{Name: "Rolf Stein", Role: scoring.RoleInstructor, At: time.Now()})
	if err != nil {
		t.Fatal(err)
	}
	link, err := h.server.LinkFor(ctx, l.ID)
	if err != nil {
		t.Fatal(err)
	}
	rolf = h.browser()
	status, page := rolf.post("/join", "ticket", link[strings.LastIndex(link, "/")+1:], "passphrase", phrase)
	rolf.ok(status, page, "New class")
	friday = rolf.class("Friday group", "Zoe Quill")
	zoe = h.joined(rolf.code(friday), "Zoe Quill")
	return h, ida, rolf, monday, friday, ada, zoe
}

// Whoever asks for what is not theirs is told that it is not there, whatever they send
// along, and nothing is changed by it.
func TestNobodyReachesWhatIsNotTheirs(t *testing.T) {
	h, ida, rolf, monday, friday, ada, zoe := two(t)
	for b, class := range map[*browser]string{ida: monday, rolf: friday} {
		for _, form := range [][]string{{"/assign", "kind", "value-first", "count", "4", "due", "2031-05-01"}, {"/tests", "name", "spring", "items", "4"},
			{"/sessions", "name", "Of " + class, "kind", "value-first", "items", "2", "repeats", "2"}} {
			status, page := b.post("/classes/"+class+form[0], form[1:]...)
			b.ok(status, page)
		}
	}
	before := h.all()
	try := func(who string, b *browser, class string, person personID, denied int) {
		t.Helper()
		get, post := h.paths(class, person)
		for _, path := range get {
			if status, page := b.get(path); status != denied || strings.Contains(page, "Ada Finch") || strings.Contains(page, "Zoe Quill") {
				t.Errorf("%s gets %s: %d", who, path, status)
			}
		}
		for _, path := range post {
			// What is sent would do, if it were theirs to do.
			if status, _ := b.post(path, "confirm", "yes", "set", h.assignment(1), "names", "Eve Wyn", "role", "instructor", "who", string(person), "into", string(person), "to", class,
				"what", "extended", "until", "2031-06-01", "due", "2031-06-01", "kind", "value-first", "count", "4", "items", "2", "repeats", "2", "name", "Mine"); status != denied {
				t.Errorf("%s posts %s: %d", who, path, status)
			}
		}
	}
	adaID, zoeID, benID := h.person("Ada Finch").ID, h.person("Zoe Quill").ID, h.person("Ben Moor").ID
	try("a student, of a classmate", ada, monday, benID, 404)
	try("a student, of another class", ada, friday, zoeID, 404)
	try("another instructor", rolf, monday, adaID, 404)
	try("the first instructor", ida, friday, zoeID, 404)
	try("a student of nobody", zoe, "01J0000000000000000000000A", "01J0000000000000000000000B", 404)
	// One's own class does not open a door to another's person.
	if status, _ := rolf.post("/classes/"+friday+"/people/"+string(adaID)+"/erase", "confirm", "yes"); status != 404 {
		t.Errorf("an instructor erases somebody of another class through their own: %d", status)
	}
	if status, _ := rolf.post("/classes/"+friday+"/people/"+string(zoeID)+"/merge", "confirm", "yes", "into", string(adaID)); status != 404 {
		t.Errorf("an instructor joins their student with another's: %d", status)
	}
	if status, _ := rolf.post("/classes/"+friday+"/people/"+string(zoeID)+"/move", "confirm", "yes", "to", monday); status != 404 {
		t.Errorf("an instructor moves their student into another's class: %d", status)
	}
	given, err := h.book.Assignments(context.Background(), scoring.ClassID(monday))
	if err != nil {
		t.Fatal(err)
	}
	theirs := fmt.Sprintf("/classes/%s/assignments/%d", friday, given[0].Number)
	if status, _ := rolf.get(theirs); status != 404 {
		t.Errorf("an instructor reads another class's assignment through their own: %d", status)
	}
	if status, _ := rolf.post(theirs, "what", "removed", "confirm", "yes"); status != 404 {
		t.Errorf("an instructor takes another class's assignment back through their own: %d", status)
	}
	for _, do := range []string{"/begin", "/collect"} {
		if status, _ := rolf.post("/classes/"+friday+do, "set", given[0].Set().Ref.String(), "confirm", "yes"); status != 404 {
			t.Errorf("an instructor does %s to another class's assignment through their own: %d", do, status)
		}
	}
	if status, _ := rolf.get("/classes/" + friday + "/session.html?of=Of+" + monday); status != 404 {
		t.Errorf("an instructor reads another class's session through their own: %d", status)
	}
	if after := h.all(); before != after {
		t.Errorf("before %v, after %v", before, after)
	}
	// Without a cookie, or with one that was made up, nobody is let in at all.
	for _, cookie := range []string{"", "shadedrill=x", "shadedrill=AAAA.BBBB", "shadedrill=" + strings.Split(strings.TrimPrefix(ada.cookie(), "shadedrill="), ".")[0] + ".WRONG"} {
		get, post := h.paths(monday, adaID)
		for _, m := range []struct {
			method string
			paths  []string
		}{{"GET", append(get, "/drill", "/account", "/socket")}, {"POST", append(post, "/account", "/sign-out", "/classes")}} {
			for _, path := range m.paths {
				r, _ := http.NewRequest(m.method, h.url+path, nil)
				r.Header.Set("Origin", h.url)
				if cookie != "" {
					r.Header.Set("Cookie", cookie)
				}
				answer, err := http.DefaultTransport.RoundTrip(r)
				if err != nil {
					t.Fatal(err)
				}
				body, _ := io.ReadAll(answer.Body)
				answer.Body.Close()
				if answer.StatusCode < 300 || strings.Contains(string(body), "Ada") {
					t.Errorf("%s %s with cookie %q: %d", m.method, path, cookie, answer.StatusCode)
				}
			}
		}
	}
}

// To be on a list is to be read by who runs the class: nobody is put there by name out
// of another class, nobody becomes more by a roster, and an instructor's account is
// taken over by nobody.
func TestNobodyIsTakenOver(t *testing.T) {
	h, ida, rolf, monday, friday, _, zoe := two(t)
	for _, names := range []string{"Ada Finch", "Ida Vale", "New Person\nada FINCH"} {
		if status, _ := rolf.post("/classes/"+friday+"/roster", "names", names); status != 422 {
			t.Errorf("put on the list: %q, %d", names, status)
		}
	}
	var body strings.Builder
	form := multipart.NewWriter(&body)
	file, err := form.CreateFormFile("roster", "roster.csv")
	if err != nil {
		t.Fatal(err)
	}
	io.WriteString(file, "name,role\nNew Person,instructor\n")
	form.Close()
	q, _ := http.NewRequest("POST", h.url+"/classes/"+friday+"/roster", strings.NewReader(body.String()))
	q.Header.Set("Content-Type", form.FormDataContentType())
	q.Header.Set("Origin", h.url)
	if answer, err := rolf.client.Do(q); err != nil {
		t.Fatal(err)
	} else if answer.Body.Close(); answer.StatusCode != 422 {
		t.Errorf("an instructor is made by a roster: %d", answer.StatusCode)
	}
	if _, err := h.book.LearnerByName(context.Background(), "New Person"); err == nil {
		t.Error("half of a refused list was taken")
	}
	// With a code somebody comes of their own will; then both instructors read them, and
	// neither alone erases them.
	status, page := zoe.post("/join", "ticket", ida.code(monday))
	zoe.ok(status, page, "Monday group")
	id := h.person("Zoe Quill").ID
	for _, b := range []*browser{ida, rolf} {
		status, page := b.get("/people/" + string(id) + "/progress.html")
		b.ok(status, page, "Zoe Quill")
	}
	for _, deed := range []string{"erase", "merge", "move", "off"} {
		if status, _ := ida.post("/classes/"+monday+"/people/"+string(id)+"/"+deed, "confirm", "yes", "to", monday, "into", string(h.person("Ada Finch").ID)); status != 404 {
			t.Errorf("one of two instructors does %s: %d", deed, status)
		}
	}
	// A code on a wall lets no instructor in, and makes nobody one.
	if status, _ := rolf.post("/join", "ticket", ida.code(monday)); status != 403 {
		t.Errorf("an instructor joins by a code: %d", status)
	}
	thief := h.browser()
	if status, _ := thief.post("/join", "ticket", ida.code(monday), "name", "Ida Vale", "passphrase", phrase); status != 403 {
		t.Errorf("an instructor's name is taken by a code: %d", status)
	}
	if status, _ := thief.post("/join", "ticket", ida.code(monday), "name", "Ada Finch", "passphrase", phrase); status != 403 {
		t.Errorf("an account is taken over by a code: %d", status)
	}
	// Two instructors of one class do not take each other's accounts.
	ctx := context.Background()
	if err := h.book.Enrol(ctx, scoring.ClassID(monday), h.person("Rolf Stein").ID, time.Now()); err != nil {
		t.Fatal(err)
	}
	for name := range deeds {
		if status, _ := rolf.post("/classes/"+monday+"/people/"+string(h.person("Ida Vale").ID)+"/"+name, "confirm", "yes"); status == 200 {
			t.Errorf("an instructor does %s to another", name)
		}
	}
}

// Another site can neither send a form nor open a socket, and neither can a name that
// somebody lets point here.
func TestOtherSitesAreRefused(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	for name, change := range map[string]func(*http.Request){
		"another origin":   func(r *http.Request) { r.Header.Set("Origin", "http://evil.example") },
		"a null origin":    func(r *http.Request) { r.Header.Set("Origin", "null") },
		"a cross-site one": func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") },
		"another name":     func(r *http.Request) { r.Host = "evil.example"; r.Header.Set("Origin", "http://evil.example") },
	} {
		r, _ := http.NewRequest("POST", h.url+"/classes", strings.NewReader("name=Stolen"))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Cookie", ida.cookie())
		change(r)
		answer, err := http.DefaultTransport.RoundTrip(r)
		if err != nil {
			t.Fatal(err)
		}
		answer.Body.Close()
		if answer.StatusCode != http.StatusForbidden && answer.StatusCode != http.StatusMisdirectedRequest {
			t.Errorf("a form from %s: %d", name, answer.StatusCode)
		}
	}
	if list, _ := h.book.Classes(context.Background()); len(list) != 0 {
		t.Errorf("a class was made: %v", list)
	}
	for _, origin := range []string{"http://evil.example", "", "null", h.url + ".evil.example", strings.Replace(h.url, "http:", "https:", 1)} {
		if c, err := ida.dial(origin); err == nil {
			c.Cut()
			t.Errorf("a socket for %q", origin)
		}
	}
	if c, err := h.browser().dial(h.url); err == nil {
		c.Cut()
		t.Error("a socket for nobody")
	}
	// And every page says what it may load.
	for _, path := range []string{"/", "/join", "/drill", "/account", "/people/" + string(h.person("Ida Vale").ID) + "/progress.html", "/nothing-here"} {
		r, err := ida.client.Get(h.url + path)
		if err != nil {
			t.Fatal(err)
		}
		r.Body.Close()
		if p := r.Header.Get("Content-Security-Policy"); r.StatusCode == 200 && (!strings.Contains(p, "default-src 'none'") || strings.Contains(p, "script-src 'unsafe")) {
			t.Errorf("%s may load %q", path, p)
		}
	}
}
