package serve

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// instructs puts a second instructor on a class.
func (h *house) instructs(class, name string) *browser {
	h.t.Helper()
	ctx := context.Background()
	l, err := h.book.AddLearner(ctx, scoring.Learner{Name: name, Role: scoring.RoleInstructor, At: time.Now()})
	if err != nil {
		h.t.Fatal(err)
	}
	if err := h.book.Enrol(ctx, scoring.ClassID(class), l.ID, time.Now()); err != nil {
		h.t.Fatal(err)
	}
	link, err := h.server.LinkFor(ctx, l.ID)
	if err != nil {
		h.t.Fatal(err)
	}
	b := h.browser()
	status, page := b.post("/join", "ticket", link[strings.LastIndex(link, "/")+1:], "passphrase", phrase)
	b.ok(status, page, "New class")
	return b
}

// A class with nobody on its list has every page and every report, and says of what needs
// people that there are none; so does one of 200.
func TestClassesOfNobodyAndOfMany(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	empty := ida.class("Monday group")
	status, page := ida.get("/classes/" + empty)
	ida.ok(status, page, "Nobody is on the list yet")
	if status, page := ida.post("/classes/" + empty + "/links"); status != 422 || !strings.Contains(page, "Nobody is on the list yet.") {
		t.Errorf("links for nobody: %d\n%s", status, page)
	}
	many := 200
	if testing.Short() {
		many = 40
	}
	var names []string
	for n := range many {
		names = append(names, fmt.Sprintf("Student %03d", n))
	}
	large := ida.class("Friday group", names...)
	status, page = ida.post("/classes/"+large+"/roster", "names", strings.Join(names, "\n"))
	ida.ok(status, page)
	if n := len(h.people(large)); n != many+1 {
		t.Errorf("%d are on a list that %d were put on twice", n, many)
	}
	for _, class := range []string{empty, large} {
		for _, form := range [][]string{{"/assign", "kind", "value-first", "count", "4", "due", "2031-05-01"}, {"/tests", "name", "spring", "items", "4"},
			{"/sessions", "name", "Of " + class, "kind", "value-first", "items", "2", "repeats", "2"}} {
			status, page := ida.post("/classes/"+class+form[0], form[1:]...)
			ida.ok(status, page)
		}
		given, err := h.server.setsOf(t.Context(), scoring.Class{ID: scoring.ClassID(class)}, nil)
		if err != nil || len(given) != 3 {
			t.Fatal(given, err)
		}
		for _, set := range given {
			for _, do := range []string{"/begin", "/collect", "/begin"} {
				status, page := ida.post("/classes/"+class+do, "set", set.Ref, "confirm", "yes")
				ida.ok(status, page, set.Name)
			}
		}
		get, _ := h.paths(class, h.person("Ida Vale").ID)
		for _, path := range get {
			if strings.Contains(path, "certificate") || strings.Contains(path, "/session.") || strings.HasSuffix(path, "/assignments/1") {
				continue // there is none of that name
			}
			status, page := ida.get(path)
			ida.ok(status, page)
		}
	}
	status, page = ida.post("/classes/" + large + "/links")
	if n := len(linkPattern.FindAllString(ida.ok(status, page), -1)); n != many {
		t.Errorf("%d links for %d", n, many)
	}
	status, page = ida.get("/classes/" + large + "/live")
	ida.ok(status, page, fmt.Sprintf("0 of %d have the page open", many))
}

// A roster larger than is read is said to be so.
func TestATooLargeRoster(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group")
	if status, page := ida.upload(class, "name\n"+strings.Repeat("Ada Finch\n", mostBody/9)); status != 422 || !strings.Contains(page, "at most 2 MB are read") {
		t.Errorf("%d\n%s", status, page)
	}
}

