package serve

import (
	"html"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"shadedrill/scoring/record"
)

// filled is a form of a page with what stands in its fields.
type filled struct {
	action string
	fields map[string]string // those that are typed or chosen, and what it decides
	wrong  []string          // those that are marked
	whole  string
}

var (
	formPattern   = regexp.MustCompile(`(?s)<form method="post" action="([^"]*)"[^>]*>(.*?)</form>`)
	inputPattern  = regexp.MustCompile(`<input ([^>]*)>`)
	areaPattern   = regexp.MustCompile(`(?s)<textarea ([^>]*)>(.*?)</textarea>`)
	selectPattern = regexp.MustCompile(`(?s)<select ([^>]*)>(.*?)</select>`)
	chosenPattern = regexp.MustCompile(`<option value="([^"]*)" selected`)
	pairPattern   = regexp.MustCompile(`([a-z-]+)="([^"]*)"`)
)

func formsOf(page string) (list []filled) {
	for _, m := range formPattern.FindAllStringSubmatch(page, -1) {
		f := filled{action: m[1], fields: map[string]string{}, whole: m[0]}
		add := func(attributes string, value *string) {
			of := map[string]string{}
			for _, a := range pairPattern.FindAllStringSubmatch(attributes, -1) {
				of[a[1]] = html.UnescapeString(a[2])
			}
			switch of["type"] {
			case "password", "file":
				if of["value"] != "" {
					f.fields["A SECRET"] = of["value"]
				}
			case "hidden":
				if of["name"] == "what" {
					f.action += " " + of["value"]
				}
			default:
				if f.fields[of["name"]] = of["value"]; value != nil {
					f.fields[of["name"]] = *value
				}
			}
			if strings.Contains(attributes, "aria-invalid") {
				f.wrong = append(f.wrong, of["name"])
			}
		}
		for _, i := range inputPattern.FindAllStringSubmatch(m[2], -1) {
			add(i[1], nil)
		}
		for _, a := range areaPattern.FindAllStringSubmatch(m[2], -1) {
			text := html.UnescapeString(a[2])
			add(a[1], &text)
		}
		for _, s := range selectPattern.FindAllStringSubmatch(m[2], -1) {
			chosen := ""
			if c := chosenPattern.FindStringSubmatch(s[2]); c != nil {
				chosen = html.UnescapeString(c[1])
			}
			add(s[1], &chosen)
		}
		list = append(list, f)
	}
	return list
}

