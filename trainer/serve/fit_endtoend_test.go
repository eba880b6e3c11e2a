//go:build endtoend

package serve

import (
	"fmt"
	"strings"
	"testing"

	"shadedrill/scoring/record"
	"shadedrill/trainer/web/webtest"
)

// Every page of a class fits into a telephone's window and a laptop's, however long and
// however written the names are: nothing is cut off, and nobody scrolls sideways.
func TestEndToEndPagesFit(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale-Wolkenstein-Hohenfels")
	var names []string
	for i, pattern := range []string{"Wolfeschlegelsteinhausenbergerdorffwelchevoralternwaren %d", `<b>"O'Brien"</b> & Söhne %d`, "مريم عبد الرحمن %d", "王小明王小明王小明王小明王小明王小明王小明王小明 %d", "Ada %d"} {
		for n := range 6 {
			names = append(names, fmt.Sprintf(pattern, 6*i+n))
		}
	}
	class := ida.class("Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbau", names...)
	ida.class("Friday group", "Zoe Quill")
	person := h.person(names[0]).ID
	for _, form := range [][]string{{"/assign", "kind", "value-first", "count", "4", "pass", "80%", "due", "2031-05-01"}, {"/tests", "name", "spring", "items", "4"},
		{"/sessions", "name", "Spring", "kind", "value-first", "items", "4", "repeats", "2"},
		{"/assignments/1", "what", "excused", "who", string(person), "why", strings.Repeat("a very long reason ", 10), "confirm", "yes"}} {
		status, page := ida.post("/classes/"+class+form[0], form[1:]...)
		ida.ok(status, page)
	}
	get, _ := h.paths(class, person)
	get = append(get, "/", "/account", "/join")
	cookie, value, _ := strings.Cut(ida.cookie(), "=")
	for _, width := range []int{390, 1280} {
		b := webtest.OpenChromium(t, width, 844, 1, width < 500)
		open(b, h.url+"/")
		b.Do("Network.setCookie", fmt.Sprintf(`{"name":%q,"value":%q,"url":%q}`, cookie, value, h.url))
		fits := func(what string) {
			t.Helper()
			if wide := b.Eval("String(document.documentElement.scrollWidth)"); wide != fmt.Sprint(width) {
				t.Errorf("%s is %s wide in a window of %d", what, wide, width)
			}
		}
		for _, path := range get {
			if strings.Contains(path, ".csv") || strings.Contains(path, ".json") || strings.Contains(path, ".txt") {
				continue // a file, or lines as they are
			}
			open(b, h.url+path)
			fits(path)
		}
		for _, form := range []string{"/code", "/links"} {
			open(b, h.url+"/classes/"+class)
			fill(b, form)
			fits(form)
			if b.Eval("String(!!document.querySelector('button[name=confirm]'))") == "true" { // there is one already
				b.Eval("void (window.leaving = true, document.querySelector('button[name=confirm]').click())")
				b.Until("the page after "+form, `document.readyState === "complete" && !window.leaving && !!document.querySelector('.qr')`)
				fits(form)
			}
		}
		// A form that is refused comes back where it stands, with what is wrong in the window.
		open(b, h.url+"/classes/"+class)
		fill(b, "/sessions", "name", strings.Repeat("Wolfeschlegelstein", 20), "items", "500", "repeats", "2")
		fits("a refused form")
		if at := b.Eval(`(e => e.name + " " + (e.getBoundingClientRect().top >= 0 && e.getBoundingClientRect().bottom <= innerHeight))(document.activeElement)`); at != "items true" {
			t.Errorf("after a refusal typing goes on at %q", at)
		}
	}
}