// What is pressed twice for a room, or loaded anew from a slow page, is written down once;
// what is begun or collected again later is written down again.
func TestBeginAndCollectPressedTwice(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch")
	status, page := ida.post("/classes/"+class+"/tests", "name", "spring", "items", "4")
	ida.ok(status, page)
	forms, err := h.book.Forms(t.Context())
	if err != nil || len(forms) != 1 {
		t.Fatal(forms, err)
	}
	set := forms[0].Set()
	press := func(what string) {
		t.Helper()
		status, page := ida.post("/classes/"+class+what, "set", set.Ref.String(), "confirm", "yes")
		ida.ok(status, page, set.Name())
	}
	written := func(words string, want int) {
		t.Helper()
		_, page := ida.get("/classes/" + class + "/log")
		if n := strings.Count(page, words); n != want {
			t.Errorf("%q stands in the log %d times, want %d", words, n, want)
		}
	}
	press("/begin")
	press("/begin")
	written("begun now: ", 1)
	press("/collect")
	press("/collect")
	written("collected: ", 1)
	press("/begin") // at once again, and it is open again
	written("begun now: ", 2)
	if forms, _ := h.book.Forms(t.Context()); !forms[0].Closed.IsZero() {
		t.Error("what was begun again is closed")
	}
	h.ahead.Add(int64(pressedTwice))
	press("/begin") // for those who came late
	written("begun now: ", 3)
}

// Two who run a class press the same at the same moment, each twice: it is done once, and
// whoever comes second is told, or sees it done; nobody is thrown out of a drill by it.
func TestTwoPressTheSame(t *testing.T) {
	h := opened(t, record.NewMemory())
	ctx := t.Context()
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch", "Ben Moor", "Cy Thorn", "Cy Thorne", "Eli Rook", "Fay Lund")
	rolf := h.instructs(class, "Rolf Stein")
	at := "/classes/" + class
	// statuses are how four presses were answered, by how often.
	press := func(path string, fields ...string) map[int]int {
		var mu sync.Mutex
		var all sync.WaitGroup
		statuses := map[int]int{}
		for n := range 4 {
			all.Go(func() {
				status, _ := []*browser{ida, rolf}[n%2].post(at+path, fields...)
				mu.Lock()
				statuses[status]++
				mu.Unlock()
			})
		}
		all.Wait()
		return statuses
	}
	// One of four is done, whatever the others are told: that it is so already, or that who it
	// was about is not there any more.
	for _, c := range []struct {
		fields []string
		done   int
	}{
		{[]string{"/assign", "kind", "value-first", "count", "4", "due", "2031-05-01"}, 1},
		{[]string{"/tests", "name", "spring", "items", "4"}, 1},
		{[]string{"/sessions", "name", "Spring", "kind", "value-first", "items", "2", "repeats", "2"}, 1},
		{[]string{"/roster", "names", "Dee Park"}, 4},
		{[]string{"/assignments/1", "what", "due", "until", "2031-06-01", "confirm", "yes"}, 1},
		{[]string{"/close", "set", "panel:Spring", "confirm", "yes"}, 1},
		{[]string{"/people/" + string(h.person("Eli Rook").ID) + "/off", "confirm", "yes"}, 1},
		{[]string{"/people/" + string(h.person("Fay Lund").ID) + "/lead", "confirm", "yes"}, 1},
		{[]string{"/people/" + string(h.person("Ben Moor").ID) + "/erase", "confirm", "yes"}, 1},
		{[]string{"/people/" + string(h.person("Cy Thorne").ID) + "/merge", "into", string(h.person("Cy Thorn").ID), "confirm", "yes"}, 1},
	} {
		if got := press(c.fields[0], c.fields[1:]...); got[200] != c.done || got[200]+got[404]+got[422] != 4 {
			t.Errorf("%q was answered %v, want %d done", c.fields, got, c.done)
		}
	}
	given, err := h.book.Assignments(ctx, scoring.ClassID(class))
	if err != nil || len(given) != 1 || len(given[0].Rulings) != 1 {
		t.Errorf("given is %+v, %v", given, err)
	}
	if n := len(h.people(class)); n != 6 { // two instructors, Ada, Cy, Dee and Fay
		t.Errorf("%d are on the list, want 6", n)
	}

	code := ida.code(class)
	ada := h.joined(code, "Ada Finch")
	c := ada.drill()
	h.checked(c)
	press("/begin", "set", h.assignment(1))
	_ = c.Closed(late)
	c = ada.drill()
	until(t, c, "4 trials", "begin")
	h.press(c, "enter")
	h.answer(c, 1, 1, 4)
	until(t, c, "trial 2 of 4 Step 1 of 2")
	press("/begin", "set", h.assignment(1)) // she is at it
	h.answer(c, 2, 2, 4)
	until(t, c, "trial 3 of 4 Step 1 of 2")
	if got := fmt.Sprint(press("/collect", "set", h.assignment(1), "confirm", "yes")); got != "map[200:4]" {
		t.Errorf("collecting was answered %s", got)
	}
	list, err := h.book.Sittings(ctx, record.Filter{Learner: h.person("Ada Finch").ID})
	if err != nil || len(list) != 1 || !list[0].Left || len(h.attempts(h.person("Ada Finch").ID)) != 2 {
		t.Errorf("collected are %+v, %v", list, err)
	}
}

