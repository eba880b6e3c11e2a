package serve

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"testing"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/classes"
)

// The whole story: an instructor sets a class up, a student joins with the code on the
// wall, practises, loses the network and comes back to the same trial; the instructor
// sees it live and reads the review, byte for byte the one that the program writes.
func TestAClassInTheBrowser(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch", "Ben Moor")
	ada := h.joined(ida.code(class), "ada finch")

	c := ada.drill()
	h.checked(c)
	status, page := ida.get("/classes/" + class + "/live")
	ida.ok(status, page, "1 of 2 have the page open", "in the menu", "has not joined yet")

	// The class begins: who is here finds the assignment before them.
	status, page = ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", "4", "pass", "none", "due", "2031-05-01")
	ida.ok(status, page, "Value first")
	status, page = ida.post("/classes/"+class+"/begin", "set", h.assignment(1))
	ida.ok(status, page)
	if err := c.Closed(late); err == nil || !strings.Contains(err.Error(), "1001") && !strings.Contains(err.Error(), "GoingAway") {
		t.Errorf("the page was not told to come back: %v", err)
	}
	c = ada.drill()
	until(t, c, "4 trials", "begin")
	h.press(c, "enter")
	h.answer(c, 1, 2, 4)
	until(t, c, "trial 3 of 4 Step 1 of 2")
	status, page = ida.get("/classes/" + class + "/live")
	ida.ok(status, page, "assignment 1", "2 of 4")

	// The network drops without a word.
	c.Cut()
	c = ada.drill()
	until(t, c, "trial 3 of 4 Step 1 of 2")
	if n := len(h.attempts(h.person("Ada Finch").ID)); n != 2 {
		t.Errorf("%d answers in the book, want 2", n)
	}
	h.answer(c, 3, 4, 4)
	until(t, c, "summary")

	ctx := context.Background()
	who := h.person("Ada Finch")
	sittings, err := h.book.Sittings(ctx, record.Filter{Learner: who.ID})
	if err != nil || len(sittings) != 1 {
		t.Fatal(sittings, err)
	}
	s := sittings[0]
	if s.Origin.Road != scoring.RoadServer || s.Origin.Book != h.book.ID() || s.Set().Kind != scoring.AssignmentSet || s.Left || s.Ended.IsZero() {
		t.Errorf("the sitting says %+v", s)
	}
	if d := s.Display; !d.Acceptable && d.SmallStep == "" || d.Terminal != "browser, srgb, standard range, read-back exact, pixel ratio 1" || d.RoundTrip <= 0 {
		t.Errorf("the display check says %+v", d)
	}

	status, got := ida.get("/classes/" + class + "/review.html")
	ida.ok(status, got, "Ada Finch", "Class review: Monday group")
	found, err := h.book.ClassByName(ctx, "Monday group")
	if err != nil {
		t.Fatal(err)
	}
	scope, err := classes.ScopeOf(ctx, h.book, found)
	if err != nil {
		t.Fatal(err)
	}
	r, err := classes.Report(ctx, h.book, scope, record.Filter{}, "flag", false)
	if err != nil {
		t.Fatal(err)
	}
	var want bytes.Buffer
	if err := report.Write(&want, r, report.FormatHTML, report.Layout{Width: 100, NoCommands: true, Back: report.Link{Words: "back to Monday group", To: "/classes/" + class},
		Choice: report.Link{Words: "only what was done on displays that passed their check", To: "review.html?display=checked"},
		As:     []report.Link{{Words: "CSV", To: "review.csv"}, {Words: "JSON", To: "review.json"}, {Words: "text", To: "review.txt"}}}); err != nil {
		t.Fatal(err)
	}
	if got != want.String() {
		t.Error("the review differs from the one that -o writes, but for the ways to other pages")
	}
	for _, path := range []string{"grades.html", "assignments.html", "roster.csv", "review.json", "review.csv", "review.txt"} {
		status, page := ida.get("/classes/" + class + "/" + path)
		ida.ok(status, page)
	}
	status, page = ada.get("/people/" + string(who.ID) + "/progress.html")
	ada.ok(status, page, "Ada Finch")
	status, page = ida.get("/classes/" + class + "/log")
	ida.ok(status, page, "class made", "code made", "account made by code", "begun now: assignment 1")

	// Next time it is name and passphrase, and yesterday's check still holds.
	again := h.browser()
	status, page = again.post("/sign-in", "name", "ADA FINCH", "passphrase", phrase)
	again.ok(status, page, "Practise", "Monday group")
	status, page = again.get("/drill")
	again.ok(status, page, "canvas")
	until(t, again.drill(), "summary") // the trainer is the one from before
}

// A second window takes over; the first one is told.
func TestASecondWindowTakesOver(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	first := ida.drill()
	until(t, first, "Before you begin")
	second := ida.drill()
	until(t, second, "Before you begin")
	if err := first.Closed(late); err == nil || !strings.Contains(err.Error(), "4001") {
		t.Errorf("the first window was closed with %v", err)
	}
	if n := h.server.drills.count(); n != 1 {
		t.Errorf("%d trainers for one person", n)
	}
}

// Collecting stops who is still at it; what was given stays.
func TestCollect(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch")
	ada := h.joined(ida.code(class), "Ada Finch")
	c := ada.drill()
	h.checked(c)
	ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", "5", "due", "2031-05-01")
	ida.post("/classes/"+class+"/begin", "set", h.assignment(1))
	c = ada.drill()
	until(t, c, "5 trials", "begin")
	h.press(c, "enter")
	h.answer(c, 1, 2, 5)
	status, page := ida.post("/classes/"+class+"/collect", "set", h.assignment(1))
	ida.ok(status, page, "Whoever is still at assignment 1 is stopped")
	status, page = ida.post("/classes/"+class+"/collect", "set", h.assignment(1), "confirm", "yes")
	ida.ok(status, page)
	list, err := h.book.Sittings(context.Background(), record.Filter{Learner: h.person("Ada Finch").ID})
	if err != nil || len(list) != 1 || !list[0].Left || list[0].Ended.IsZero() {
		t.Errorf("%+v, %v", list, err)
	}
	if n := len(h.attempts(h.person("Ada Finch").ID)); n != 2 {
		t.Errorf("%d answers are kept, want 2", n)
	}
	until(t, ada.drill(), "Today's practice")
}

// When the server stops, pages are told to come back, and the trial is offered again.
func TestStoppingKeepsEveryAnswer(t *testing.T) {
	book := record.NewMemory()
	h := opened(t, book)
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch")
	ada := h.joined(ida.code(class), "Ada Finch")
	c := ada.drill()
	h.checked(c)
	ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", "5", "due", "2031-05-01")
	ida.post("/classes/"+class+"/begin", "set", h.assignment(1))
	c = ada.drill()
	until(t, c, "5 trials", "begin")
	h.press(c, "enter")
	h.answer(c, 1, 2, 5)
	h.server.Drain(context.Background())
	if err := c.Closed(late); err == nil || !strings.Contains(fmt.Sprint(err), "GoingAway") {
		t.Errorf("closed with %v", err)
	}
	if _, err := ada.dial(h.url); err == nil {
		t.Error("a server that stops opens a socket")
	}
	later := opened(t, book)
	again := later.browser()
	status, page := again.post("/sign-in", "name", "Ada Finch", "passphrase", phrase)
	again.ok(status, page)
	c = again.drill()
	until(t, c, "You broke off", "after 2 of 5")
	later.press(c, "enter")
	until(t, c, "3 trials to come", "begin")
	later.press(c, "enter")
	until(t, c, "trial 3 of 5")
}
