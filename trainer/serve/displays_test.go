package serve

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/classes"
	"shadedrill/scoring/reports/learners"
	"shadedrill/scoring/reports/panels"
)

// Every report that the command line can write of checked displays alone can be asked for
// so in the browser, by a link; the page says so and leads back to all answers, and is byte
// for byte the one that -o writes but for its ways to other pages. The others say that they
// cannot.
func TestReportsOfCheckedDisplaysAlone(t *testing.T) {
	h := opened(t, record.NewMemory())
	ctx := t.Context()
	ida := h.instructor("Ida Vale")
	class := h.practised(ida)
	h.still.Store(time.Now().UnixNano())
	now := h.server.Clock()
	who := h.person("Simulated 01")
	group, err := h.book.ClassByName(ctx, "Monday group")
	if err != nil {
		t.Fatal(err)
	}
	scope, err := classes.ScopeOf(ctx, h.book, group)
	if err != nil {
		t.Fatal(err)
	}
	scope.Checked = true
	session, err := h.book.PanelByName(ctx, "Spring")
	if err != nil {
		t.Fatal(err)
	}
	view := panels.View{Group: group.Name, Of: scope.People, Checked: true}
	at, monday := "/classes/"+class, report.Link{Words: "back to Monday group", To: "/classes/" + class}
	for _, c := range []struct {
		at, name, query, says string
		back                  report.Link
		written               func() (report.Report, error)
	}{
		{at, "review", "", "Left out: no display check: ", monday, func() (report.Report, error) {
			return classes.Report(ctx, h.book, scope, record.Filter{}, "flag", false)
		}},
		{at, "grades", "", "Not graded is what was done on a display", monday, func() (report.Report, error) { return classes.Grades(ctx, h.book, group, 0, now, true) }},
		{at, "gradebook", "", "Not graded is what was done on a display", monday, func() (report.Report, error) {
			return classes.WideGrades(ctx, h.book, group, classes.UsualPoints, now, true)
		}},
		{at, "session", "of=Spring", "Left out: no display check: ", monday, func() (report.Report, error) { return panels.Report(ctx, h.book, session, view) }},
		{"/people/" + string(who.ID), "progress", "", "Left out: the display was not checked", report.Link{Words: "back to Simulated 01", To: at + "/people/" + string(who.ID)},
			func() (report.Report, error) { return learners.Progress(ctx, h.book, who, record.Filter{}, now, true) }},
	} {
		path := c.at + "/" + c.name
		and, query, all := "?display=checked", "?display=checked", ""
		if c.query != "" {
			and, query, all = "?display=checked&amp;"+c.query, "?display=checked&"+c.query, "?"+c.query
		}
		_, page := ida.get(path + ".html" + all)
		if !strings.Contains(page, `<a href="`+c.name+`.html`+and+`">only what was done on displays that passed their check</a>`) {
			t.Errorf("%s: nothing leads to checked displays alone:\n%s", c.name, page[strings.Index(page, "<nav"):][:600])
		}
		status, got := ida.get(path + ".html" + query)
		ida.ok(status, got, c.says)
		r, err := c.written()
		if err != nil {
			t.Fatal(err)
		}
		l := report.Layout{Width: 100, NoCommands: true, Back: c.back, Choice: report.Link{Words: "everything, whatever the display", To: c.name + ".html" + all},
			As: []report.Link{{Words: "CSV", To: c.name + ".csv" + query}, {Words: "JSON", To: c.name + ".json" + query}, {Words: "text", To: c.name + ".txt" + query}}}
		for _, f := range []struct {
			format report.Format
			ending string
		}{{report.FormatHTML, ".html"}, {report.FormatText, ".txt"}, {report.FormatCSV, ".csv"}, {report.FormatJSON, ".json"}} {
			var want bytes.Buffer
			if err := report.Write(&want, r, f.format, l); err != nil {
				t.Fatal(err)
			}
			if _, got := ida.get(path + f.ending + query); got != want.String() {
				t.Errorf("%s%s differs from what -o writes, but for the ways to other pages", c.name, f.ending)
			}
		}
		if status, _ := ida.get(path + ".html" + strings.Replace(query, "checked", "mine", 1)); status != 422 {
			t.Errorf("%s of displays that nobody knows: %d", c.name, status)
		}
	}
	for _, path := range []string{at + "/tests.html", at + "/effect.html", at + "/assignments.html", at + "/roster.csv"} {
		if status, page := ida.get(path + "?display=checked"); status != 422 || !strings.Contains(page, "whatever the display") {
			t.Errorf("%s says nothing of the displays that it was to leave out: %d", path, status)
		}
	}
}
