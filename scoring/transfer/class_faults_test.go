package transfer

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record"
)

func TestBadLinesOfAClass(t *testing.T) {
	ctx := context.Background()
	from, _ := school(t)
	good := earlier(exportClass(t, from, "Monday group", true))
	lines := strings.SplitAfter(good, "\n")
	for i, kind := range []string{"format", "class", "member", "member", "member", "member", "assignment", "assignment", "assignment", "sitting"} {
		if !strings.HasPrefix(lines[i], `{"record":"`+kind) {
			t.Fatalf("line %d is no %s: %s", i+1, kind, lines[i])
		}
	}
	on := 2 // a member who has not gone
	for strings.Contains(lines[on], `"off"`) {
		on++
	}
	change := func(i int, old, new string) string {
		if !strings.Contains(lines[i], old) {
			t.Fatalf("line %d does not hold %q: %s", i+1, old, lines[i])
		}
		changed := append([]string(nil), lines...)
		changed[i] = strings.Replace(changed[i], old, new, 1)
		return strings.Join(changed, "")
	}
	drop := func(i int) string {
		return strings.Join(append(append([]string(nil), lines[:i]...), lines[i+1:]...), "")
	}
	member := fmt.Sprintf("line %d: ", on+1)
	for name, c := range map[string]struct {
		file, want string
	}{
		"no name":                 {change(1, `"name":"Monday group"`, `"name":"\u202e"`), "line 2: the name has no letters"},
		"no class identifier":     {change(1, `"class":"`, `"klass":"`), "line 2: the class has no identifier"},
		"a made-up identifier":    {change(on, `"learner_id":"`, `"learner_id":"a b`), member + "somebody in a class has an identifier that no book"},
		"no JSON":                 {change(on, `{`, ``), member + "not a JSON object"},
		"a class cut short":       {change(1, `{"record":`, `"`), "line 2: not a JSON object"},
		"a name that is none":     {change(on, `"learner":"`, `"learner":"\u0007","x":"`), member + "the name has no letters"},
		"a name that is too long": {change(on, `"learner":"`, `"learner":"`+strings.Repeat("y", 61)+`","x":"`), member + "the name is longer"},
		"unknown role":            {change(on, `"role":"`, `"role":"queen","x":"`), member + `unknown role "queen"`},
		"no time":                 {change(on, `"since":"`, `"since":"once`), member + "member cannot be read"},
		"time missing":            {change(on, `"since"`, `"sinse"`), member + "somebody in a class has no time"},
		"unknown kind":            {change(on, `"record":"member"`, `"record":"\u001b[2Jpupil"`), member + `record is "\x1b[2Jpupil"`},
		"kind that is no text":    {change(on, `"record":"member"`, `"record":7`), member + "record is no text"},
		"of no class":             {change(on, `"class":"`, `"class":"X`), member + "no line before it tells of its class"},
		"pass mark":               {change(7, `"pass":"`, `"pass":"best","x":"`), "line 8: "},
		"no due date":             {change(7, `"due":"`, `"x":"`), "line 8: the due date of an assignment has no time"},
		"no assignment":           {change(7, `"assignment":"`, `"x":"`), "line 8: the assignment has no identifier"},
		"one more line":           {change(1, `"members":4`, `"members":5`), "line 2: 9 lines belong to the class Monday group, and 8 are there"},
		"a line that is missing":  {drop(7), "line 2: 8 lines belong to the class Monday group, and 7 are there"},
		"fewer than none":         {change(1, `"members":4`, `"members":-4`), "line 2: fewer than no lines"},
		"no format":               {strings.Join(lines[1:2], ""), "line 1: no line before it says which format"},
		"old format":              {change(0, `"format":1`, `"format":0`), "line 1: format is 0"},
		"sheet changed":           {change(6, `"sheet":"`, `"sheet":"0`), "line 7: sheet_data is another sheet"},
		"no sheet":                {change(6, `"sheet_data"`, `"x"`), "line 7: its sheet of tabs is neither"},
		"not ended":               {change(9, `"ended":"`, `"x":"`), "line 10: the sitting has not ended"},
		"not left":                {change(9, `"left":true`, `"left":false`), "line 10: the sitting has not ended"},
		"impossible end":          {change(9, `"ended":"2026`, `"ended":"0026`), "line 10: sitting_data: the end of a sitting has the impossible year"},
		"no sitting":              {change(9, `"sitting":"`, `"x":"`), "line 10: sitting_data: a sitting has no identifier"},
		"nobody's sitting":        {change(9, `"learner_id":"`, `"x":"`), "line 10: sitting_data: "},
		"somebody else's":         {change(len(lines)-2, `"sitting":"`, `"sitting":"x`), fmt.Sprintf("line %d: ", len(lines)-1)},
		"two of one identifier": {change(7, `"assignment":"`, `"assignment":`+strings.SplitN(strings.SplitN(lines[6], `"assignment":`, 2)[1], ",", 2)[0]+`,"x":"`),
			"line 8: the book holds another assignment under the same identifier"},
		"an answer": {change(len(lines)-2, `"at":"`, `"at":"once`), fmt.Sprintf("line %d: at is not a time", len(lines)-1)},
	} {
		t.Run(name, func(t *testing.T) {
			book := record.NewMemory()
			_, err := Import(ctx, book, strings.NewReader(c.file), JSONLines, Rules{At: noon, Roles: true})
			var faults *fault.List
			if !errors.As(err, &faults) {
				t.Fatalf("got %v, want a list of bad lines", err)
			}
			if !strings.HasPrefix(faults.Lines[0], c.want) || len(faults.Lines) > 1 && name != "no sheet" && name != "sheet changed" {
				t.Errorf("blamed are %q, want one line that begins with %q", faults.Lines, c.want)
			}
			people, _ := book.Learners(ctx)
			classes, _ := book.Classes(ctx)
			if n := len(everything(t, book).Attempts); len(people)+len(classes)+n > 0 {
				t.Errorf("something of the bad file was imported: %d people, %d classes, %d answers", len(people), len(classes), n)
			}
		})
	}
}

