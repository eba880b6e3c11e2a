package main

import (
	"bytes"
	"crypto/rand"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"shadedrill/scoring/report/reporttest"
)

// everyReport are command lines that print a report, in a book of a simulated class, panel
// and people, some with long names.
func everyReport(t *testing.T, w *world) map[string][]string {
	t.Helper()
	cases := filepath.Join(t.TempDir(), "cases.csv")
	text := "id,prescribed_L,prescribed_a,prescribed_b,delivered_L,delivered_a,delivered_b\n" +
		"crown-of-the-upper-left-central-incisor-third-try-in,76.1,1.2,18.4,74.0,1.9,20.2\n"
	if err := os.WriteFile(cases, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	long := "Maximiliane-Wilhelmine von und zu Oberhausen-Niederkirchen"
	for _, args := range [][]string{
		{"simulate", "--class", "Monday group", "--learners", "10", "--sittings", "8", "--items", "10", "--seed", "1"},
		{"simulate", "--class", "Tuesday group", "--learners", "10", "--sittings", "8", "--items", "10", "--seed", "2"},
		{"panel", "new", "Spring team", "--items", "6", "--repeats", "2", "--seed", "4"},
		{"simulate", "--panel", "Spring team", "--learners", "4", "--seed", "3"},
		{"panel", "new", "lamps", "--kind", "lighting", "--items", "6", "--repeats", "3", "--seed", "4"},
		{"simulate", "--panel", "lamps", "--learners", "3", "--seed", "5"},
		{"simulate", "--learners", "2", "--sittings", "2", "--items", "16", "--seed", "5"},
		{"class", "assign", "Monday group", "--count", "12", "--limit", "5s", "--pass", "2.0", "--due", "2099-12-01", "--seed", "7"},
		{"people", "rename", "Simulated 03", long, "--yes"},
	} {
		args = append(args, "--book", w.vars["SHADEDRILL_BOOK"])
		if code := w.run(args...); code != 0 {
			t.Fatalf("%q: %s", args, w.err.String())
		}
	}
	return map[string][]string{
		"class review":      {"class", "review", "Monday group"},
		"class effect":      {"class", "effect", "Monday group", "--against", "Tuesday group"},
		"class grades":      {"class", "grades", "Monday group"},
		"class assignments": {"class", "assignments", "Monday group"},
		"class list":        {"class", "list"},
		"roster":            {"class", "list", "Monday group"},
		"panel list":        {"panel", "list"},
		"panel report":      {"panel", "report", "Spring team"},
		"panel of lamps":    {"panel", "report", "lamps"},
		"progress":          {"progress", "--learner", long},
		"threshold":         {"threshold", "--learner", "Simulated 01"},
		"exam list":         {"exam", "list"},
		"exam report":       {"exam", "report", "--form", "A", "--learner", "Simulated 01"},
		"people list":       {"people", "list"},
		"plan":              {"practise", "--plan", "--learner", long},
		"tabs list":         {"tabs", "list"},
		"tabs show":         {"tabs", "show", "natural"},
		"tabs check":        {"tabs", "check", "starter"},
		"compare":           {"compare", cases},
		"simulate": {"simulate", "--learners", "2", "--sittings", "2", "--items", "6", "--improve", "--seed", "9",
			"--book", filepath.Join(t.TempDir(), "new.db")},
	}
}

// shares are the columns of reports that hold a share without an interval; people read
// them in per cent.
var shares = []string{"share", "lighter", "darker", "beyond_acceptability", "different", "given_by", "per_doubling"}

// TestEveryReport walks all that the program prints: no line of a text is wider than it may be,
// JSON has one shape, CSV one header, and a share is of one.
func TestEveryReport(t *testing.T) {
	w := newWorld(t)
	met := map[string]bool{}
	reports := everyReport(t, w)
	for _, name := range slices.Sorted(maps.Keys(reports)) {
		args := reports[name]
		print := func(more ...string) []byte {
			if code := w.run(append(slices.Clone(args), more...)...); code != 0 {
				t.Fatalf("%s: %s", name, w.err.String())
			}
			if slices.Contains(args, "simulate") {
				os.Remove(args[len(args)-1])
			}
			return bytes.Clone(w.out.Bytes())
		}
		for width, most := range map[int]int{40: 40, 80: 80, 0: 100} {
			w.width = width
			text := string(print("--format", "text"))
			reporttest.Fits(t, fmt.Sprintf("%s at width %d", name, width), text, most)
		}
		var is map[string]json.RawMessage
		if err := json.Unmarshal(print("--format", "json"), &is); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if string(is["version"]) != "1" || is["title"] == nil || !bytes.HasPrefix(is["cautions"], []byte("[")) {
			t.Errorf("%s as JSON has version %s, title %s, cautions %s", name, is["version"], is["title"], is["cautions"])
		}
		for key, raw := range is {
			var rows []map[string]any
			if key == "version" || key == "title" || key == "cautions" {
				continue
			}
			if err := json.Unmarshal(raw, &rows); err != nil {
				t.Errorf("%s: the section %s is no list of rows: %v", name, key, err)
			}
			for _, row := range rows {
				for _, column := range shares {
					if v, ok := row[column].(float64); ok {
						met[column] = true
						if v < 0 || v > 1 {
							t.Errorf("%s: %s.%s is %v, no share of 1", name, key, column, v)
						}
					}
				}
			}
		}
		rows, err := csv.NewReader(bytes.NewReader(print("--format", "csv"))).ReadAll()
		if err != nil || len(rows) < 2 {
			t.Fatalf("%s as CSV: %d lines, %v", name, len(rows), err)
		}
		if long := rows[0][0] == "section"; long != (len(is) > 4) || long && strings.Join(rows[0], ",") != "section,row,column,value,lo,hi,n,warnings" {
			t.Errorf("%s, of %d members, has the header %q", name, len(is), rows[0])
		}
	}
	for _, column := range shares {
		if !met[column] {
			t.Errorf("no report has the share %s", column)
		}
	}
}

// On a terminal what a command says breaks between words; elsewhere it is a line.
func TestSentencesBreakBetweenWords(t *testing.T) {
	w := newWorld(t)
	w.chance = rand.Reader
	tell := func(width int, name string) string {
		w.width = width
		if code := w.run("exam", "new", name); code != 0 {
			t.Fatalf("code %d: %s", code, w.err.String())
		}
		return w.out.String()
	}
	if lines := strings.Split(strings.TrimSpace(tell(0, "one")), "\n"); len(lines) != 3 {
		t.Errorf("told in %d lines: %q", len(lines), lines)
	}
	words := 0
	for _, line := range strings.Split(tell(40, "two"), "\n") {
		if strings.Contains(line, "shadedrill exam take") { // is copied whole
			continue
		}
		if words += len(strings.Fields(line)); utf8.RuneCountInString(line) > 40 {
			t.Errorf("%q is wider than the terminal", line)
		}
	}
	if whole := tell(0, "six"); len(strings.Fields(whole[:strings.Index(whole, "Each takes")])) != words {
		t.Errorf("%d words were told, of %q", words, whole)
	}
}

// On a terminal an error breaks between words; in a log it is a line.
func TestErrorsBreakBetweenWords(t *testing.T) {
	w := newWorld(t)
	tell := func(width int) string {
		w.errorWidth = width
		w.run("progress")
		return w.err.String()
	}
	whole := tell(0)
	if strings.Count(whole, "\n") != 2 {
		t.Fatalf("told as %q", whole)
	}
	word := 0
	for _, f := range strings.Fields(whole) {
		word = max(word, utf8.RuneCountInString(f))
	}
	for _, width := range []int{word, word + 7, 80} {
		got := tell(width)
		reporttest.Fits(t, "an error", got, width)
		if fmt.Sprint(strings.Fields(got)) != fmt.Sprint(strings.Fields(whole)) {
			t.Errorf("at width %d words are broken: %q", width, got)
		}
	}
}
