package transfer

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/colour/fault"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"

	"math/rand/v2"
)

var start = time.Date(2026, 3, 2, 18, 30, 0, 0, time.UTC)

// filled is a book with two people, the second with a hostile name, who sat
// drills of value first and thresholds; the last sitting was broken off.
func filled(t testing.TB, trials int) *record.Memory {
	t.Helper()
	library, err := tabs.Load("starter")
	if err != nil {
		t.Fatal(err)
	}
	return filledFrom(t, trials, tabs.NewSheet(library, nil))
}

func filledFrom(t testing.TB, trials int, sheet *tabs.Sheet) *record.Memory {
	t.Helper()
	return filledBy(t, trials, sheet, scoring.Learner{Name: "Ada"}, scoring.Learner{Name: "=SUM(A1:A9)"})
}

func filledBy(t testing.TB, trials int, sheet *tabs.Sheet, people ...scoring.Learner) *record.Memory {
	t.Helper()
	ctx := context.Background()
	book := record.NewMemory()
	now := start
	clock := func() time.Time { now = now.Add(4 * time.Second); return now }
	rng := rand.New(rand.NewPCG(4, 2))
	for i, who := range people {
		who.At, who.Simulated = clock(), true
		l, err := book.AddLearner(ctx, who)
		if err != nil {
			t.Fatal(err)
		}
		for j, setup := range []exercises.Setup{
			{Kind: exercises.ValueFirst, Seed: 3, Sheet: sheet, Viewing: exercises.DefaultViewing()},
			{Kind: exercises.Threshold, Task: exercises.TaskDifferent, Seed: 4},
		} {
			setup.Count = trials
			drill, err := record.Begin(ctx, book, scoring.Sitting{Learner: l.ID, Setup: setup}, clock)
			if err != nil {
				t.Fatal(err)
			}
			kind, _ := exercises.ByID(setup.Kind)
			for range trials {
				trial, ok := drill.Trial()
				if !ok {
					break
				}
				a := kind.Simulate(trial, drill.Sitting().Setup, observer.Observer{Noise: 1}, rng)
				a.First, a.Total = 1200*time.Millisecond, 3456*time.Millisecond
				if _, _, err := drill.Answer(ctx, a); err != nil {
					t.Fatal(err)
				}
			}
			if i+j < 2 {
				if err := drill.End(ctx, false); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	return book
}

func export(t testing.TB, book Source, format Format) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Export(context.Background(), book, record.Filter{}, &b, format); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// earlier is a file of JSON lines as versions wrote it that knew no links and no line that
// closes a file.
func earlier(file string) string {
	file = regexp.MustCompile(`,"(link|chain)":("[^"]*"|null|\{[^}]*\})`).ReplaceAllString(file, "")
	file = regexp.MustCompile(`(?m)^\{"record":"end".*\n`).ReplaceAllString(file, "")
	return strings.Replace(file, `"format":3`, `"format":1`, 1)
}

// earlierTable does the same with the rows of a CSV.
func earlierTable(table [][]string) [][]string {
	for i, row := range table[:len(table)-1] {
		for j, cell := range row {
			row[j] = earlier(cell)
		}
		table[i] = row[:len(row)-1]
	}
	return table[:len(table)-1]
}

// noon is when the tests import.
var noon = time.Date(2030, 3, 1, 12, 0, 0, 0, time.UTC)

// What travels comes out as it went in: people, sittings, sheets and answers.
func TestARoundTripLosesNothing(t *testing.T) {
	ctx := context.Background()
	for _, format := range []Format{CSV, JSONLines} {
		t.Run(string(format), func(t *testing.T) {
			from, to := filled(t, 5), record.NewMemory()
			file := export(t, from, format)
			done, err := Import(ctx, to, bytes.NewReader(file), format, Rules{At: noon, Roles: true})
			if err != nil {
				t.Fatal(err)
			}
			if done.Added != 20 || done.Learners != 2 || done.Known != 0 {
				t.Errorf("imported %+v, want 20 answers of 2 people", done)
			}
			if diff := cmp.Diff(everything(t, from), everything(t, to)); diff != "" {
				t.Errorf("the other book differs (-from +to):\n%s", diff)
			}
			if again := export(t, to, format); !bytes.Equal(file, again) {
				t.Error("exported again, the file is another")
			}
			sittings, err := to.Sittings(ctx, record.Filter{})
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range sittings {
				taken, err := from.Sitting(ctx, s.ID)
				if err != nil {
					t.Fatal(err)
				}
				if want := (scoring.Origin{Road: scoring.RoadImported, Book: taken.Origin.Book, At: noon, Simulated: taken.Origin.Simulated}); s.Origin != want {
					t.Errorf("origin %+v, want %+v", s.Origin, want)
				}
			}
			// The same file again, later, adds nothing and changes no origin.
			done, err = Import(ctx, to, bytes.NewReader(file), format, Rules{At: noon.Add(time.Hour), Roles: true})
			if err != nil || done.Added != 0 || done.Known != 20 || done.Learners != 0 {
				t.Errorf("the same file again: %+v, %v", done, err)
			}
			if diff := cmp.Diff(everything(t, from), everything(t, to)); diff != "" {
				t.Errorf("importing twice changed the book:\n%s", diff)
			}
		})
	}
}

func everything(t testing.TB, book *record.Memory) (all struct {
	Learners []scoring.Learner
	Sittings []scoring.Sitting
	Attempts []scoring.Attempt
}) {
	t.Helper()
	ctx := context.Background()
	var err error
	if all.Learners, err = book.Learners(ctx); err != nil {
		t.Fatal(err)
	}
	if all.Sittings, err = book.Sittings(ctx, record.Filter{}); err != nil {
		t.Fatal(err)
	}
	for i := range all.Sittings { // by which road they came is each book's own
		all.Sittings[i].Origin = scoring.Origin{Book: all.Sittings[i].Origin.Book, Simulated: all.Sittings[i].Origin.Simulated}
	}
	for a, err := range book.Attempts(ctx, record.Filter{}) {
		if err != nil {
			t.Fatal(err)
		}
		all.Attempts = append(all.Attempts, a)
	}
	return all
}

// The first columns are the ones other programs rely on.
func TestHeader(t *testing.T) {
	const want = "attempt,learner,sitting,kind,ordinal,at,target_hex,answer_hex,target_L,target_a,target_b," +
		"answer_L,answer_a,answer_b,dE00,dL,dC,dH,group_steps,band,points,first_ms,total_ms"
	first, _, _ := strings.Cut(string(export(t, filled(t, 1), CSV)), "\n")
	if !strings.HasPrefix(first, want+",") {
		t.Errorf("header is\n%s\nwant it to begin with\n%s", first, want)
	}
}

// What was said of directions and places stands in columns of its own.
func TestColumnsOfDirectionsAndPlaces(t *testing.T) {
	place := 0.25
	shown := colour.SRGB{R: 210, G: 190, B: 160}
	for name, c := range map[string]struct {
		answer exercises.Answer
		want   []string
	}{
		"nothing":    {exercises.Answer{Choice: "seat"}, []string{"", "", "", ""}},
		"directions": {exercises.Answer{Directions: &exercises.Directions{Value: -1, Hue: 1}, Choice: "adjust"}, []string{"", "-1", "0", "1"}},
		"a place":    {exercises.Answer{Colour: &shown, Number: &place}, []string{"0.250000", "", "", ""}},
	} {
		row, err := whole{attempt: scoring.Attempt{Answer: c.answer}}.fields()
		if err != nil || len(row) != len(columns) {
			t.Fatal(len(row), len(columns), err)
		}
		for i, want := range c.want {
			if got := row[len(columns)-5+i]; got.text != want || want != "" && !got.number {
				t.Errorf("%s: column %s is %q instead of %q", name, columns[len(columns)-5+i], got.text, want)
			}
		}
	}
}

// Nor does one where semicolons part the cells, out of a name or of the data behind it; and
// every name comes back.
func TestNoFormulaBehindASemicolon(t *testing.T) {
	ctx := context.Background()
	names := []string{"a;=1+1;b", "b;@x", "c;'=1", "+3", "'=d", `e;"=1`, "f;=1\u00a0;|g"}
	var people []scoring.Learner
	for i, name := range names {
		people = append(people, scoring.Learner{Name: name, Number: fmt.Sprintf("%d", i)})
	}
	library, err := tabs.Load("starter")
	if err != nil {
		t.Fatal(err)
	}
	book := filledBy(t, 2, tabs.NewSheet(library, nil), people...)
	file := export(t, book, CSV)
	for line := range strings.Lines(string(file)) {
		for cell := range strings.SplitSeq(strings.TrimSuffix(line, "\n"), ";") {
			if cell = strings.TrimLeft(cell, ` "`); cell != "" && strings.ContainsRune("=+-@|%", rune(cell[0])) {
				t.Errorf("a cell between semicolons is %q", cell)
			}
		}
	}
	again := record.NewMemory()
	if _, err := Import(ctx, again, bytes.NewReader(file), CSV, Rules{At: start}); err != nil {
		t.Fatal(err)
	}
	for i, name := range names {
		if l, err := again.LearnerByName(ctx, name); err != nil || l.Number != fmt.Sprintf("%d", i) {
			t.Errorf("%q came back as %q, number %q (%v)", name, l.Name, l.Number, err)
		}
	}
}

func TestNoFormulaReachesASpreadsheet(t *testing.T) {
	table, err := csv.NewReader(bytes.NewReader(export(t, filled(t, 3), CSV))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	number := regexp.MustCompile(`^-?[0-9.]+$`)
	for _, row := range table[1:] {
		for i, cell := range row {
			if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) && !number.MatchString(cell) {
				t.Errorf("column %s holds %q", table[0][i], cell)
			}
		}
	}
	if table[7][1] != "'=SUM(A1:A9)" && table[8][1] != "'=SUM(A1:A9)" {
		t.Errorf("the hostile name is %q", table[7][1])
	}
}

// Every bad line is named, and nothing of a file with bad lines is imported.
func TestBadLines(t *testing.T) {
	ctx := context.Background()
	good := earlier(string(export(t, filled(t, 4), JSONLines)))
	lines := strings.SplitAfter(good, "\n")
	change := func(old, new string, at ...int) string {
		changed := append([]string(nil), lines...)
		for _, i := range at {
			if !strings.Contains(changed[i], old) {
				t.Fatalf("line %d does not hold %q:\n%s", i+1, old, changed[i])
			}
			changed[i] = strings.Replace(changed[i], old, new, 1)
		}
		return strings.Join(changed, "")
	}
	for name, c := range map[string]struct {
		file string
		want []string
	}{
		"no JSON":           {change(`{"attempt"`, `{attempt`, 2), []string{"line 3: not a JSON object"}},
		"another colour":    {change(`"target_hex":"#`, `"target_hex":"#0`, 1), []string{"line 2: target_hex"}},
		"another ordinal":   {change(`-0001"`, `-0007"`, 1), []string{`line 2: attempt is`}},
		"no time":           {change(`"at":"2026`, `"at":"once`, 0, 3), []string{"line 1: at is not a time", "line 4: at is not a time"}},
		"no sitting before": {strings.Join(lines[1:], ""), []string{"line 1: its sitting is not in the book"}},
		"negative ordinal":  {change(`"ordinal":1,"scene"`, `"ordinal":-1,"scene"`, 1), []string{"line 2:"}},
	} {
		t.Run(name, func(t *testing.T) {
			book := record.NewMemory()
			_, err := Import(ctx, book, strings.NewReader(c.file), JSONLines, Rules{At: noon, Roles: true})
			var faults *fault.List
			if !errors.As(err, &faults) {
				t.Fatalf("got %v, want a list of bad lines", err)
			}
			if name != "no sitting before" && len(faults.Lines) != len(c.want) {
				t.Errorf("%d lines are blamed, %d are bad: %q", len(faults.Lines), len(c.want), faults.Lines)
			}
			for i, want := range c.want {
				if i >= len(faults.Lines) || !strings.HasPrefix(faults.Lines[i], want) {
					t.Errorf("faults are %q, want one that begins with %q", faults.Lines, want)
				}
			}
			if all := everything(t, book); len(all.Attempts)+len(all.Learners)+len(all.Sittings) != 0 {
				t.Errorf("something of the bad file was imported: %d answers of %d people", len(all.Attempts), len(all.Learners))
			}
		})
	}
}

func TestManyBadLinesAreCounted(t *testing.T) {
	_, err := Import(context.Background(), record.NewMemory(), strings.NewReader(strings.Repeat("{}\n", 50)), JSONLines, Rules{At: noon, Roles: true})
	var faults *fault.List
	if !errors.As(err, &faults) || len(faults.Lines) != 20 || faults.More != 50-20 {
		t.Fatalf("got %v", err)
	}
}

func TestAnotherAnswerUnderTheSameIdentifierIsRefused(t *testing.T) {
	ctx := context.Background()
	book := filled(t, 2)
	file := earlier(string(export(t, book, JSONLines)))
	changed := strings.Replace(file, `"total_ns":3456000000`, `"total_ns":9999000000`, 1)
	if changed == file {
		t.Fatal("nothing was changed")
	}
	before := everything(t, book)
	if _, err := Import(ctx, book, strings.NewReader(changed), JSONLines, Rules{At: noon, Roles: true}); err == nil || !strings.Contains(err.Error(), "another answer") {
		t.Errorf("got %v", err)
	}
	if diff := cmp.Diff(before, everything(t, book)); diff != "" {
		t.Errorf("the book changed:\n%s", diff)
	}
}

// Two people of one name in two books stay two people.
func TestANameThatIsTakenIsNumbered(t *testing.T) {
	ctx := context.Background()
	book := record.NewMemory()
	if _, err := book.AddLearner(ctx, scoring.Learner{Name: "ada", At: start}); err != nil {
		t.Fatal(err)
	}
	done, err := Import(ctx, book, bytes.NewReader(export(t, filled(t, 1), CSV)), CSV, Rules{At: noon, Roles: true})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"Ada (2)"}, done.Renamed); diff != "" {
		t.Error(diff)
	}
}

func TestUnusableFiles(t *testing.T) {
	for name, c := range map[string]struct{ file, want string }{
		"empty":          {"", "empty"},
		"other columns":  {"name,L,a,b\nx,1,2,3\n", "missing"},
		"a broken quote": {strings.Join(columns, ",") + "\n\"abc\n", "line 2"},
	} {
		_, err := Import(context.Background(), record.NewMemory(), strings.NewReader(c.file), CSV, Rules{At: noon, Roles: true})
		var hint interface{ Hint() string }
		if err == nil || !strings.Contains(err.Error(), c.want) || !errors.As(err, &hint) {
			t.Errorf("%s: got %v, want an error with a hint that says %q", name, err, c.want)
		}
	}
}

// Statements carry what the standard asks for, and the same attempt is always
// the same statement.
func TestLearningRecords(t *testing.T) {
	book := filled(t, 2)
	first := export(t, book, XAPI)
	if !bytes.Equal(first, export(t, book, XAPI)) {
		t.Error("exported twice, the statements differ")
	}
	var list []map[string]any
	if err := json.Unmarshal(first, &list); err != nil {
		t.Fatal(err)
	}
	answered := 0
	id := regexp.MustCompile(`^[0-9a-f]{8}-[0-9a-f]{4}-5[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$`)
	seen := map[string]bool{}
	for _, s := range list {
		for _, part := range []string{"actor", "verb", "object", "context", "timestamp"} {
			if s[part] == nil {
				t.Errorf("a statement has no %s", part)
			}
		}
		if name := s["id"].(string); !id.MatchString(name) || seen[name] {
			t.Errorf("statement identifier %q is no UUID of version 5, or stands twice", name)
		} else {
			seen[name] = true
		}
		if s["verb"].(map[string]any)["id"] != verbs+"answered" {
			continue
		}
		answered++
		if d := s["result"].(map[string]any)["duration"]; d != "PT3.46S" {
			t.Errorf("duration %v, want PT3.46S", d)
		}
	}
	if answered != 8 {
		t.Errorf("%d statements of 8 answers", answered)
	}
	var empty []any
	if err := json.Unmarshal(export(t, record.NewMemory(), XAPI), &empty); err != nil || len(empty) != 0 {
		t.Errorf("an empty book gives %v, %v", empty, err)
	}
}

func FuzzImport(f *testing.F) {
	book := filledFrom(f, 1, recordtest.Sheet(f)) // small, so that much can be tried
	f.Add(string(export(f, book, CSV)), true)
	f.Add(string(export(f, book, JSONLines)), false)
	f.Add("{\"attempt\":\"\xff\",\"at\":null}\n", false)
	f.Add(strings.Join(columns, ",")+"\n"+strings.Repeat("'=,", len(columns)-1)+"\n", true)
	f.Fuzz(func(t *testing.T, file string, isCSV bool) {
		format := JSONLines
		if isCSV {
			format = CSV
		}
		book := record.NewMemory()
		done, err := Import(context.Background(), book, strings.NewReader(file), format, Rules{At: noon, Roles: true})
		n := 0
		for _, err := range book.Attempts(context.Background(), record.Filter{}) {
			if err != nil {
				t.Fatal(err)
			}
			n++
		}
		if err != nil && n > 0 {
			t.Errorf("refused (%v), and yet %d answers are in the book", err, n)
		}
		if err == nil && n != done.Added {
			t.Errorf("%d answers said to be added, %d there", done.Added, n)
		}
		if found, err := record.Verify(context.Background(), book, nil); err != nil || !found.Sound() {
			t.Errorf("what was imported is not sound: %q, %v", found.Findings, err)
		}
		if err := Export(context.Background(), book, record.Filter{}, io.Discard, CSV); err != nil {
			t.Errorf("what was imported cannot be exported: %v", err)
		}
	})
}

func BenchmarkExport(b *testing.B) {
	book := filled(b, 250)
	for _, format := range []Format{CSV, JSONLines, XAPI} {
		b.Run(string(format), func(b *testing.B) {
			for b.Loop() {
				if err := Export(context.Background(), book, record.Filter{}, io.Discard, format); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(1000*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
		})
	}
}

func BenchmarkImport(b *testing.B) {
	file := export(b, filled(b, 250), JSONLines)
	for b.Loop() {
		done, err := Import(context.Background(), record.NewMemory(), bytes.NewReader(file), JSONLines, Rules{At: noon, Roles: true})
		if err != nil || done.Added != 1000 {
			b.Fatal(fmt.Sprint(done, err))
		}
	}
	b.ReportMetric(1000*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}
