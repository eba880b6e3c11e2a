//go:build unix

package serve

import (
	"context"
	"os"
	"strings"
	"testing"

	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres"
	"shadedrill/scoring/record/postgres/postgrestest"
)

func TestMain(m *testing.M) { os.Exit(postgrestest.Main(m)) }

// Two servers share a book. Who signed in at one is signed in at the other; when the one
// dies in the middle of a drill, the other goes on with it at the same trial; wrong
// passphrases count at both; who is signed out at one is so at both.
func TestTwoServersOnOneBook(t *testing.T) {
	address := postgrestest.Address(t)
	serve := func() *house {
		book, err := postgres.Open(context.Background(), address)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { book.Close() })
		return opened(t, book)
	}
	one, two := serve(), serve()
	ida := one.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch")
	status, page := ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", "4", "pass", "none", "due", "2031-05-01")
	ida.ok(status, page)
	status, page = ida.at(two).get("/classes/" + class)
	ida.ok(status, page, "Monday group", "Ada Finch")

	ada := one.joined(ida.code(class), "Ada Finch")
	c := ada.drill()
	one.checked(c)
	status, page = ida.post("/classes/"+class+"/begin", "set", one.assignment(1))
	ida.ok(status, page)
	_ = c.Closed(late)
	c = ada.drill()
	until(t, c, "4 trials", "begin")
	one.press(c, "enter")
	one.answer(c, 1, 2, 4)
	until(t, c, "trial 3 of 4 Step 1 of 2")
	status, page = ida.at(two).get("/classes/" + class + "/live")
	ida.ok(status, page, "2 of 4", "not on this server", "1 answered just now on another server")

	// The first server ends without a word; her page goes to the other one.
	who := one.person("Ada Finch").ID
	d := one.server.drills.of(who)
	c.Cut()
	d.stop(nil)
	<-d.ended
	again := ada.at(two).drill()
	until(t, again, "broken off")
	two.press(again, "enter")
	until(t, again, "2 trials to come")
	two.press(again, "enter")
	until(t, again, "trial 3 of 4 Step 1 of 2")
	two.answer(again, 3, 4, 4)
	until(t, again, "summary")
	if sittings, err := one.book.Sittings(context.Background(), record.Filter{Learner: who}); err != nil || len(sittings) != 1 || sittings[0].Ended.IsZero() {
		t.Errorf("her sittings are %+v, %v", sittings, err)
	}
	if n := len(one.attempts(who)); n != 4 {
		t.Errorf("%d answers, want 4", n)
	}

	for range freeTries {
		status, page := one.browser().post("/sign-in", "name", "Ada Finch", "passphrase", "a wrong one")
		if status == 200 {
			t.Fatalf("signed in: %s", page)
		}
	}
	if _, page := two.browser().post("/sign-in", "name", "Ada Finch", "passphrase", phrase); !strings.Contains(page, "tried too often") {
		t.Error("wrong passphrases at one server do not count at the other")
	}
	status, page = ida.post("/sign-out")
	ida.ok(status, page)
	if status, page := ida.at(two).get("/classes/" + class); status == 200 && strings.Contains(page, "Ada Finch") {
		t.Error("signed out at one server, and still in at the other")
	}
}
