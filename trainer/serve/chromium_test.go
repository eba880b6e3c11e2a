//go:build endtoend

package serve

import (
	"context"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/scoring/record/sqlite"
	"shadedrill/trainer/web/webtest"
)

// see writes what a browser shows into the folder of SHADEDRILL_PICTURES, if it is set.
func see(t *testing.T, b *webtest.Chromium, name string) {
	t.Helper()
	folder := os.Getenv("SHADEDRILL_PICTURES")
	if folder == "" {
		return
	}
	f, err := os.Create(filepath.Join(folder, name+".png"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, b.Picture()); err != nil {
		t.Fatal(err)
	}
}

func open(b *webtest.Chromium, address string) {
	b.Do("Page.navigate", fmt.Sprintf(`{"url":%q}`, address))
	b.Until("the page at "+address, `document.readyState === "complete" && location.href !== "about:blank"`)
}

// fill types into the fields of a form and sends it.
func fill(b *webtest.Chromium, action string, fields ...string) {
	form := fmt.Sprintf("document.querySelector('form[action$=%q]')", action)
	b.Until("the form "+action, "!!"+form)
	for i := 0; i < len(fields); i += 2 {
		b.Eval(fmt.Sprintf("void (%s.elements[%q].value = %q)", form, fields[i], fields[i+1]))
	}
	b.Eval("void (window.leaving = true)")
	b.Eval(form + ".requestSubmit()")
	b.Until("the page after "+action, `document.readyState === "complete" && !window.leaving`)
}

func text(b *webtest.Chromium) string { return b.Eval("document.body.innerText") }

func reads(t *testing.T, b *webtest.Chromium, texts ...string) {
	t.Helper()
	for _, s := range texts {
		b.Until(s, fmt.Sprintf("!!document.body?.innerText.includes(%q)", s))
	}
}

// The story in Chromium: an instructor sets up, three students in three browsers join
// with the code on the wall and drill, one of them by touch on a telephone; the network
// is cut and comes back; the instructor watches and reads the review. The pixels of the
// patches on all three screens are the bytes in the book.
func TestEndToEndClass(t *testing.T) {
	const trials = 17
	book, err := sqlite.Open(context.Background(), filepath.Join(t.TempDir(), "school.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { book.Close() })
	h := opened(t, book)
	ida := webtest.OpenChromium(t, 1280, 900, 1, false)
	link, err := h.server.FirstLink(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	open(ida, link)
	see(t, ida, "first")
	fill(ida, "/join", "name", "Ida Vale", "passphrase", phrase)
	fill(ida, "/classes", "name", "Monday group")
	class := regexp.MustCompile(`/classes/\w{26}`).FindString(ida.Eval("location.pathname"))
	fill(ida, "/roster", "names", "Ada Finch\nBen Moor\nCy Thorn")
	reads(t, ida, "Cy Thorn")
	fill(ida, "/sessions", "name", "Spring", "kind", "value-first", "items", "4", "repeats", "2")
	fill(ida, "/tests", "name", "spring", "items", "4")
	see(t, ida, "class")
	fill(ida, "/assign", "kind", "value-first", "count", fmt.Sprint(trials), "due", "2031-05-01")
	fill(ida, "/code")
	code := codePattern.FindString(text(ida))
	see(t, ida, "code")

	type student struct {
		name          string
		width, height int
		ratio         float64
		touch         bool
	}
	// Each student has a goroutine: tests that run side by side would be two at a time.
	var at sync.WaitGroup
	var begin []func()
	for i, s := range []student{{"Ada Finch", 1280, 800, 1, false}, {"Ben Moor", 1024, 768, 2, false}, {"Cy Thorn", 390, 844, 3, true}} {
		b := webtest.OpenChromium(t, s.width, s.height, s.ratio, s.touch)
		open(b, h.url+"/join")
		see(t, b, fmt.Sprintf("join-%d", i))
		fill(b, "/join", "ticket", code)
		fill(b, "/join", "name", s.name, "passphrase", phrase)
		reads(t, b, "Practise")
		see(t, b, fmt.Sprintf("home-%d", i))
		open(b, h.url+"/drill")
		keys := map[string]string{"Enter": "↵", "ArrowLeft": "←", "ArrowRight": "→"}
		last := ""
		press := func(key string) { // as a person looks, and lets go of a key before the next
			pause := 400 * time.Millisecond
			if key == last {
				pause = 900 * time.Millisecond
			}
			time.Sleep(pause)
			last = key
			switch sign, named := keys[key]; {
			case !s.touch:
				b.Key(key)
			case named:
				b.Tap(sign)
			default:
				b.Tap(key)
			}
		}
		b.Says("Before you begin")
		press("Enter")
		for question, key := range []string{"1", "1", "3", "1"} {
			b.Says(fmt.Sprintf("question %d of 4", question+1))
			see(t, b, fmt.Sprintf("check-%d-%d", i, question))
			press(key)
		}
		press("Enter")
		b.Says("Today's practice")

		begin = append(begin, func() { drillInChromium(t, h, b, press, s.name, trials, s.width, s.height, s.touch, i) })
	}
	open(ida, h.url+class)
	fill(ida, "/begin", "set", h.assignment(1))
	for _, b := range begin {
		at.Go(b)
	}
	reads(t, ida, "3 of 3 have the page open", fmt.Sprintf("5 of %d", trials))
	see(t, ida, "live")
	at.Wait()
	open(ida, h.url+class+"/live")
	reads(t, ida, "Ada Finch")
	open(ida, h.url+class+"/review.html")
	reads(t, ida, "Class review: Monday group", "Ada Finch", "Ben Moor", "Cy Thorn")
	see(t, ida, "review")
	open(ida, h.url+class+"/people/"+string(h.person("Ada Finch").ID))
	reads(t, ida, "progress", "Take off the list")
	see(t, ida, "person")
	open(ida, h.url+class)
	reads(t, ida, "3 of 3 have done it")
	see(t, ida, "class-after")
	ida.Do("Emulation.setDeviceMetricsOverride", `{"width":390,"height":844,"deviceScaleFactor":2,"mobile":true}`)
	for name, page := range map[string]string{"class": "", "person": "/people/" + string(h.person("Ada Finch").ID), "live": "/live"} {
		open(ida, h.url+class+page)
		see(t, ida, name+"-390")
		if wide := ida.Eval("String(document.documentElement.scrollWidth)"); wide != "390" {
			t.Errorf("%s is %s wide on a telephone of 390", name, wide)
		}
	}
	open(ida, h.url+class+"/log")
	reads(t, ida, "begun now: assignment 1")
}

// drillInChromium takes the assignment that has begun, and compares pixels with bytes.
func drillInChromium(t *testing.T, h *house, b *webtest.Chromium, press func(string), name string, trials, width, height int, touch bool, i int) {
	b.Says(fmt.Sprintf("assignment of your class, %d trials", trials)) // not the line of the menu
	press("Enter")
	if touch {
		height = height * 46 / 100
	}
	var lefts, rights []colour.SRGB
	for n := 1; n <= trials; n++ {
		b.Says(fmt.Sprintf("trial %d of %d", n, trials))
		b.Says("Step 1 of 2")
		if n == 8 {
			b.Do("Network.enable", `{}`)
			b.Do("Network.emulateNetworkConditions", `{"offline":true,"latency":0,"downloadThroughput":-1,"uploadThroughput":-1}`)
			h.server.drills.of(h.person(name).ID).screen.Cut(1001, "the network is cut")
			b.Until("the notice", "!document.getElementById('notice').hidden")
			see(t, b, fmt.Sprintf("cut-%d", i))
			time.Sleep(3 * time.Second)
			b.Do("Network.emulateNetworkConditions", `{"offline":false,"latency":0,"downloadThroughput":-1,"uploadThroughput":-1}`)
			b.Says(fmt.Sprintf("trial %d of %d", n, trials))
			b.Says("Step 1 of 2")
		}
		press([]string{"ArrowLeft", "ArrowRight"}[n%2])
		press("Enter")
		b.Until("step 2", "document.getElementById('said').textContent.includes('Step 2 of 2')")
		left, right := b.Field(width, height)
		lefts, rights = append(lefts, left), append(rights, right)
		if n == 3 {
			see(t, b, fmt.Sprintf("drill-%d", i))
		}
		press("Enter")
		b.Says("answered")
		press("Enter")
	}
	b.Says("summary")
	see(t, b, fmt.Sprintf("summary-%d", i))
	got := h.attempts(h.person(name).ID)
	if len(got) != trials {
		t.Fatalf("%d answers in the book, want %d", len(got), trials)
	}
	for k, a := range got {
		if a.Trial.Target != lefts[k] || *a.Answer.Colour != rights[k] {
			t.Errorf("trial %d: on the screen %v and %v, in the book %v and %v", k+1, lefts[k], rights[k], a.Trial.Target, *a.Answer.Colour)
		}
	}
	sitting, err := h.book.Sitting(context.Background(), got[0].Sitting)
	if err != nil || !strings.HasPrefix(sitting.Display.Terminal, "browser, ") || !strings.Contains(sitting.Display.Terminal, "read-back exact") || sitting.Display.RoundTrip <= 0 {
		t.Errorf("the display says %+v, %v", sitting.Display, err)
	}
}
