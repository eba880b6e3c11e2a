package transfer

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
)

// resealed is an edited file with a last line that fits it again: somebody took pains.
func resealed(file string) string {
	body, _, found := strings.Cut(file, `{"record":"end"`)
	if !found {
		panic("no end")
	}
	sittings := map[string]bool{}
	rows := 0
	for _, line := range strings.Split(body, "\n") {
		if m := regexp.MustCompile(`"sitting":"([^"]*)"`).FindStringSubmatch(line); m != nil && strings.Contains(line, `"attempt"`) {
			sittings[m[1]] = true
			rows++
		}
	}
	sum := sha256.Sum256([]byte(body))
	return body + fmt.Sprintf(`{"record":"end","answers":%d,"sittings":%d,"sha256":"%s"}`+"\n", rows, len(sittings), hex.EncodeToString(sum[:]))
}

func small(t testing.TB) *record.Memory { return filledFrom(t, 3, recordtest.Sheet(t)) }

func importing(t testing.TB, file string, format Format, rules Rules) (Imported, *record.Memory, error) {
	t.Helper()
	book := record.NewMemory()
	rules.At = noon
	done, err := Import(context.Background(), book, strings.NewReader(file), format, rules)
	return done, book, err
}

// Wherever a file is cut, it does not pass for whole; what is there can be taken.
func TestACutFileIsRefused(t *testing.T) {
	school, _ := school(t)
	for name, c := range map[string]struct {
		file   string
		format Format
	}{
		"csv":   {string(export(t, small(t), CSV)), CSV},
		"jsonl": {string(export(t, small(t), JSONLines)), JSONLines},
		"class": {exportClass(t, school, "Monday group", true), JSONLines},
	} {
		t.Run(name, func(t *testing.T) {
			if done, _, err := importing(t, c.file, c.format, Rules{}); err != nil || done.Unclosed || done.Partial != "" || done.Short > 0 {
				t.Fatalf("the whole file: %+v, %v", done, err)
			}
			var cuts []int
			for i := range len(c.file) - 1 {
				if c.file[i] == '\n' {
					cuts = append(cuts, i, i+1)
				}
				if i%997 == 0 {
					cuts = append(cuts, i)
				}
			}
			for _, at := range cuts {
				cut := c.file[:at]
				_, book, err := importing(t, cut, c.format, Rules{})
				last := strings.Count(c.file, "\n") - 1
				if err == nil && strings.Count(cut, "\n") < last {
					t.Errorf("cut after %d of %d bytes: taken for whole", at, len(c.file))
				}
				if err != nil && len(everything(t, book).Attempts) > 0 {
					t.Errorf("cut after %d bytes: refused, and yet something came in", at)
				}
				if name == "class" { // its lines are counted, which --partial does not forgive
					continue
				}
				rows := strings.Count(cut, "\n")
				if c.format == CSV {
					rows--
				}
				done, book, err := importing(t, cut, c.format, Rules{Partial: true})
				if rows > 0 && (err != nil || done.Rows < rows && strings.Count(cut, "\n") < last || done.Partial == "" && strings.Count(cut, "\n") < last) {
					t.Errorf("cut after %d bytes, what is there: %+v, %v", at, done, err)
				}
				if err == nil {
					// The whole file afterwards brings the rest.
					if _, err := Import(context.Background(), book, strings.NewReader(c.file), c.format, Rules{At: noon}); err != nil {
						t.Errorf("cut after %d bytes, then the whole: %v", at, err)
					} else if n := len(everything(t, book).Attempts); n != 12 {
						t.Errorf("cut after %d bytes, then the whole: %d answers", at, n)
					}
				}
			}
		})
	}
}

