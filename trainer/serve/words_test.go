package serve

import (
	"context"
	"fmt"
	"html"
	"io"
	"math/rand/v2"
	"mime/multipart"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/simulate"
)

// upload sends a roster as a browser does.
func (b *browser) upload(class, roster string) (int, string) {
	b.h.t.Helper()
	var body strings.Builder
	form := multipart.NewWriter(&body)
	file, err := form.CreateFormFile("roster", "roster.csv")
	if err != nil {
		b.h.t.Fatal(err)
	}
	io.WriteString(file, roster)
	form.Close()
	q, _ := http.NewRequest("POST", b.h.url+"/classes/"+class+"/roster", strings.NewReader(body.String()))
	q.Header.Set("Content-Type", form.FormDataContentType())
	q.Header.Set("Origin", b.h.url)
	r, err := b.client.Do(q)
	if err != nil {
		b.h.t.Fatal(err)
	}
	defer r.Body.Close()
	page, _ := io.ReadAll(r.Body)
	return r.StatusCode, string(page)
}

// practised is a class of simulated people with answers, an assignment and a calibration
// session that they have taken.
func (h *house) practised(by *browser) (class string) {
	h.t.Helper()
	ctx := context.Background()
	class = by.class("Monday group")
	kind, err := exercises.ByID(exercises.ValueFirst)
	if err != nil {
		h.t.Fatal(err)
	}
	setup, err := usualSetup(kind)
	if err != nil {
		h.t.Fatal(err)
	}
	setup.Seed = 3
	plan := simulate.Plan{Learners: 3, Sittings: 3, Items: 6, Seed: 3, From: time.Now().AddDate(0, 0, -9), Setup: setup}
	if err := plan.Fill(ctx, h.book, plan.Invent(), nil); err != nil {
		h.t.Fatal(err)
	}
	for _, who := range plan.Invent() {
		if err := h.book.Enrol(ctx, scoring.ClassID(class), who.Learner.ID, time.Now()); err != nil {
			h.t.Fatal(err)
		}
	}
	setup.Count, setup.Repeats, setup.Silent = 3, 2, true
	session, err := h.book.AddPanel(ctx, record.Panel{Name: "Spring", Setup: setup, By: h.people(class)[0], Class: scoring.ClassID(class), At: time.Now()})
	if err != nil {
		h.t.Fatal(err)
	}
	for _, who := range plan.Invent() {
		drill, err := record.Take(ctx, h.book, session.Set(), who.Learner, scoring.DisplayCheck{}, time.Now)
		if err != nil {
			h.t.Fatal(err)
		}
		chance := rand.New(rand.NewPCG(3, 4))
		for trial, more := drill.Trial(); more; trial, more = drill.Trial() {
			if _, _, err := drill.Answer(ctx, kind.Simulate(trial, drill.Sitting().Setup, observer.Observer{Noise: 1, BiasC: 1}, chance)); err != nil {
				h.t.Fatal(err)
			}
		}
		if err := drill.End(ctx, false); err != nil {
			h.t.Fatal(err)
		}
	}
	status, page := by.post("/classes/"+class+"/assign", "kind", "value-first", "count", "4", "pass", "80%", "due", "2031-05-01")
	by.ok(status, page)
	return class
}

// Whoever sits at a browser is told no command, finds the way back from every report, and
// reads the zone with every time.
func TestPagesAreForBrowsers(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	class := h.practised(ida)
	person := h.person("Simulated 01").ID
	get, _ := h.paths(class, person)
	clock := regexp.MustCompile(`(?:\d{4}(?:-\d\d-\d\d)?|January|February|March|April|May|June|July|August|September|October|November|December),? (?:at )?\d\d:\d\d(?::\d\d)?( UTC| [+−-]\d\d:\d\d)?`)
	style := regexp.MustCompile(`(?s)<style>.*?</style>`)
	pages, times := 0, 0
	for _, path := range get {
		status, page := ida.get(path)
		if status != 200 || strings.Contains(path, "answers.") {
			continue
		}
		pages++
		text := html.UnescapeString(style.ReplaceAllString(page, ""))
		if m := typed().FindString(text); m != "" {
			t.Errorf("%s tells a command: %q", path, text[max(0, strings.Index(text, m)-80):][:120])
		}
		if strings.HasSuffix(strings.Split(path, "?")[0], ".html") && !strings.Contains(page, `<nav><a href="/classes/`+class) {
			t.Errorf("%s leads nowhere", path)
		}
		for _, m := range clock.FindAllStringSubmatch(text, -1) {
			if times++; m[1] == "" && !strings.HasSuffix(path, ".csv") && !strings.HasSuffix(path, ".json") {
				t.Errorf("%s: %q has no zone", path, m[0])
			}
		}
	}
	if pages < 20 || times < 5 {
		t.Errorf("only %d pages and %d times were read", pages, times)
	}
}

// A faulty roster is told line by line, with what can be done here, beside its form; one
// that was read with a guess says which.
func TestRostersAtTheBrowser(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group")
	for name, roster := range map[string]string{
		"doubled and odd numbers": "Surname;First name;Student ID\nFinch;Ada;1001\nMoor;Ben;1001\nThorn;Cy;10 03\n",
		"no column of names":      "Gruppe;Kurs\nA;B\n",
		"no text":                 "PK\x03\x04\x00\x00\x00",
		"two columns alike":       "name;name\nAda;Finch\n",
	} {
		status, page := ida.upload(class, roster)
		if text := html.UnescapeString(page); status != 422 || typed().MatchString(text) || !strings.Contains(text, "What helps: ") || strings.Contains(text, "What helps: .") || !strings.Contains(page, `action="/classes/`+class+`/roster"`) {
			t.Errorf("%s: %d\n%s", name, status, page[strings.Index(page, "<main>"):])
		}
		if name == "doubled and odd numbers" && (strings.Count(page, "<p>line ") != 2 || strings.Contains(page, "lead or instructor")) {
			t.Errorf("lines and roles are told so:\n%s", page)
		}
	}
	if n := len(h.people(class)); n != 1 {
		t.Errorf("%d are on the list of a class into which nothing was taken", n)
	}
	status, page := ida.upload(class, "Surname;First name\nM\xfcller;J\xf6rg\n")
	ida.ok(status, page, "Windows-1252", "Jörg Müller", "back to Monday group")
	h.person("Jörg Müller")
}

// What is asked about before it is done names everybody whom it is about, and what somebody
// left early they have not done.
func TestConfirmationsNameTheOther(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	class, other := ida.class("Monday group", "Ada Finch", "Ada Finsh"), ida.class("Friday group")
	one, two := h.person("Ada Finsh").ID, h.person("Ada Finch").ID
	at := fmt.Sprintf("/classes/%s/people/%s", class, one)
	status, page := ida.post(at+"/merge", "into", string(two))
	ida.ok(status, page, "Ada Finsh and Ada Finch are one person", "Yes, do it")
	if status, _ := ida.post(at+"/merge", "into", string(one)); status != 422 {
		t.Errorf("somebody is joined with themselves: %d", status)
	}
	status, page = ida.post(at+"/move", "to", other)
	ida.ok(status, page, "Ada Finsh goes from here to Friday group")
	if status, page = ida.get("/nothing-here"); status != 404 || !strings.Contains(page, "to the start") {
		t.Errorf("a page that is not there: %d\n%s", status, page)
	}
}