// A file of a later form is refused as a whole, with the way out.
func TestALaterFormatIsRefused(t *testing.T) {
	from, _ := school(t)
	file := strings.Replace(exportClass(t, from, "Monday group", false), `"format":3`, `"format":5,"more":[]`, 1)
	book := record.NewMemory()
	_, err := Import(context.Background(), book, strings.NewReader(file), JSONLines, Rules{At: noon, Roles: true})
	var p *fault.Error
	if !errors.As(err, &p) || !strings.Contains(p.Error(), "line 1: written by a newer shadedrill (format 5, this one reads up to 4)") || !strings.Contains(p.Hint(), "update shadedrill") {
		t.Errorf("got %v", err)
	}
	if list, _ := book.Classes(context.Background()); len(list) > 0 {
		t.Error("and yet the class is there")
	}
	// What is only added to a line is left alone.
	take(t, book, strings.Replace(earlier(exportClass(t, from, "Monday group", false)), `"made"`, `"motto":"lighter","made"`, 1))
}

// FuzzImportClass: whatever comes in, a refusal leaves nothing behind, and what
// comes in is sound, comes in once, and can go out again.
func FuzzImportClass(f *testing.F) {
	from, _ := school(f)
	f.Add(exportClass(f, from, "Monday group", false))
	f.Add(exportClass(f, from, "Monday group", true))
	f.Add(exportClass(f, from, "Monday group", false) + exportClass(f, from, "Tuesday group", false))
	head := `{"record":"format","format":1}` + "\n" + `{"record":"class","class":"C","name":"Spring","made":"2026-01-01T00:00:00Z","members":2,"assignments":0}` + "\n"
	ada := `{"record":"member","class":"C","learner_id":"A","since":"2026-01-01T00:00:00Z","learner":"Ada","role":"lead","entered":"2026-01-01T00:00:00Z"}` + "\n"
	f.Add(head + ada + ada)
	f.Add(head + ada + strings.Replace(ada, `"A"`, `"B"`, 1))
	f.Add(head + ada + strings.Replace(ada, `"since"`, `"off":true,"since"`, 1))
	f.Add(head + ada + strings.Replace(ada, `"lead"`, `"learner","role_at":"2027-01-01T00:00:00Z"`, 1))
	f.Add(strings.Replace(head, `"Spring"`, `"\u202e\u001b[2J"`, 1) + ada + "{}\n")
	f.Add(head + `{"record":"assignment","class":"C","assignment":"A","number":9223372036854775807,"pass_value":1e999}` + "\n\n{\"record\":null}")
	f.Fuzz(func(t *testing.T, file string) {
		ctx := context.Background()
		book := record.NewMemory()
		done, err := Import(ctx, book, strings.NewReader(file), JSONLines, Rules{At: noon, Roles: true})
		people, _ := book.Learners(ctx)
		classes, _ := book.Classes(ctx)
		if err != nil {
			if len(people)+len(classes) > 0 {
				t.Errorf("refused (%v), and yet %d people and %d classes are in the book", err, len(people), len(classes))
			}
			return
		}
		if found, err := record.Verify(ctx, book, nil); err != nil || !found.Sound() {
			t.Errorf("what was imported is not sound: %q, %v", found.Findings, err)
		}
		if len(done.Classes) != len(classes) || done.Learners != len(people) {
			t.Errorf("%d classes and %d people are said to be new, %d and %d are there", len(done.Classes), done.Learners, len(classes), len(people))
		}
		var before []classState
		for _, c := range classes {
			before = append(before, stateOf(t, book, c.Name))
		}
		again := take(t, book, file)
		for i, c := range classes {
			if again.Classes[i].Changed() {
				t.Errorf("the second time %+v", again.Classes[i])
			}
			if d := cmp.Diff(before[i], stateOf(t, book, c.Name)); d != "" {
				t.Errorf("the second time changed %s:\n%s", c.Name, d)
			}
			take(t, record.NewMemory(), exportClass(t, book, c.Name, true))
		}
		if again.Added+again.Learners+len(again.Renamed)+len(again.Roles) > 0 {
			t.Errorf("the second time: %+v", again)
		}
	})
}
