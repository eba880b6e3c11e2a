package serve

import (
	"context"
	"crypto/rand"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer/web/webtest"
)

// silent answers the trials of a value-first drill that says nothing before its end.
func (h *house) silent(c *webtest.Client, to, of int) { h.t.Helper(); h.meanwhile(c, to, of, true) }

// meanwhile answers trials while others do: whether a look is over it does not mind.
func (h *house) meanwhile(c *webtest.Client, to, of int, silent bool) {
	h.t.Helper()
	for n := 1; n <= to; n++ {
		// The look may be over: the clock of everybody is set forward.
		until(h.t, c, fmt.Sprintf("trial %d of %d", n, of), "take this value")
		h.press(c, "left", "enter")
		until(h.t, c, fmt.Sprintf("trial %d of %d", n, of), "↵ answer")
		h.press(c, "enter")
		switch {
		case !silent:
			until(h.t, c, fmt.Sprintf("trial %d of %d, answered", n, of))
			h.press(c, "enter")
		case n < of:
			// The next trial is shown when the answer is in the book.
			until(h.t, c, fmt.Sprintf("trial %d of %d", n+1, of))
		}
	}
}

// A lead opens the first link for a team, lets six people in, lays down a calibration
// session, sees who is where and reads what it shows; what people practise the lead does
// not read.
func TestALeadAndATeam(t *testing.T) {
	h := opened(t, record.NewMemory())
	ctx := context.Background()
	link, err := h.server.FirstLink(ctx)
	if err != nil {
		t.Fatal(err)
	}
	lea := h.browser()
	status, page := lea.post("/join", "ticket", link[strings.LastIndex(link, "/")+1:], "name", "Lea Orme", "passphrase", phrase, "runs", "team")
	lea.ok(status, page, "Your teams")
	names := []string{"Ada Finch", "Ben Moor", "Cy Thorn", "Dee Park", "Eli Rook", "Fay Lund"}
	team := lea.class("The practice", names...)
	if again, err := h.server.FirstLink(ctx); again != "" || err != nil {
		t.Errorf("a second first link: %q, %v", again, err)
	}
	code := lea.code(team)
	ada, ben := h.joined(code, "Ada Finch"), h.joined(code, "Ben Moor")
	a, b := ada.drill(), ben.drill()
	h.checked(a)
	h.checked(b)

	if status, _ := lea.post("/classes/"+team+"/sessions", "name", "Spring", "kind", "value-first", "items", "0", "repeats", "2"); status != 422 {
		t.Errorf("a session of nothing: %d", status)
	}
	status, page = lea.post("/classes/"+team+"/sessions", "name", "Spring", "kind", "value-first", "items", "2", "repeats", "2")
	lea.ok(status, page, `the calibration session "Spring"`, "0 of 6 have done it")
	status, page = lea.post("/classes/"+team+"/begin", "set", "panel:Spring")
	lea.ok(status, page)
	a, b = ada.drill(), ben.drill()
	for _, c := range []*webtest.Client{a, b} {
		until(t, c, "4 trials", "begin")
		h.press(c, "enter")
	}
	h.silent(a, 3, 4)
	until(t, a, "trial 4 of 4", "take this value")
	status, page = lea.get("/classes/" + team + "/live")
	lea.ok(status, page, `the calibration session "Spring"`, "3 of 4", "2 of 7 have the page open")
	h.press(a, "enter")
	until(t, a, "↵ answer")
	h.press(a, "enter")
	h.silent(b, 4, 4)
	until(t, a, "summary")
	until(t, b, "summary")
	status, page = lea.get("/classes/" + team + "/session.html?of=Spring")
	lea.ok(status, page, "Calibration session Spring", "Ada Finch", "Ben Moor")
	status, page = lea.get("/classes/" + team)
	lea.ok(status, page, "2 of 6 have done it")
	if status, page := lea.post("/classes/"+team+"/close", "set", "panel:Spring"); status != 200 || !strings.Contains(page, "Nobody begins") {
		t.Errorf("closing is not asked about: %d", status)
	}
	status, page = lea.post("/classes/"+team+"/close", "set", "panel:Spring", "confirm", "yes")
	lea.ok(status, page, "closed")
	lea.post("/classes/"+team+"/begin", "set", "panel:Spring")
	if len(h.server.drills.next) != 0 {
		t.Errorf("a session that was closed is begun: %v", h.server.drills.next)
	}
	status, page = lea.get("/classes/" + team + "/log")
	lea.ok(status, page, "team made", `laid down: the calibration session "Spring"`, `begun now: the calibration session "Spring"`, "closed: ")

	// A lead reads sessions, and not what somebody practised.
	id := string(h.person("Ada Finch").ID)
	for _, path := range []string{"/people/" + id + "/progress.html", "/people/" + id + "/answers.csv", "/classes/" + team + "/review.html", "/classes/" + team + "/grades.csv", "/classes/" + team + "/effect.html", "/classes/" + team + "/tests.html"} {
		if status, _ := lea.get(path); status != 404 {
			t.Errorf("a lead reads %s: %d", path, status)
		}
	}
	for _, path := range []string{"/assign", "/tests", "/people/" + id + "/lead"} {
		if status, _ := lea.post("/classes/"+team+path, "confirm", "yes", "kind", "value-first", "count", "4", "due", "2031-05-01", "name", "spring", "items", "4"); status != 404 {
			t.Errorf("a lead does %s: %d", path, status)
		}
	}
	// Nobody of the team reads the session, or lays one down.
	if status, _ := ada.get("/classes/" + team + "/session.html?of=Spring"); status != 404 {
		t.Errorf("a member reads the session: %d", status)
	}
	if status, _ := ada.post("/classes/"+team+"/sessions", "name", "Mine", "kind", "value-first", "items", "2", "repeats", "2"); status != 404 {
		t.Errorf("a member lays down a session: %d", status)
	}
	status, page = lea.post("/classes/"+team+"/people/"+id+"/link", "confirm", "yes")
	lea.ok(status, page, "Ada Finch")
	status, page = lea.post("/classes/"+team+"/people/"+string(h.person("Fay Lund").ID)+"/erase", "confirm", "yes")
	lea.ok(status, page)
	if _, err := h.book.LearnerByName(ctx, "Fay Lund"); err == nil {
		t.Error("who was erased is still there")
	}
}