// Wrong passphrases count each, however many are tried in the same moment by a browser that
// is signed in, and make the right one wait.
func TestManyGuessesAtOnceCountAsMany(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	h.still.Store(time.Now().UnixNano())
	var all sync.WaitGroup
	for n := range freeTries {
		all.Go(func() {
			ida.post("/account", "old", fmt.Sprint("a wrong guess ", n), "passphrase", "another one of these")
		})
	}
	all.Wait()
	if a, err := h.book.Account(t.Context(), h.person("Ida Vale").ID); err != nil || a.Wrong != freeTries {
		t.Errorf("%d of %d wrong guesses count, %v", a.Wrong, freeTries, err)
	}
	if status, page := ida.post("/account", "old", phrase, "passphrase", "another one of these"); status != http.StatusTooManyRequests || !strings.Contains(page, "too often") {
		t.Errorf("after them the right one: %d\n%s", status, page)
	}
}

// Somebody is moved, joined with another entry or erased while their drill is open: the
// page is told to come back, what they answered stays theirs or is gone, and the one who is
// erased comes in no more.
func TestMovedOrErasedInTheMiddleOfADrill(t *testing.T) {
	h := opened(t, record.NewMemory())
	ctx := t.Context()
	ida := h.instructor("Ida Vale")
	class, other := ida.class("Monday group", "Ada Finch", "Ben Moor"), ida.class("Friday group")
	code := ida.code(class)
	status, page := ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", "4", "due", "2031-05-01")
	ida.ok(status, page)
	ada, ben := h.joined(code, "Ada Finch"), h.joined(code, "Ben Moor")
	a, b := ada.drill(), ben.drill()
	h.checked(a)
	h.checked(b)
	status, page = ida.post("/classes/"+class+"/begin", "set", h.assignment(1))
	ida.ok(status, page)
	a, b = ada.drill(), ben.drill()
	until(t, a, "4 trials", "begin")
	h.press(a, "enter")
	h.answer(a, 1, 2, 4)
	until(t, b, "4 trials", "begin")
	h.press(b, "enter")
	h.answer(b, 1, 1, 4)
	adaID, benID := h.person("Ada Finch").ID, h.person("Ben Moor").ID

	status, page = ida.post("/classes/"+class+"/people/"+string(adaID)+"/move", "to", other, "confirm", "yes")
	ida.ok(status, page)
	if err := a.Closed(late); err == nil || !strings.Contains(err.Error(), "GoingAway") {
		t.Errorf("who was moved was not told: %v", err)
	}
	until(t, ada.drill(), "You broke off the assignment of your class", "after 2 of 4 trials")
	if n := len(h.attempts(adaID)); n != 2 {
		t.Errorf("who was moved has %d answers, want 2", n)
	}
	// What was pressed on the page from before is about somebody who is not there any more.
	if status, page := ida.post("/classes/"+class+"/people/"+string(adaID)+"/off", "confirm", "yes"); status != 404 || !strings.Contains(page, "somebody may just have moved it") {
		t.Errorf("taken off the class that she has left: %d", status)
	}

	status, page = ida.post("/classes/"+class+"/people/"+string(benID)+"/erase", "confirm", "yes")
	ida.ok(status, page)
	if err := b.Closed(late); err == nil {
		t.Error("the page of who was erased is still open")
	}
	if c, err := ben.dial(h.url); err == nil {
		c.Cut()
		t.Error("who was erased opens a drill")
	}
	if status, page := ben.get("/account"); status != 200 || !strings.Contains(page, "Sign in") {
		t.Errorf("who was erased is still signed in: %d", status)
	}
	if _, err := h.book.Learner(ctx, benID); err == nil || len(h.attempts(benID)) != 0 {
		t.Errorf("of who was erased something is left: %v", err)
	}
}

