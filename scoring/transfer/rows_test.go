package transfer

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"strings"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/fault"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
)

// A file in which one of the two places that tell of a colour was changed is
// refused, whichever of the two it was: the spreadsheet's column or the data.
func TestColoursThatContradictTheDataAreRefused(t *testing.T) {
	ctx := context.Background()
	book := filled(t, 3)
	var value, threshold int // lines of an answer with and one without a colour
	table, err := csv.NewReader(bytes.NewReader(export(t, book, CSV))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	table = earlierTable(table)
	at := map[string]int{}
	for i, name := range table[0] {
		at[name] = i
	}
	for i, row := range table[1:] {
		if row[at["answer_hex"]] != "" {
			value = i + 1
		} else {
			threshold = i + 1
		}
	}
	if value == 0 || threshold == 0 {
		t.Fatal("there is nothing to change")
	}
	another := func(hex string) string {
		c, err := colour.ParseHex(hex)
		if err != nil {
			t.Fatal(err)
		}
		c.G ^= 1
		return c.Hex()
	}
	for name, c := range map[string]struct {
		line   int
		column string
		to     func(string) string
	}{
		"another target":  {value, "target_hex", another},
		"another answer":  {value, "answer_hex", another},
		"no answer":       {value, "answer_hex", func(string) string { return "" }},
		"a blank more":    {value, "answer_hex", func(s string) string { return s + " " }},
		"an answer added": {threshold, "answer_hex", func(string) string { return "#c0b090" }},
	} {
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		for i, row := range table {
			row = append([]string(nil), row...)
			if i == c.line {
				row[at[c.column]] = c.to(row[at[c.column]])
			}
			if err := w.Write(row); err != nil {
				t.Fatal(err)
			}
		}
		w.Flush()
		into := record.NewMemory()
		_, err := Import(ctx, into, &b, CSV, Rules{At: noon, Roles: true})
		var faults *fault.List
		if !errors.As(err, &faults) || len(faults.Lines) != 1 || !strings.Contains(faults.Lines[0], c.column+" is ") {
			t.Errorf("%s: got %v, want one bad line that names %s", name, err, c.column)
		}
		if n := len(everything(t, into).Attempts); n > 0 {
			t.Errorf("%s: %d answers were imported all the same", name, n)
		}
	}
}

// An answer does not move into a sitting of somebody else: neither by its line's
// person nor by the person that the file tells the sitting to be of.
func TestAnAnswerStaysInTheSittingOfItsPerson(t *testing.T) {
	ctx := context.Background()
	book := filled(t, 2)
	people, err := book.Learners(ctx)
	if err != nil || len(people) != 2 {
		t.Fatal(people, err)
	}
	one, other := string(people[0].ID), string(people[1].ID)
	lines := strings.SplitAfter(strings.TrimSpace(earlier(string(export(t, book, JSONLines)))), "\n")
	owner := func(line string) (of, another string) {
		if strings.Contains(line, `"learner_id":"`+one+`"`) {
			return one, other
		}
		return other, one
	}
	for i, line := range lines {
		of, another := owner(line)
		moved := strings.Replace(line, `"learner_id":"`+of+`"`, `"learner_id":"`+another+`"`, 1)
		if moved == line {
			t.Fatalf("line %d names no person: %s", i+1, line)
		}
		changed := append([]string(nil), lines...)
		changed[i] = moved
		for _, c := range []struct {
			name string
			into *record.Memory
		}{{"a book that has the sittings", filled(t, 2)}, {"an empty book", record.NewMemory()}} {
			before := everything(t, c.into)
			_, err := Import(ctx, c.into, strings.NewReader(strings.Join(changed, "")), JSONLines, Rules{At: noon, Roles: true})
			var faults *fault.List
			if !errors.As(err, &faults) {
				t.Errorf("line %d moved to another person, into %s: got %v", i+1, c.name, err)
			}
			if len(before.Attempts) != len(everything(t, c.into).Attempts) {
				t.Errorf("line %d: something was imported into %s", i+1, c.name)
			}
		}
		// The message, where this line is the only thing wrong.
		c := merging{into: book, done: &Imported{}}
		p := parsed{}
		if err := p.parse([]byte(moved)); err != nil {
			t.Fatal(err)
		}
		if err := c.turnTo(ctx, p.row.attempt); err == nil || !strings.Contains(err.Error(), "not the person of this sitting") {
			t.Errorf("line %d: error %v", i+1, err)
		}
	}
}

// Nor does a drill that was left without an answer.
func TestASittingStaysThatOfItsPerson(t *testing.T) {
	ctx := context.Background()
	book, _ := school(t)
	id := func(name string) string {
		l, err := book.LearnerByName(ctx, name)
		if err != nil {
			t.Fatal(err)
		}
		return string(l.ID)
	}
	lines := strings.SplitAfter(earlier(exportClass(t, book, "Monday group", false)), "\n")
	moved := 0
	for i, line := range lines {
		if strings.HasPrefix(line, `{"record":"sitting"`) {
			lines[i] = strings.Replace(line, `"learner_id":"`+id("Cy Vale")+`"`, `"learner_id":"`+id("Ada")+`"`, 1)
			if lines[i] != line {
				moved++
			}
		}
	}
	if moved != 1 {
		t.Fatalf("%d lines were changed", moved)
	}
	_, err := Import(ctx, book, strings.NewReader(strings.Join(lines, "")), JSONLines, Rules{At: noon, Roles: true})
	var faults *fault.List
	if !errors.As(err, &faults) || len(faults.Lines) != 1 || !strings.Contains(faults.Lines[0], "somebody else's") {
		t.Errorf("got %v", err)
	}
	if s, err := book.Sitting(ctx, "empty-0"); err != nil || string(s.Learner) != id("Cy Vale") {
		t.Errorf("the sitting is of %s now (%v)", s.Learner, err)
	}
}

// The apostrophe that keeps a spreadsheet from running a text comes off again, off
// the shortest text as well, and no other apostrophe does.
func TestTheApostropheComesOffAgain(t *testing.T) {
	for _, s := range []string{"=", "+", "-", "@", "|", "%", "＝", "＋", "－", "＠", "=x", "-x", "+4 4", "=1+1", " =1", "-5", "+2.5", "+3", "--3", "'=x", "''=x", "'-5", "\"=x",
		"a;=1+1", "a;=1+1;b", "a; =1", "a;'=1", "a;\"=1", ";=1", "=1;=2", "a;b", "a;-5", "';=1", "Ada", "", "x'", "O'Neil"} {
		guarded := report.Spreadsheet(s)
		if strings.ContainsAny(s[:min(1, len(s))], "=@|%") && !strings.HasPrefix(guarded, "'") {
			t.Errorf("%q is not guarded: %q", s, guarded)
		}
		if got := report.FromSpreadsheet(guarded); got != s {
			t.Errorf("%q went out as %q and came back as %q", s, guarded, got)
		}
	}
	for _, s := range []string{"'", "''", "'a", "'7", "'Ada'", "a;'b", "' a"} {
		if got := report.FromSpreadsheet(s); got != s {
			t.Errorf("%q lost its own apostrophe: %q", s, got)
		}
	}
}
