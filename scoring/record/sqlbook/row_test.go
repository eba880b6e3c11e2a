package sqlbook

import (
	"encoding/binary"
	"math"
	"testing"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// cells makes the cells of a row out of bytes: of every type that a column of SQLite
// can hold, whatever the schema says of it.
func cells(raw []byte, more string) []value {
	row := make([]value, colCount)
	for i := range row {
		if len(raw) < 9 {
			raw = append(raw, make([]byte, 9-len(raw))...)
		}
		n := binary.LittleEndian.Uint64(raw[1:])
		switch raw[0] % 6 {
		case 0:
			row[i] = int64(n)
		case 1:
			row[i] = int64(n % 8)
		case 2:
			row[i] = math.Float64frombits(n)
		case 3:
			row[i] = string(raw[1:9])
		case 4:
			row[i] = raw[1:9:9]
		}
		raw = raw[9:]
	}
	if more != "" {
		row[colMore] = more
	}
	return row
}

// FuzzRow: whatever stands in a book's rows, reading them ends in an answer or an
// error; an answer that may be kept can be marked and is laid out in columns again.
func FuzzRow(f *testing.F) {
	plain := make([]byte, 9*colCount)
	for i := range colCount {
		plain[9*i] = 1
		plain[9*i+1] = 1
	}
	f.Add(plain, "")
	f.Add(plain, `{"trial":{"patches":["left #c0b090","right #d0c0a0"],"attribute":"value"},"answer":{"order":[1,0],"number":0.5}}`)
	f.Add(plain, `{"trial":{"patches":["#"]},"answer":null}`)
	f.Add(plain, `{"trial":null}`)
	f.Add([]byte{3, 1, 2, 3}, `{"answer":{"directions":{"value":1}}}`)
	words := []string{"", "value-first", "line-up", "value", "L78 C16 h86", "seat", "thirds", "try-in"}
	f.Fuzz(func(t *testing.T, raw []byte, more string) {
		r := &reader{text: words, owners: map[int64]owner{1: {"L1", "S1"}}, refresh: func() ([]string, error) { return words, nil }}
		row := values(cells(raw, more))
		lightly := *r
		lightly.light = true
		light, lightErr := lightly.attempt(row)
		a, err := r.attempt(row)
		if err != nil {
			return
		}
		if lightErr != nil || light.Trial.Target != a.Trial.Target || light.Answer.Tab != a.Answer.Tab {
			t.Errorf("the row is read whole, and lightly it is not, or is another answer: %v", lightErr)
		}
		checked, err := record.CheckAttempt(a)
		if err != nil {
			return
		}
		scoring.MarkOf(checked, nil)
		// What is laid out again is read back the same.
		text, err := encodeMore(checked.Trial, checked.Answer)
		if err != nil {
			t.Fatalf("it cannot be laid out again: %v", err)
		}
		again, g := strip(checked.Trial, checked.Answer)
		if text != "" {
			if err := decodeMore(text, &again, &g); err != nil {
				t.Fatalf("%s cannot be read again: %v", text, err)
			}
		}
		back := checked
		back.Trial, back.Answer = again, g
		if back, err = record.CheckAttempt(back); err != nil || !record.SameAttempt(back, checked) {
			t.Errorf("%s was read back as another answer (%v)", text, err)
		}
	})
}

// strip leaves of an answer what columns hold.
func strip(t exercises.Trial, g exercises.Answer) (exercises.Trial, exercises.Answer) {
	var c *colour.SRGB
	if g.Colour != nil {
		own := *g.Colour
		c = &own
	}
	return exercises.Trial{Kind: t.Kind, Version: t.Version, Ordinal: t.Ordinal, Scene: t.Scene, Part: t.Part, Target: t.Target, Item: t.Item, Level: t.Level, Chance: t.Chance, Key: t.Key},
		exercises.Answer{Colour: c, Tab: g.Tab, Neighbour: g.Neighbour, Group: g.Group, Choice: g.Choice, First: g.First, Total: g.Total, Looks: g.Looks, TimedOut: g.TimedOut}
}

// A cell of a damaged file that holds no colour is no answer, and not a black one.
func TestAnswerOfADamagedCell(t *testing.T) {
	for _, cell := range []any{"text", 1.5, []byte{1}, nil} {
		a, err := ReadAnswer(scoring.Sitting{}, []string{"", "value-first"}, func(column string) any {
			switch column {
			case "answer":
				return cell
			case "kind", "sitting":
				return int64(1)
			}
			return nil
		})
		if err != nil || a.Answer.Colour != nil {
			t.Errorf("%v: the answer %v, %v", cell, a.Answer.Colour, err)
		}
	}
}
