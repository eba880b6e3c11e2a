package report_test

import (
	"strings"
	"testing"

	"shadedrill/scoring/report"
)

// Who has no command line reads no command, in whatever format, and has ways to other pages;
// what is printed has the commands and no such ways.
func TestCommandsAreForWhoHasACommandLine(t *testing.T) {
	r := report.Report{Title: "Class", Lead: []string{"Verdict."}, Commands: []string{"With: shadedrill one."}, Sections: []report.Section{{Key: "next", Title: "Next",
		Notes: []string{"How to read."}, Commands: []string{"With: shadedrill two."}, Table: &report.Table{
			Columns: []report.Column{{Key: "who", Title: "who"}, {Key: "command", Title: "with", Command: true}, {Key: "what", Title: "what"}},
			Rows:    [][]report.Cell{{report.Text("Ada"), report.Text("shadedrill three"), report.Text("chroma")}}}}}}
	for _, f := range report.Formats() {
		printed := string(write(t, r, f, 80))
		var b strings.Builder
		if err := report.Write(&b, r, f, report.Layout{Width: 80, NoCommands: true, Back: report.Link{Words: "back to <Monday>", To: "/classes/1"}, Choice: report.Link{Words: "only <some>", To: "review.html?a&b"}, As: []report.Link{{Words: "CSV", To: "review.csv?of=a&b"}}}); err != nil {
			t.Fatal(err)
		}
		page := b.String()
		want := 1
		if f == report.FormatText || f == report.FormatHTML {
			want = 3
		}
		if n := strings.Count(printed, "shadedrill "); n != want || strings.Contains(printed, "back to") {
			t.Errorf("%s: %d commands of %d are printed:\n%s", f, n, want, printed)
		}
		if strings.Contains(page, "shadedrill ") || !strings.Contains(page, "chroma") {
			t.Errorf("%s: a page says\n%s", f, page)
		}
		if f == report.FormatHTML && (!strings.Contains(page, `<a href="/classes/1">back to &lt;Monday&gt;</a>`) || !strings.Contains(page, `<a href="review.html?a&amp;b">only &lt;some&gt;</a>`) || !strings.Contains(page, `<a href="review.csv?of=a&amp;b">CSV</a>`)) {
			t.Errorf("the ways are not there:\n%s", page[strings.Index(page, "<body"):])
		}
	}
	if len(r.Sections[0].Table.Columns) != 3 || len(r.Lead) != 1 {
		t.Error("writing has changed the report")
	}
}