// An answer that was changed, taken out, put in, moved or said otherwise is named, even where the last
// line fits again.
func TestAnEditedFileIsRefused(t *testing.T) {
	file := string(export(t, small(t), JSONLines))
	lines := strings.SplitAfter(file, "\n")
	lines = lines[:len(lines)-1]
	with := func(i int, old, new string) []string {
		changed := append([]string(nil), lines...)
		changed[i] = strings.Replace(changed[i], old, new, 1)
		if changed[i] == lines[i] {
			t.Fatalf("line %d does not hold %s", i+1, old)
		}
		return changed
	}
	without := func(i int) []string { return append(append([]string(nil), lines[:i]...), lines[i+1:]...) }
	marks := regexp.MustCompile(`"dE00":[^,]*,"dL":[^,]*,"dC":[^,]*,"dH":[^,]*,`)
	swapped := append([]string(nil), lines...)
	one, other := marks.FindString(lines[0]), marks.FindString(lines[1])
	swapped[0], swapped[1] = strings.Replace(lines[0], one, other, 1), strings.Replace(lines[1], other, one, 1)
	for name, c := range map[string]struct {
		file []string
		want string
	}{
		"another time":         {with(1, `"total_ns":3456`, `"total_ns":2456`), "line 2: answer 2 of its sitting is not as it was given"},
		"another setup":        {with(0, `"seed":3`, `"seed":4`), "line 1: sitting_data is not as it was exported"},
		"another end":          {with(0, `"ended":"2026-03-02T18:30:2`, `"ended":"2026-03-02T18:31:2`), "its end was changed"},
		"left":                 {with(0, `"ended":"2026-03-02T18:30:24Z"`, `"ended":"2026-03-02T18:30:24Z","left":true`), "its end was changed"},
		"one taken out":        {without(1), "line 2: answer 3 of its sitting is not as it was given, or one was taken out"},
		"the last taken out":   {without(2), "1 answer is missing"},
		"the first taken out":  {without(0), "line 1: no line before it tells of its sitting"},
		"a link taken out":     {with(1, `"link":"`, `"lnk":"`), "line 2: it has no link"},
		"a link that is none":  {with(1, `"link":"`, `"link":"z`), "line 2: link is no hash"},
		"numbers swapped":      {swapped, "line 1: dE00 is"},
		"a number changed":     {with(0, `"dL":`, `"dL":1`), "line 1: dL is"},
		"another person":       {with(0, `"role":"learner"`, `"role":"learner","begun_as":"x"`), "line 1: sitting_data is not as it was exported"},
		"taken somewhere else": {with(6, `"started":"`, `"book":"elsewhere","started":"`), "line 7: sitting_data is not as it was exported"},
	} {
		t.Run(name, func(t *testing.T) {
			edited := strings.Join(c.file, "")
			for how, f := range map[string]string{"as it is": edited, "with a fitting last line": resealed(edited)} {
				_, book, err := importing(t, f, JSONLines, Rules{})
				if err == nil || !strings.Contains(err.Error(), c.want) {
					t.Errorf("%s: got %v, want %q", how, err, c.want)
				}
				if len(everything(t, book).Attempts) > 0 {
					t.Errorf("%s: something came in", how)
				}
			}
		})
	}
}

// Files are put one behind the other, sent by mail, and written by an earlier version.
func TestFilesAsTheyCome(t *testing.T) {
	file := string(export(t, small(t), JSONLines))
	table := string(export(t, small(t), CSV))
	if done, _, err := importing(t, file+file, JSONLines, Rules{}); err != nil || done.Added != 12 || done.Known != 12 {
		t.Errorf("twice: %+v, %v", done, err)
	}
	if _, _, err := importing(t, table+table, CSV, Rules{}); err == nil {
		t.Error("a CSV twice was taken")
	}
	if _, _, err := importing(t, table+strings.SplitAfter(table, "\n")[1], CSV, Rules{}); err == nil {
		t.Error("a row behind the end was taken")
	}
	if done, _, err := importing(t, "\ufeff"+strings.ReplaceAll(table, "\n", "\r\n"), CSV, Rules{}); err != nil || done.Added != 12 || done.Unclosed {
		t.Errorf("with line ends of Windows: %+v, %v", done, err)
	}
	if done, _, err := importing(t, earlier(file), JSONLines, Rules{}); err != nil || done.Added != 12 || !done.Unclosed {
		t.Errorf("of an earlier version: %+v, %v", done, err)
	}
	for name, c := range map[string]struct{ file, want string }{
		"UTF-16":      {"\xff\xfea\x00t\x00", "UTF-16"},
		"UTF-16 bare": {"\x00a\x00t\x00t", "UTF-16"},
		"compressed":  {"\x1f\x8b\x08\x00\x00", "compressed"},
		"a workbook":  {"PK\x03\x04\x14", "compressed"},
		"a book":      {"SQLite format 3\x00....", "is a book"},
		"a long line": {strings.Repeat("x", longestLine+1), "longer than"},
		"an array":    {"[1,2]\n[3]\n", "this is no export"},
	} {
		for _, format := range []Format{CSV, JSONLines} {
			if name == "an array" && format == CSV {
				continue
			}
			_, _, err := importing(t, c.file, format, Rules{})
			if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), ";") {
				t.Errorf("%s as %s: got %v", name, format, err)
			}
		}
	}
}