// A class is taken away on the machine itself while its pages are open: whatever is pressed
// is told not to be there, the reports of its people stay with them, and practice goes on.
func TestAClassIsTakenAwayWhileItsPageIsOpen(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch")
	code := ida.code(class)
	ada := h.joined(code, "Ada Finch")
	c := ada.drill()
	h.checked(c)
	status, page := ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", "4", "due", "2031-05-01")
	ida.ok(status, page)
	set := h.assignment(1)
	status, page = ida.post("/classes/"+class+"/begin", "set", set)
	ida.ok(status, page)
	c = ada.drill()
	until(t, c, "4 trials", "begin")
	h.press(c, "enter")
	h.answer(c, 1, 1, 4)
	until(t, c, "trial 2 of 4 Step 1 of 2")
	person := h.person("Ada Finch").ID
	get, post := h.paths(class, person)
	if err := h.book.RemoveClass(t.Context(), scoring.ClassID(class)); err != nil {
		t.Fatal(err)
	}
	for _, path := range get {
		if !strings.HasPrefix(path, "/classes/") {
			continue
		}
		if status, _ := ida.get(path); status != http.StatusNotFound {
			t.Errorf("%s of a class that is no more: %d", path, status)
		}
	}
	for _, path := range post {
		if status, _ := ida.post(path, "set", set, "confirm", "yes", "names", "Eve", "kind", "value-first", "name", "x", "items", "2", "repeats", "2", "due", "2031-05-01"); status != http.StatusNotFound {
			t.Errorf("%s to a class that is no more: %d", path, status)
		}
	}
	if status, _ := h.browser().post("/join", "ticket", code, "step", "code"); status != http.StatusForbidden {
		t.Errorf("the code of a class that is no more: %d", status)
	}
	h.answer(c, 2, 4, 4)
	until(t, c, "summary")
	if n := len(h.attempts(person)); n != 4 {
		t.Errorf("%d answers, want 4", n)
	}
	status, page = ada.get("/")
	ada.ok(status, page, "Practise")
	if strings.Contains(page, "You are in") {
		t.Error("somebody is in a class that is no more")
	}
}

// What is collected at one server takes no answer at another one on the same book, which
// says why; who is erased at the one comes in at neither.
func TestCollectedAtAnotherServer(t *testing.T) {
	book := record.NewMemory()
	h, far := opened(t, book), opened(t, book)
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch")
	code := ida.code(class)
	status, page := ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", "4", "due", "2031-05-01")
	ida.ok(status, page)
	ada := far.joined(code, "Ada Finch")
	c := ada.drill()
	far.checked(c)
	begin := func() {
		t.Helper()
		status, page := ida.at(far).post("/classes/"+class+"/begin", "set", h.assignment(1))
		ida.ok(status, page)
		c = ada.drill()
		until(t, c, "4 trials", "begin")
		far.press(c, "enter")
	}
	begin()
	far.answer(c, 1, 2, 4)
	until(t, c, "trial 3 of 4 Step 1 of 2")
	status, page = ida.post("/classes/"+class+"/collect", "set", h.assignment(1), "confirm", "yes")
	ida.ok(status, page)
	far.press(c, "left", "enter")
	until(t, c, "trial 3 of 4 Step 2 of 2")
	far.press(c, "enter")
	until(t, c, "This drill was ended meanwhile", "by whoever runs your class", "the answer given here was not taken")
	list, err := book.Sittings(t.Context(), record.Filter{Learner: h.person("Ada Finch").ID})
	if err != nil || len(list) != 1 || !list[0].Left || len(h.attempts(h.person("Ada Finch").ID)) != 2 {
		t.Errorf("collected are %+v, %v", list, err)
	}
	// Erased at the one, she is out of the other as soon as she presses something.
	status, page = ida.post("/classes/"+class+"/people/"+string(h.person("Ada Finch").ID)+"/erase", "confirm", "yes")
	ida.ok(status, page)
	far.press(c, "m")
	if status, page := ada.get("/account"); status != 200 || !strings.Contains(page, "Sign in") {
		t.Errorf("who was erased at one server is signed in at the other: %d", status)
	}
	if c, err := ada.dial(far.url); err == nil {
		c.Cut()
		t.Error("who was erased at one server opens a drill at the other")
	}
}
