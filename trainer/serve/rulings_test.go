package serve

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// What is decided about an assignment after it was given: each is asked about first, done
// once, written down without a name or a reason, and can be taken back.
func TestDecidingAboutAnAssignment(t *testing.T) {
	h := opened(t, record.NewMemory())
	ctx := context.Background()
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch", "Ben Moor")
	status, page := ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", "5", "due", "2031-05-01")
	ida.ok(status, page, "due date, excuses")
	at := "/classes/" + class + "/assignments/1"
	status, page = ida.get(at)
	ida.ok(status, page, "Assignment 1", "Ada Finch")
	now := func() scoring.Assignment {
		t.Helper()
		a, err := h.book.Assignment(ctx, 1)
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	ada := h.person("Ada Finch").ID
	given := now()
	for _, c := range []struct {
		what   string
		fields []string
		asks   string
		stands func(scoring.Assignment) bool
	}{
		{"due", []string{"until", "2031-06-01"}, "the due date was moved to", func(a scoring.Assignment) bool { return a.DueNow().After(given.Due) }},
		{"extended", []string{"who", string(ada), "until", "2031-07-01", "why", "was ill in May"}, "Ada Finch has until", func(a scoring.Assignment) bool { return a.DueFor(ada).After(a.DueNow()) }},
		{"excused", []string{"who", string(ada)}, "Ada Finch is excused", func(a scoring.Assignment) bool { return a.Excuses(ada) }},
		{"dropped", []string{"item", "3", "why", "the beamer failed"}, "item 3 is left out of the grade", func(a scoring.Assignment) bool { return len(a.Drops()) == 1 }},
		{"removed", nil, "it was taken back", func(a scoring.Assignment) bool { return !a.Gone().IsZero() }},
	} {
		fields := append([]string{"what", c.what}, c.fields...)
		status, page := ida.post(at, fields...)
		ida.ok(status, page, "Really?", c.asks)
		if c.stands(now()) {
			t.Errorf("%s is done before it is confirmed", c.what)
		}
		status, page = ida.post(at, append(fields, "confirm", "yes")...)
		ida.ok(status, page, c.asks, "take that back")
		if !c.stands(now()) {
			t.Errorf("%s was confirmed and is not done", c.what)
		}
		if status, _ := ida.post(at, append(fields, "confirm", "yes")...); status != 422 {
			t.Errorf("%s a second time: %d", c.what, status)
		}
		back := append([]string{"what", c.what, "back", "yes"}, c.fields...)
		status, page = ida.post(at, back...)
		ida.ok(status, page, "Really?")
		status, page = ida.post(at, append(back, "confirm", "yes")...)
		ida.ok(status, page)
		if c.stands(now()) {
			t.Errorf("%s was taken back and stands", c.what)
		}
	}
	// What cannot be is refused before it is asked about.
	for _, fields := range [][]string{{"what", "due", "until", "some day"}, {"what", "extended", "who", string(ada), "until", "2030-01-01"}, {"what", "excused", "who", "01J0000000000000000000000A"},
		{"what", "excused"}, {"what", "dropped", "item", "6", "why", "x"}, {"what", "dropped", "item", "2"}, {"what", "anything"}, {"what", "removed", "back", "yes"}} {
		if status, page := ida.post(at, fields...); status != 422 && status != 404 || strings.Contains(page, "Really?") {
			t.Errorf("%q: %d", fields, status)
		}
	}
	// One that was taken back is not to be begun.
	status, page = ida.post(at, "what", "removed", "confirm", "yes")
	ida.ok(status, page)
	status, page = ida.get("/classes/" + class)
	ida.ok(status, page, "taken back")
	if status, _ := ida.post("/classes/"+class+"/begin", "set", h.assignment(1)); status != 422 {
		t.Errorf("what was taken back is begun: %d", status)
	}
	status, page = ida.get("/classes/" + class + "/log")
	ida.ok(status, page, "assignment 1: the due date was moved to", "assignment 1: this person is excused", "Ada Finch", "assignment 1: item 3 counts again", "assignment 1: it was taken back")
	done, err := h.book.ServedIn(ctx, scoring.ClassID(class))
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range done {
		if strings.Contains(d.What, "Ada") || strings.Contains(d.What, "ill in May") {
			t.Errorf("the log holds a name or a reason: %q", d.What)
		}
	}
}

// A form that is laid down in the browser has the levels that its instructor gives it, on
// its certificates too; where nothing is said, the usual ones.
func TestLevelsOfAForm(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch", "Ben Moor")
	_, page := ida.get("/classes/" + class)
	if !strings.Contains(page, "superior 70 %\naverage 40 %\npoor 0 %") {
		t.Errorf("the usual levels are not there to be changed:\n%s", page)
	}
	for name, c := range map[string]struct {
		levels string
		want   scoring.Cuts
	}{
		"own":   {"passed 62,5 %\r\nto be repeated: 30\r\n\r\nnot yet = 0\r\n", scoring.Cuts{{Level: "passed", From: 0.625}, {Level: "to be repeated", From: 0.3}, {Level: "not yet", From: 0}}},
		"none":  {"", scoring.MatchCuts},
		"usual": {"superior 70 %\r\naverage 40 %\r\npoor 0 %", scoring.MatchCuts},
	} {
		status, page := ida.post("/classes/"+class+"/tests", "name", name, "items", "4", "levels", c.levels)
		ida.ok(status, page, "form "+name)
		forms, err := h.book.Forms(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(forms, func(f record.Form) bool { return f.Name == name })
		if !slices.Equal(forms[i].Levels, c.want) {
			t.Errorf("%s has the levels %v, want %v", name, forms[i].Levels, c.want)
		}
	}
	// They are listed before anybody has taken them.
	status, page := ida.get("/classes/" + class + "/tests.html")
	ida.ok(status, page, "nobody yet", "own: passed from 62.5 % right, to be repeated from 30 %, not yet below.")
}

// Whoever comes in reads what they are to do, until it is done or cannot be begun, and of
// nobody else's.
func TestHomeSaysWhatIsToBeDone(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	class, other := ida.class("Monday group", "Ada Finch"), ida.class("Friday group", "Ben Moor")
	ada, ben := h.joined(ida.code(class), "Ada Finch"), h.joined(ida.code(other), "Ben Moor")
	status, page := ada.get("/")
	if ada.ok(status, page); strings.Contains(page, "To be done") {
		t.Errorf("nothing was given:\n%s", page)
	}
	for _, sent := range [][]string{{"/assign", "kind", "value-first", "count", "4", "due", "2031-05-01"}, {"/tests", "name", "spring", "items", "4"}, {"/sessions", "name", "Spring", "kind", "halfway", "items", "4", "repeats", "2"}} {
		status, page := ida.post("/classes/"+class+sent[0], sent[1:]...)
		ida.ok(status, page)
	}
	status, page = ada.get("/")
	ada.ok(status, page, "To be done", "assignment 1, due 1 May 2031", `the calibration session "Spring"`)
	if strings.Contains(page, "form spring") {
		t.Error("a form that was not begun is to be done")
	}
	forms, err := h.book.Forms(t.Context())
	if err != nil || len(forms) != 1 {
		t.Fatal(forms, err)
	}
	status, page = ida.post("/classes/"+class+"/begin", "set", forms[0].Set().Ref.String())
	ida.ok(status, page)
	status, page = ida.post("/classes/"+class+"/assignments/1", "what", "removed", "confirm", "yes")
	ida.ok(status, page)
	status, page = ada.get("/")
	if ada.ok(status, page, "form spring"); strings.Contains(page, "assignment 1") {
		t.Errorf("what was taken back is to be done:\n%s", page)
	}
	for _, b := range []*browser{ben, ida} {
		if status, page := b.get("/"); strings.Contains(b.ok(status, page), "To be done") {
			t.Errorf("somebody else's:\n%s", page)
		}
	}
}

// A test for a room can be taken between "begin now" and "collect", and neither before
// nor after: not its second part either, not from a page that was open, and not from a
// second server.
func TestAFormOpensAndCloses(t *testing.T) {
	h := opened(t, record.NewMemory())
	ctx := context.Background()
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch", "Ben Moor")
	code := ida.code(class)
	ada, ben := h.joined(code, "Ada Finch"), h.joined(code, "Ben Moor")
	a, b := ada.drill(), ben.drill()
	h.checked(a)
	h.checked(b)
	status, page := ida.post("/classes/"+class+"/tests", "name", "spring", "items", "4")
	ida.ok(status, page, "form spring</a>, closed")
	forms, err := h.book.Forms(ctx)
	if err != nil || len(forms) != 1 || forms[0].Closed.IsZero() {
		t.Fatal(forms, err)
	}
	set := forms[0].Set()
	offered := func(who string) int {
		t.Helper()
		open, err := record.OpenForms(ctx, &ownBook{book: h.book, who: h.person(who).ID}, h.person(who).ID)
		if err != nil {
			t.Fatal(err)
		}
		return len(open)
	}
	if offered("Ada Finch") != 0 {
		t.Error("a form is offered before it is begun")
	}
	status, page = ida.post("/classes/"+class+"/begin", "set", set.Ref.String())
	ida.ok(status, page)
	status, page = ida.get("/classes/" + class)
	ida.ok(status, page, "form spring</a>, open")
	a, b = ada.drill(), ben.drill()
	until(t, a, "begin")
	h.press(a, "enter")
	h.silent(a, 4, 4)
	until(t, a, "part 2 of 2", "begin") // Ada stands before her second part
	until(t, b, "begin")
	h.press(b, "enter")
	h.silent(b, 1, 4) // and Ben is in his first
	status, page = ida.post("/classes/"+class+"/collect", "set", set.Ref.String())
	ida.ok(status, page, "Nobody can begin it any more")
	if forms, _ = h.book.Forms(ctx); !forms[0].Closed.IsZero() {
		t.Error("the form is closed before that is confirmed")
	}
	status, page = ida.post("/classes/"+class+"/collect", "set", set.Ref.String(), "confirm", "yes")
	ida.ok(status, page)
	if offered("Ada Finch")+offered("Ben Moor") != 0 {
		t.Error("a form that was collected is offered")
	}
	// Whatever a trainer has read before, the book takes no sitting of it.
	open := set
	open.Closed = time.Time{}
	own := &ownBook{book: h.book, who: h.person("Ada Finch").ID, roundTrip: func() time.Duration { return 0 }, begun: func(scoring.Sitting) {}}
	if _, err := record.Take(ctx, own, open, h.person("Ada Finch"), scoring.DisplayCheck{}, time.Now); err == nil || !strings.Contains(err.Error(), "closed") {
		t.Errorf("the second part is begun after it was collected: %v", err)
	}
	for name, want := range map[string]int{"Ada Finch": 4, "Ben Moor": 1} {
		who := h.person(name).ID
		if list, err := h.book.Sittings(ctx, record.Filter{Learner: who, Unfinished: true}); err != nil || len(list) != 0 {
			t.Errorf("%s goes on: %+v, %v", name, list, err)
		}
		n := 0
		for _, err := range h.book.Attempts(ctx, record.Filter{Learner: who, Silent: true}) {
			if err != nil {
				t.Fatal(err)
			}
			n++
		}
		if n != want {
			t.Errorf("%s gave %d answers, the book has %d", name, want, n)
		}
	}
	// Begun once more, who has a part to do finds it.
	status, page = ida.post("/classes/"+class+"/begin", "set", set.Ref.String())
	ida.ok(status, page)
	if offered("Ada Finch") != 1 {
		t.Error("a form that was begun once more is not offered")
	}
	until(t, ada.drill(), "part 2 of 2", "begin")
	status, page = ida.get("/classes/" + class + "/log")
	ida.ok(status, page, "laid down: form spring", "begun now: form spring", "collected: form spring")
}

// A calibration session is for the class that it was laid down in, and for no other of
// its instructor's.
func TestASessionIsOfOneClass(t *testing.T) {
	h := opened(t, record.NewMemory())
	ctx := context.Background()
	ida := h.instructor("Ida Vale")
	monday, friday := ida.class("Monday group", "Ada Finch"), ida.class("Friday group", "Zoe Quill")
	status, page := ida.post("/classes/"+monday+"/sessions", "name", "Spring", "kind", "value-first", "items", "2", "repeats", "2")
	ida.ok(status, page, "Spring")
	if status, page := ida.get("/classes/" + friday); status != 200 || strings.Contains(page, "Spring") {
		t.Errorf("the session stands in another class: %d", status)
	}
	for name, want := range map[string]int{"Ada Finch": 1, "Zoe Quill": 0} {
		open, err := record.OpenSets(ctx, &ownBook{book: h.book, who: h.person(name).ID}, h.person(name).ID)
		if err != nil || len(open) != want {
			t.Errorf("%s finds %d sessions, %v", name, len(open), err)
		}
		// In the terminal as well, on the whole book.
		if open, err = record.OpenSets(ctx, h.book, h.person(name).ID); err != nil || len(open) != want {
			t.Errorf("in the terminal %s finds %d sessions, %v", name, len(open), err)
		}
	}
	if status, _ := ida.post("/classes/"+friday+"/begin", "set", "panel:Spring"); status != 404 {
		t.Errorf("begun in another class: %d", status)
	}
	if status, _ := ida.get("/classes/" + friday + "/session.html?of=Spring"); status != 404 {
		t.Errorf("read in another class: %d", status)
	}
}