// What was narrowed by time is no sitting cut off: the rest can come later.
func TestANarrowedExportIsWhole(t *testing.T) {
	ctx := context.Background()
	from := small(t)
	all := everything(t, from).Attempts
	at := all[1].At
	part := func(f record.Filter, format Format) string {
		var b bytes.Buffer
		if err := Export(ctx, from, f, &b, format); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	for _, format := range []Format{CSV, JSONLines} {
		into := record.NewMemory()
		for i, f := range []record.Filter{{From: at, To: at.Add(time.Second)}, {To: at}, {From: at.Add(time.Second)}} {
			done, err := Import(ctx, into, strings.NewReader(part(f, format)), format, Rules{At: noon})
			if err != nil || i == 0 && done.Short != 1 {
				t.Fatalf("%s, part %d: %+v, %v", format, i+1, done, err)
			}
		}
		if diff := cmp.Diff(everything(t, from), everything(t, into)); diff != "" {
			t.Errorf("%s (-from +to):\n%s", format, diff)
		}
	}
}

// A drill that was begun here and has not ended goes on nowhere else.
func TestADrillBegunHereGoesOnHere(t *testing.T) {
	ctx := context.Background()
	here := small(t)
	var open scoring.Sitting
	list, _ := here.Sittings(ctx, record.Filter{Unfinished: true})
	open = list[0]
	there := record.NewMemory()
	if _, err := Import(ctx, there, bytes.NewReader(export(t, here, JSONLines)), JSONLines, Rules{At: noon}); err != nil {
		t.Fatal(err)
	}
	// There somebody goes on with it, and ends it.
	a := recordtest.All(t, there, record.Filter{Sitting: open.ID})[2]
	a.Trial.Ordinal++
	a.At = a.At.Add(time.Minute)
	if err := there.Append(ctx, a); err != nil {
		t.Fatal(err)
	}
	if err := there.EndSitting(ctx, open.ID, a.At, false); err != nil {
		t.Fatal(err)
	}
	before := everything(t, here)
	done, err := Import(ctx, here, bytes.NewReader(export(t, there, JSONLines)), JSONLines, Rules{At: noon})
	if err != nil || done.Own != 1 || done.Added != 0 {
		t.Errorf("%+v, %v", done, err)
	}
	if diff := cmp.Diff(before, everything(t, here)); diff != "" {
		t.Errorf("the book changed:\n%s", diff)
	}
}

// The last row is a row to every reader of CSV, and its sum is that of the lines before it.
func TestTheLastRow(t *testing.T) {
	file := string(export(t, small(t), CSV))
	table, err := csv.NewReader(strings.NewReader(file)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	last := table[len(table)-1]
	at := strings.LastIndex(strings.TrimSuffix(file, "\n"), "\n") + 1
	sum := sha256.Sum256([]byte(file[:at]))
	if got := strings.Join(last[:4], " "); got != "#end answers=12 sittings=4 sha256="+hex.EncodeToString(sum[:]) || strings.Join(last[4:], "") != "" {
		t.Errorf("the last row is %q", last)
	}
}

// Answers to what the book does not know, or knows otherwise, are told.
func TestAnswersOfUnknownSetsAreTold(t *testing.T) {
	ctx := context.Background()
	from := record.NewMemory()
	setup := exercises.Setup{Kind: exercises.Threshold, Task: exercises.TaskDifferent, Seed: 4, Count: 2, Repeats: 1}
	who, err := from.AddLearner(ctx, scoring.Learner{Name: "Ada", At: start})
	if err != nil {
		t.Fatal(err)
	}
	s := scoring.Sitting{ID: "one", Learner: who.ID, Started: start, Setup: setup, Within: "panel:Monday"}
	if err := from.StartSitting(ctx, s); err != nil {
		t.Fatal(err)
	}
	a := recordtest.All(t, small(t), record.Filter{Kind: string(exercises.Threshold)})[0]
	a.Sitting, a.Learner = s.ID, who.ID
	if err := from.Append(ctx, a); err != nil {
		t.Fatal(err)
	}
	file := string(export(t, from, JSONLines))
	tell := func(seed uint64) []UnknownSet {
		into := record.NewMemory()
		if seed > 0 {
			other := setup
			other.Seed = seed
			if _, err := into.AddPanel(ctx, record.Panel{Name: "Monday", At: start, Setup: other}); err != nil {
				t.Fatal(err)
			}
		}
		done, err := Import(ctx, into, strings.NewReader(file), JSONLines, Rules{At: noon})
		if err != nil {
			t.Fatal(err)
		}
		return done.Sets
	}
	ref := scoring.SetRef{Kind: scoring.PanelSet, Name: "Monday"}
	if got := tell(0); len(got) != 1 || got[0] != (UnknownSet{Ref: ref, Answers: 1}) {
		t.Errorf("unknown: %+v", got)
	}
	if got := tell(5); len(got) != 1 || got[0] != (UnknownSet{Ref: ref, Answers: 1, Otherwise: true}) {
		t.Errorf("known otherwise: %+v", got)
	}
	if got := tell(4); len(got) != 0 {
		t.Errorf("known: %+v", got)
	}
}
