package serve

import (
	"bytes"
	"log/slog"
	"net/url"
	"strings"
	"sync"
	"testing"

	"shadedrill/scoring/record"
)

// written is a log that can be read while it is written.
type written struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (w *written) Write(b []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.b.Write(b)
}

func (w *written) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.b.String()
}

// The log tells routes and how long they took: no name, no number, no identifier, no
// address, no answer, no passphrase, code, link or cookie, whether things go well or not.
func TestTheLogNamesNobody(t *testing.T) {
	var log written
	h := openedWith(t, Options{Book: record.NewMemory(), Log: slog.New(slog.NewTextHandler(&log, &slog.HandlerOptions{Level: slog.LevelDebug}))})
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch")
	code := ida.code(class)
	ada := h.joined(code, "Ada Finch")
	_, page := ida.post("/classes/"+class+"/people/"+string(h.person("Ada Finch").ID)+"/link", "confirm", "yes")
	link := linkPattern.FindString(page)
	c := ada.drill()
	h.checked(c)
	ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", "4", "due", "2031-05-01")
	ida.post("/classes/"+class+"/begin", "set", h.assignment(1))
	c = ada.drill()
	until(t, c, "4 trials", "begin")
	h.press(c, "enter")
	h.answer(c, 1, 1, 4)
	for _, path := range []string{"/classes/" + class + "/review.html", "/people/" + string(h.person("Ada Finch").ID) + "/progress.html", "/people/nobody/progress.html", "/classes/" + class + "/nothing"} {
		ida.get(path)
	}
	ida.get(link[strings.Index(link, "/join"):])
	ida.post("/sign-in", "name", "Ada Finch", "passphrase", "a wrong guess of hers")
	ida.post("/join", "ticket", "BBBB-BBBB-BBBB", "step", "code")
	said := log.String()
	if !strings.Contains(said, "GET /classes/{class}/{report}") || !strings.Contains(said, "status=401") {
		t.Fatalf("the log does not tell what was asked for:\n%s", said)
	}
	u, _ := url.Parse(h.url)
	for what, secret := range map[string]string{"a name": "Finch", "another name": "Ida", "a class": "Monday", "its identifier": class, "a person's identifier": string(h.person("Ada Finch").ID), "an address": u.Hostname(),
		"a code": code, "a link": link[strings.LastIndex(link, "/")+1:], "a cookie": strings.TrimPrefix(ada.cookie(), "shadedrill="), "a passphrase": phrase, "a wrong passphrase": "guess", "an answer": "L7"} {
		if strings.Contains(said, secret) {
			t.Errorf("%s is in the log: %q", what, secret)
		}
	}
}