// What a lead reads of a team speaks of a team.
func TestATeamIsCalledATeam(t *testing.T) {
	h := opened(t, record.NewMemory())
	link, err := h.server.FirstLink(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	lea := h.browser()
	status, page := lea.post("/join", "ticket", link[strings.LastIndex(link, "/")+1:], "name", "Lea Orme", "passphrase", phrase, "runs", "team")
	lea.ok(status, page)
	team := lea.class("The practice", "Ada Finch", "Ben Moor")
	lea.class("The other practice")
	class := regexp.MustCompile(`(?i)\bclass(es)?\b`)
	told := regexp.MustCompile(`(?s)<[^>]*>`)
	at, ada := "/classes/"+team, string(h.person("Ada Finch").ID)
	said := func(what, page string) {
		t.Helper()
		if text := strings.ReplaceAll(told.ReplaceAllString(page, " "), "class or team", ""); class.MatchString(text) {
			t.Errorf("%s says class:\n%s", what, text)
		}
	}
	for _, path := range []string{"/", at, at + "/live", at + "/people/" + ada} {
		_, page := lea.get(path)
		said(path, page)
	}
	for range 2 { // the second time it is asked about
		for _, form := range [][]string{{"/code"}, {"/links"}, {"/people/" + ada + "/off"}, {"/people/" + ada + "/erase"}, {"/roster", "names", " "}, {"/begin", "set", "panel:none"}, {"/sessions", "name", ""}} {
			_, page := lea.post(at+form[0], form[1:]...)
			said(form[0], page)
		}
	}
	_, page = h.browser().get("/join")
	said("/join", page)
	_, page = h.browser().post("/join", "ticket", lea.code(team), "name", "Nobody There", "passphrase", phrase)
	said("/join by a name that is not there", page)
	_, page = lea.get(at + "/log")
	said("the log", page)
}

// A lead on the list of a class runs nothing in it, not even when its instructor is gone,
// and gets no hold of people who are in a class of somebody else.
func TestALeadRunsTheirTeamAlone(t *testing.T) {
	h, ida, _, monday, _, ada, _ := two(t)
	ctx := context.Background()
	id := string(h.person("Ada Finch").ID)
	status, page := ida.post("/classes/"+monday+"/people/"+string(h.person("Ben Moor").ID)+"/lead", "confirm", "yes")
	ida.ok(status, page, "Ben Moor", "lead")
	link, err := h.server.LinkFor(ctx, h.person("Ben Moor").ID)
	if err != nil {
		t.Fatal(err)
	}
	ben := h.browser()
	status, page = ben.post("/join", "ticket", link[strings.LastIndex(link, "/")+1:], "passphrase", phrase)
	ben.ok(status, page, "Your teams", "There is none yet")
	none := func(when string) {
		t.Helper()
		get, post := h.paths(monday, h.person("Ada Finch").ID)
		for _, path := range get {
			if status, _ := ben.get(path); status != 404 {
				t.Errorf("%s a lead on the list gets %s: %d", when, path, status)
			}
		}
		for _, path := range post {
			if status, _ := ben.post(path, "confirm", "yes", "set", "panel:Spring", "name", "Spring", "kind", "value-first", "items", "2", "repeats", "2"); status != 404 {
				t.Errorf("%s a lead on the list does %s: %d", when, path, status)
			}
		}
	}
	none("beside the instructor")
	team := ben.class("Side team", "Gil Ward")
	if status, _ := ben.post("/classes/"+team+"/roster", "names", "Ada Finch"); status != 422 {
		t.Errorf("a lead puts somebody of another class on their list: %d", status)
	}
	status, page = ada.post("/join", "ticket", ben.code(team))
	ada.ok(status, page, "Side team")
	for _, deed := range []string{"link", "off", "merge", "erase", "lead"} {
		if status, _ := ben.post("/classes/"+team+"/people/"+id+"/"+deed, "confirm", "yes", "into", string(h.person("Gil Ward").ID)); status != 404 {
			t.Errorf("a lead does %s to somebody of another class: %d", deed, status)
		}
	}
	// Sessions of a team are for the team.
	status, page = ben.post("/classes/"+team+"/sessions", "name", "Side", "kind", "value-first", "items", "2", "repeats", "2")
	ben.ok(status, page)
	own := func(name string) int {
		list, err := (&ownBook{book: h.book, who: h.person(name).ID}).Panels(ctx)
		if err != nil {
			t.Fatal(err)
		}
		return len(list)
	}
	if own("Ada Finch") != 1 || own("Zoe Quill") != 0 || own("Ida Vale") != 0 {
		t.Errorf("the session is seen by the team %d, another class %d, an instructor of a member %d", own("Ada Finch"), own("Zoe Quill"), own("Ida Vale"))
	}
	if err := h.book.Unenrol(ctx, scoring.ClassID(monday), h.person("Ida Vale").ID, time.Now()); err != nil {
		t.Fatal(err)
	}
	none("without an instructor")
}

// A test for a room: laid down, begun, taken in both parts, read, and its certificate;
// nothing that decides its items is in any page.
func TestATestForARoom(t *testing.T) {
	h, ida, rolf, monday, friday, ada, zoe := two(t)
	c := ada.drill()
	h.checked(c)
	for _, name := range []string{"", "no blanks here", "../x"} {
		if status, _ := ida.post("/classes/"+monday+"/tests", "name", name, "items", "4"); status != 422 {
			t.Errorf("a form named %q: %d", name, status)
		}
	}
	status, page := ida.post("/classes/"+monday+"/tests", "name", "spring", "items", "4")
	pages := ida.ok(status, page, "form spring", "0 of 2 have done it")
	if status, _ := ida.post("/classes/"+monday+"/tests", "name", "Spring", "items", "4"); status != 422 {
		t.Errorf("a second form of one name: %d", status)
	}
	forms, err := h.book.Forms(context.Background())
	if err != nil || len(forms) != 1 {
		t.Fatal(forms, err)
	}
	ref := forms[0].Set().Ref.String()
	if status, _ := rolf.post("/classes/"+friday+"/begin", "set", ref); status != 404 {
		t.Errorf("another class begins the test: %d", status)
	}
	status, page = ida.post("/classes/"+monday+"/begin", "set", ref)
	pages += ida.ok(status, page)
	c = ada.drill()
	until(t, c, "begin")
	h.press(c, "enter")
	h.silent(c, 4, 4)
	until(t, c, "part 2 of 2", "begin")
	h.press(c, "enter")
	h.silent(c, 4, 4)
	until(t, c, "Certificate")
	for b, paths := range map[*browser][]string{
		ida: {"/classes/" + monday, "/classes/" + monday + "/live", "/classes/" + monday + "/tests.html", "/classes/" + monday + "/tests.json", "/classes/" + monday + "/log", "/classes/" + monday + "/effect.html?against=" + friday, "/classes/" + monday + "/effect.html",
			"/classes/" + monday + "/people/" + string(h.person("Ada Finch").ID), "/people/" + string(h.person("Ada Finch").ID) + "/certificate.html?of=" + ref},
		ada: {"/", "/people/" + string(h.person("Ada Finch").ID) + "/certificate.html?of=" + ref, "/people/" + string(h.person("Ada Finch").ID) + "/answers.csv", "/people/" + string(h.person("Ada Finch").ID) + "/answers.jsonl"}} {
		for _, path := range paths {
			status, page := b.get(path)
			if strings.Contains(path, "against") { // of a class that somebody else runs
				if status != 404 {
					t.Errorf("%s: %d", path, status)
				}
				continue
			}
			pages += b.ok(status, page)
		}
	}
	status, page = ida.post("/classes/"+monday+"/sessions", "name", "Spring", "kind", "value-first", "items", "2", "repeats", "2")
	pages += ida.ok(status, page)
	status, page = ida.post("/classes/"+monday+"/assign", "kind", "value-first", "count", "4", "due", "2031-05-01")
	pages += ida.ok(status, page)
	get, _ := h.paths(monday, h.person("Ada Finch").ID)
	for _, path := range get {
		if _, page := ida.get(path); !strings.Contains(path, "/answers.") {
			pages += page
		}
	}
	sessions, err := h.book.Panels(context.Background())
	if err != nil || len(sessions) != 1 {
		t.Fatal(sessions, err)
	}
	given, err := h.book.Assignments(context.Background(), "")
	if err != nil || len(given) != 1 {
		t.Fatal(given, err)
	}
	for _, part := range append(forms[0].Parts, sessions[0].Setup, given[0].Setup) {
		if seed := fmt.Sprint(part.Seed); strings.Contains(pages, seed) {
			t.Errorf("the seed %s is in a page", seed)
		}
	}
	status, page = ida.get("/classes/" + monday)
	ida.ok(status, page, "1 of 2 have done it")
	if status, _ := zoe.get("/people/" + string(h.person("Ada Finch").ID) + "/certificate.html?of=" + ref); status != 404 {
		t.Errorf("somebody else's certificate: %d", status)
	}
}

// A session for everybody is run by whoever runs a class and laid it down: another
// instructor neither sees nor begins, closes or reads it.
func TestASessionForEverybodyIsItsMakers(t *testing.T) {
	h, ida, rolf, monday, friday, _, _ := two(t)
	setup := exercises.Setup{Kind: exercises.TryIn, Count: 2, Repeats: 1, Seed: 5, Silent: true, Viewing: exercises.DefaultViewing()}
	if kind, err := exercises.ByID(setup.Kind); err != nil {
		t.Fatal(err)
	} else {
		setup.Version = kind.Version()
	}
	if _, err := h.book.AddPanel(context.Background(), record.Panel{Name: "Whole school", Setup: setup, By: h.person("Rolf Stein").ID, At: time.Now()}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		who   *browser
		class string
		shown bool
		want  int
	}{{ida, monday, false, 404}, {rolf, friday, true, 200}} {
		if status, page := c.who.get("/classes/" + c.class); status != 200 || strings.Contains(page, "Whole school") != c.shown {
			t.Errorf("the session stands on the page of class %s: %v, want %v (%d)", c.class, !c.shown, c.shown, status)
		}
		if status, _ := c.who.get("/classes/" + c.class + "/session.html?of=Whole+school"); status != c.want {
			t.Errorf("its report in class %s: %d, want %d", c.class, status, c.want)
		}
		for _, deed := range []string{"begin", "close"} {
			if status, _ := c.who.post("/classes/"+c.class+"/"+deed, "set", "panel:Whole school", "confirm", "yes"); status != c.want {
				t.Errorf("%s in class %s: %d, want %d", deed, c.class, status, c.want)
			}
		}
	}
}

// Somebody can draw a form for themselves; it is nobody else's.
func TestADrawnFormIsOnesOwn(t *testing.T) {
	h, _, _, _, _, _, _ := two(t)
	ctx := context.Background()
	ada, ben := &ownBook{book: h.book, who: h.person("Ada Finch").ID}, &ownBook{book: h.book, who: h.person("Ben Moor").ID}
	draw := func(o *ownBook) error {
		test, err := scoring.StandardTest("own-1", 4)
		if err != nil {
			t.Fatal(err)
		}
		if test, err = test.Drawn(rand.Reader); err != nil {
			t.Fatal(err)
		}
		_, err = record.LayDown(ctx, o, record.Form{Name: "own-1", Parts: test.Parts, Levels: scoring.HouseCuts, At: time.Now()})
		return err
	}
	if err := draw(ada); err != nil {
		t.Fatalf("a form of one's own: %v", err)
	}
	mine, err1 := ada.Forms(ctx)
	others, err2 := ben.Forms(ctx)
	if len(mine) != 1 || len(others) != 0 || err1 != nil || err2 != nil {
		t.Errorf("who drew it sees %d forms, somebody else %d (%v, %v)", len(mine), len(others), err1, err2)
	}
	for range mostOfAHand - 1 {
		if err := draw(ada); err != nil {
			t.Fatal(err)
		}
	}
	if err := draw(ada); err == nil {
		t.Error("one person draws forms without end")
	}
	if _, err := ada.AddForm(ctx, record.Form{Name: "x", Class: "01J0000000000000000000000A"}); err == nil {
		t.Error("a student lays down a form for a class")
	}
}