// Whatever is refused, the page that the form stands on comes back with everything that
// was typed into it and chosen, the refusal beside it, what is wrong marked; never a
// passphrase, and whatever was typed is text. Every form of the pages is tried.
func TestARefusedFormKeepsWhatWasTyped(t *testing.T) {
	h := opened(t, record.NewMemory())
	const evil = `"><script>alert(1)</script>{{.Class}}' onfocus='x`
	link, err := h.server.FirstLink(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	first := link[strings.LastIndex(link, "/")+1:]
	nobody := h.browser()
	told, sentence := regexp.MustCompile(`role="alert"[^>]*><p>([^<]*)</p>`), regexp.MustCompile(`(?s)^[\p{Lu}"“].*\.$`)
	tried := map[string]bool{}
	refused := func(b *browser, action, what string, status int, wrong string, fields ...string) {
		t.Helper()
		sent := fields
		if what != "" {
			sent = append([]string{"what", what}, fields...)
		}
		got, page := b.post(action, sent...)
		name := strings.TrimSpace(action + " " + what)
		tried[name] = true
		if got != status || strings.Contains(page, "<script") || !strings.Contains(page, "<title>Not done: ") {
			t.Errorf("%s: %d\n%s", name, got, page)
		}
		if m := told.FindStringSubmatch(page); m != nil && !sentence.MatchString(html.UnescapeString(m[1])) {
			t.Errorf("%s: it is told in no sentence: %q", name, m[1])
		}
		if n := strings.Count(page, `role="alert"`); n != 1 || strings.Count(page, "autofocus") != 1 {
			t.Errorf("%s: %d refusals are told, or typing does not go on where it is wrong:\n%s", name, n, page)
		}
		forms := formsOf(page)
		i := slices.IndexFunc(forms, func(f filled) bool { return f.action == name })
		if i < 0 {
			t.Fatalf("%s: the form is not there:\n%s", name, page)
		}
		f := forms[i]
		if !strings.Contains(f.whole, `role="alert"`) {
			t.Errorf("%s: the refusal stands elsewhere:\n%s", name, page)
		}
		if (wrong == "") != (len(f.wrong) == 0) || wrong != "" && !slices.Equal(f.wrong, []string{wrong}) {
			t.Errorf("%s: %q are marked as wrong, want %q", name, f.wrong, wrong)
		}
		for n := 0; n < len(fields); n += 2 {
			switch field, typed := fields[n], fields[n+1]; field {
			case "ticket", "into": // goes along unseen; is nobody who can be chosen
			case "passphrase", "old":
				if strings.Contains(html.UnescapeString(page), typed) {
					t.Errorf("%s: the %s is sent back", name, field)
				}
			default:
				if f.fields[field] != typed {
					t.Errorf("%s: %s was %q, and comes back as %q", name, field, typed, f.fields[field])
				}
			}
		}
		for field := range f.fields { // nothing that can be typed was left untried
			if !slices.Contains(fields, field) {
				t.Errorf("%s: %s is not tried", name, field)
			}
		}
	}

	refused(nobody, "/sign-in", "", 401, "passphrase", "name", evil, "passphrase", "wrong as ever")
	refused(nobody, "/join", "", 403, "passphrase", "ticket", first, "name", evil, "runs", "team", "passphrase", "tooshort")
	refused(nobody, "/join", "", 403, "name", "ticket", first, "name", " ", "runs", "team", "passphrase", phrase)
	ida := h.instructor("Ida Vale")
	other := ida.class(evil, "Ada Finch")
	class := ida.class("Monday group", "Ada Finch", "Ben Moor")
	refused(nobody, "/join", "", 403, "name", "ticket", ida.code(class), "name", evil, "passphrase", phrase)
	refused(ida, "/classes", "", 422, "name", "name", evil)
	refused(ida, "/account", "", 422, "old", "old", "not what it is", "passphrase", "another one of these")
	refused(ida, "/account", "", 422, "passphrase", "old", phrase, "passphrase", "tooshort")

	at := "/classes/" + class
	refused(ida, at+"/assign", "", 422, "count", "kind", "thirds", "count", evil, "pass", evil, "due", "2031-05-01")
	refused(ida, at+"/assign", "", 422, "pass", "kind", "halfway", "count", "12", "pass", evil, "due", "2031-05-01")
	refused(ida, at+"/assign", "", 422, "due", "kind", "halfway", "count", "12", "pass", "80%", "due", evil)
	refused(ida, at+"/tests", "", 422, "name", "name", evil, "items", "12", "levels", evil)
	refused(ida, at+"/tests", "", 422, "items", "name", "spring", "items", evil, "levels", "passed 80 %")
	refused(ida, at+"/tests", "", 422, "levels", "name", "spring", "items", "12", "levels", "passed 80\n"+evil)
	refused(ida, at+"/tests", "", 422, "levels", "name", "spring", "items", "12", "levels", "passed 80 %\nalmost 90 %\nnot yet 0")
	refused(ida, at+"/sessions", "", 422, "items", "name", evil, "kind", "halfway", "items", "12", "repeats", evil)
	refused(ida, at+"/sessions", "", 422, "name", "name", "", "kind", "halfway", "items", "12", "repeats", "3")
	refused(ida, at+"/roster", "", 422, "names", "names", "New Person\n"+evil+"\n"+strings.Repeat("x", 500))
	refused(ida, at+"/roster", "", 422, "", "names", " \n ")

	status, page := ida.post(at+"/assign", "kind", "value-first", "count", "5", "due", "2031-05-01")
	ida.ok(status, page)
	ben := string(h.person("Ben Moor").ID)
	refused(ida, at+"/assignments/1", "due", 422, "until", "until", evil, "why", evil)
	refused(ida, at+"/assignments/1", "extended", 422, "until", "who", ben, "until", "2030-01-01", "why", evil)
	refused(ida, at+"/assignments/1", "dropped", 422, "item", "item", "99", "why", evil)
	refused(ida, at+"/assignments/1", "excused", 422, "", "who", ben, "why", strings.Repeat(evil, 99))
	refused(ida, at+"/assignments/1", "removed", 422, "", "why", strings.Repeat(evil, 99))
	person := at + "/people/" + ben
	refused(ida, person+"/merge", "", 422, "", "into", ben)

	for _, path := range []string{"/", "/account", at, "/classes/" + other, at + "/assignments/1", person} {
		_, page := ida.get(path)
		for _, f := range formsOf(page) {
			name := strings.Replace(f.action, other, class, 1)
			if len(f.fields) > 0 && !tried[name] && name != person+"/move" { // what cannot be chosen is not there for anybody
				t.Errorf("%s: the form %s is not tried", path, name)
			}
		}
	}
}

// Whoever thinks better of what they are asked about finds everything that they had typed
// and chosen where it stood, and nothing is done or told as wrong.
func TestNoKeepsWhatWasTyped(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	class, other := ida.class("Monday group", "Ada Finch", "Ben Moor"), ida.class("Friday group")
	status, page := ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", "5", "due", "2031-05-01")
	ida.ok(status, page)
	status, page = ida.post("/classes/"+class+"/sessions", "name", "Spring", "kind", "halfway", "items", "4", "repeats", "2")
	ida.ok(status, page)
	ida.code(class)
	ben, ada := string(h.person("Ben Moor").ID), string(h.person("Ada Finch").ID)
	at, person := "/classes/"+class+"/assignments/1", "/classes/"+class+"/people/"+ben
	_, before := ida.get("/classes/" + class + "/log")
	for _, c := range []struct {
		action string
		fields []string
	}{
		{at, []string{"what", "extended", "who", ben, "until", "2031-07-01", "why", "was ill in May"}},
		{at, []string{"what", "due", "until", "2031-06-02", "why", "the clinic was shut"}},
		{at, []string{"what", "dropped", "item", "3", "why", "the beamer failed"}},
		{person + "/merge", []string{"into", ada}},
		{person + "/move", []string{"to", other}},
		{person + "/erase", nil},
		{"/classes/" + class + "/code", nil},
		{"/classes/" + class + "/links", nil},
		{"/classes/" + class + "/collect", []string{"set", h.assignment(1)}},
		{"/classes/" + class + "/close", []string{"set", "panel:Spring"}},
	} {
		if c.action == "/classes/"+class+"/links" {
			status, page := ida.post(c.action)
			ida.ok(status, page)
			_, before = ida.get("/classes/" + class + "/log")
		}
		status, page := ida.post(c.action, c.fields...)
		ida.ok(status, page, "Really?", `name="confirm" value="no"`)
		status, page = ida.post(c.action, append(c.fields, "confirm", "no")...)
		ida.ok(status, page)
		if strings.Contains(page, `role="alert"`) || strings.Contains(page, "Not done") || strings.Contains(page, "Really?") {
			t.Errorf("%s %q: who says no is told of a fault, or asked again:\n%s", c.action, c.fields, page)
		}
		name, fields := c.action, c.fields
		if len(fields) > 0 && fields[0] == "what" {
			name, fields = name+" "+fields[1], fields[2:]
		}
		i := slices.IndexFunc(formsOf(page), func(f filled) bool { return f.action == name })
		if i < 0 {
			t.Fatalf("%s: the page with the form does not come back:\n%s", name, page)
		}
		for n := 0; n < len(fields); n += 2 {
			if got := formsOf(page)[i].fields[fields[n]]; fields[n] != "set" && got != fields[n+1] {
				t.Errorf("%s: %s was %q, and comes back as %q", name, fields[n], fields[n+1], got)
			}
		}
	}
	if _, log := ida.get("/classes/" + class + "/log"); log != before {
		t.Errorf("no was said, and this was done:\n%s", log)
	}
}

// A page that was refused bears the address of its form: asked for again, or opened anew,
// it leads to the page that the form stands on, and to nobody else's.
func TestTheAddressOfAFormLeadsToItsPage(t *testing.T) {
	h, ida, rolf, monday, _, _, _ := two(t)
	nobody := h.browser()
	_, post := h.paths(monday, h.person("Ada Finch").ID)
	for _, path := range append(post, "/classes", "/account", "/sign-in", "/sign-out", "/join") {
		if status, page := ida.get(path); status != http.StatusOK && !strings.Contains(path, "/assignments/") {
			t.Errorf("%s: %d\n%s", path, status, page)
		}
		if status, page := nobody.get(path); status != http.StatusOK || strings.Contains(page, "Monday") {
			t.Errorf("nobody gets %s: %d", path, status)
		}
		if status, _ := rolf.get(path); strings.Contains(path, monday) && status != http.StatusNotFound {
			t.Errorf("another instructor gets %s: %d", path, status)
		}
	}
}

// What was sent from a page that is no longer as it was is told about on the page that is
// there now.
func TestARefusalWithoutItsFormIsToldOnTop(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch")
	status, page := ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", "5", "due", "2031-05-01")
	ida.ok(status, page)
	at := "/classes/" + class + "/assignments/1"
	status, page = ida.post(at, "what", "removed", "confirm", "yes")
	ida.ok(status, page)
	// A second window still shows how to decide about it, and what to begin.
	for _, sent := range [][]string{{at, "what", "due", "until", "2031-06-01", "confirm", "yes"}, {at, "what", "removed", "confirm", "yes"}, {at, "what", "anything"}, {at, "what", "due", "back", "yes"}, {"/classes/" + class + "/begin", "set", h.assignment(1)}} {
		status, page := ida.post(sent[0], sent[1:]...)
		if status != 422 || strings.Count(page, `role="alert"`) != 1 || !strings.Contains(page, "</h1>\n<div class=\"error\" role=\"alert\">") {
			t.Errorf("%q: %d\n%s", sent, status, page)
		}
	}
}

// What the class's page offers to be given can be: every exercise of its lists, with what
// stands in the other fields.
func TestWhatIsOfferedCanBeGiven(t *testing.T) {
	h := opened(t, record.NewMemory())
	ida := h.instructor("Ida Vale")
	class := ida.class("Monday group", "Ada Finch")
	for form, fields := range map[string][]string{"assign": {"count", "20", "pass", "", "due", "2031-05-01"}, "sessions": {"items", "20", "repeats", "2"}} {
		_, page := ida.get("/classes/" + class)
		i := strings.Index(page, "/"+form+`">`)
		kinds := regexp.MustCompile(`<option value="([^"]*)"`).FindAllStringSubmatch(page[i:][:strings.Index(page[i:], "</select>")], -1)
		if len(kinds) < 5 {
			t.Fatalf("%s offers %q", form, kinds)
		}
		for _, kind := range kinds {
			status, page := ida.post("/classes/"+class+"/"+form, append(fields, "kind", kind[1], "name", "Of "+kind[1])...)
			ida.ok(status, page, "begin now")
		}
	}
}
