package sqlbook

import (
	"context"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"time"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// columnNames are the attempt's, in the order of the numbers below.
// A light reading takes those up to more.
var columnNames = []string{"sitting", "ordinal", "at", "kind", "scene", "part", "item", "level", "target", "key", "answer",
	"tab", "neighbour", "value_group", "choice", "total", "chance", "more", "version", "first", "looks", "timed_out"}

var columns = strings.Join(columnNames, ", ")

const (
	colSitting = iota
	colOrdinal
	colAt
	colKind
	colScene
	colPart
	colItem
	colLevel
	colTarget
	colKey
	colAnswer
	colTab
	colNeighbour
	colGroup
	colChoice
	colTotal
	colChance
	colMore
	colVersion
	colFirst
	colLooks
	colTimedOut
	colCount
	lightCount = colMore + 1
)

// row lays an attempt out in columns.
func (w *Writer) row(ctx context.Context, sitting int64, a scoring.Attempt) ([]any, error) {
	t, g := a.Trial, a.Answer
	more, err := encodeMore(t, g)
	if err != nil {
		return nil, err
	}
	row := make([]any, colCount)
	row[colSitting], row[colOrdinal], row[colAt] = sitting, t.Ordinal, a.At.UnixMilli()
	row[colVersion], row[colScene], row[colTarget] = t.Version, t.Scene, pack(t.Target)
	row[colFirst], row[colTotal], row[colLooks], row[colTimedOut] = int64(g.First), int64(g.Total), g.Looks, truth(g.TimedOut)
	if t.Level != 0 {
		row[colLevel] = t.Level
	}
	if t.Chance != 0 {
		row[colChance] = t.Chance
	}
	if g.Colour != nil {
		row[colAnswer] = pack(*g.Colour)
	}
	if more != "" {
		row[colMore] = more
	}
	for i, word := range wordsOf(a) {
		if row[wordColumns[i]], err = w.number(ctx, word); err != nil {
			return nil, err
		}
	}
	return row, nil
}

// wordColumns are those that hold the number of a word, in the order of [wordsOf].
var wordColumns = [8]int{colKind, colPart, colItem, colKey, colTab, colNeighbour, colGroup, colChoice}

// wordsOf are the words of an attempt, "" where it has none.
func wordsOf(a scoring.Attempt) [8]string {
	t, g := a.Trial, a.Answer
	return [8]string{string(t.Kind), t.Part, t.Item, t.Key, g.Tab, g.Neighbour, g.Group, g.Choice}
}

func pack(c colour.SRGB) int64 { return int64(c.R)<<16 | int64(c.G)<<8 | int64(c.B) }

func unpack(n int64) colour.SRGB {
	return colour.SRGB{R: uint8(n >> 16), G: uint8(n >> 8), B: uint8(n)}
}

// reader turns rows back. It is good for one pass over the book.
type reader struct {
	text    []string // words by number
	refresh func() ([]string, error)
	sitting int64 // the sitting that the fields below are of
	of      owner
	owners  map[int64]owner
	light   bool // in place of what more there is stands whether there is more
}

// owner is what an attempt inherits from its sitting.
type owner struct {
	learner scoring.LearnerID
	sitting scoring.SittingID
}

// attempt reads a row.
func (r *reader) attempt(row Row) (a scoring.Attempt, err error) {
	if id := row.Int(colSitting); id != r.sitting {
		of, ok := r.owners[id]
		if !ok {
			return a, fmt.Errorf("the book's sitting %d is missing", id)
		}
		r.sitting, r.of = id, of
	}
	a.Learner, a.Sitting = r.of.learner, r.of.sitting
	a.At = time.UnixMilli(row.Int(colAt)).UTC()
	t, g := &a.Trial, &a.Answer
	t.Ordinal, t.Scene = int(row.Int(colOrdinal)), int(row.Int(colScene))
	t.Level, t.Chance, t.Target = row.Float(colLevel), row.Float(colChance), unpack(row.Int(colTarget))
	if !row.Null(colAnswer) {
		c := unpack(row.Int(colAnswer))
		g.Colour = &c
	}
	g.Total = time.Duration(row.Int(colTotal))
	if !r.light {
		t.Version, g.First = int(row.Int(colVersion)), time.Duration(row.Int(colFirst))
		g.Looks, g.TimedOut = int(row.Int(colLooks)), row.Int(colTimedOut) != 0
	}
	kind, err := r.word(row.Int(colKind))
	if err == nil && kind == "" {
		err = unknownWord(0)
	}
	if err != nil {
		return a, err
	}
	t.Kind = exercises.KindID(kind)
	for _, w := range [...]struct {
		to  *string
		col int
	}{{&t.Part, colPart}, {&t.Item, colItem}, {&t.Key, colKey}, {&g.Tab, colTab}, {&g.Neighbour, colNeighbour}, {&g.Group, colGroup}, {&g.Choice, colChoice}} {
		if *w.to, err = r.word(row.Int(w.col)); err != nil {
			return a, err
		}
	}
	if r.light {
		a.Cut = row.Int(colMore) != 0
	} else if more := row.Text(colMore); more != "" {
		if err := decodeMore(more, t, g); err != nil {
			return a, fmt.Errorf("attempt %s: %w", a.ID(), err)
		}
	}
	return a, nil
}

// word finds a word by its number, 0 for none.
func (r *reader) word(n int64) (string, error) {
	if n == 0 {
		return "", nil
	}
	if n > 0 && n < int64(len(r.text)) && r.text[n] != "" {
		return r.text[n], nil
	}
	var err error
	if r.text, err = r.refresh(); err != nil {
		return "", err
	}
	if n < 0 || n >= int64(len(r.text)) || r.text[n] == "" {
		return "", unknownWord(n)
	}
	return r.text[n], nil
}

// ReadAnswer reads an answer of a sitting from cells that were found outside a book, by
// the names of their columns; words are by number.
func ReadAnswer(s scoring.Sitting, words []string, cell func(column string) any) (scoring.Attempt, error) {
	row := make(values, colCount)
	for i, name := range columnNames {
		row[i] = cell(name)
	}
	if _, whole := row[colAnswer].(int64); !whole { // of a damaged file: no colour, not black
		row[colAnswer] = nil
	}
	id, _ := row[colSitting].(int64)
	r := &reader{text: words, refresh: func() ([]string, error) { return words, nil }, sitting: -1, owners: map[int64]owner{id: {learner: s.Learner, sitting: s.ID}}}
	return r.attempt(row)
}

// held takes the place of a field that a column holds: it is left out of the
// JSON. Whatever a later exercise adds to Trial or Answer goes in by itself.
type held = *struct{}

type moreJSON struct {
	Trial  *trialJSON  `json:"trial,omitempty"`
	Answer *answerJSON `json:"answer,omitempty"`
}

type trialJSON struct {
	exercises.Trial
	Kind    held     `json:"kind,omitempty"`
	Version held     `json:"version,omitempty"`
	Ordinal held     `json:"ordinal,omitempty"`
	Scene   held     `json:"scene,omitempty"`
	Part    held     `json:"part,omitempty"`
	Target  held     `json:"target,omitempty"`
	Item    held     `json:"item,omitempty"`
	Level   held     `json:"level,omitempty"`
	Chance  held     `json:"chance,omitempty"`
	Key     held     `json:"key,omitempty"`
	Patches []string `json:"patches,omitempty"` // "role #rrggbb"
}

type answerJSON struct {
	exercises.Answer
	Colour    held `json:"colour,omitempty"`
	Tab       held `json:"tab,omitempty"`
	Neighbour held `json:"neighbour,omitempty"`
	Group     held `json:"group,omitempty"`
	Choice    held `json:"choice,omitempty"`
	First     held `json:"first_ns,omitempty"`
	Total     held `json:"total_ns,omitempty"`
	Looks     held `json:"looks,omitempty"`
	TimedOut  held `json:"timed_out,omitempty"`
}

// encodeMore writes what no column holds; nothing for nearly every attempt.
func encodeMore(t exercises.Trial, g exercises.Answer) (string, error) {
	t.Kind, t.Version, t.Ordinal, t.Scene, t.Part, t.Target, t.Item, t.Level, t.Chance, t.Key = "", 0, 0, 0, "", colour.SRGB{}, "", 0, 0, ""
	g.Colour, g.Tab, g.Neighbour, g.Group, g.Choice, g.First, g.Total, g.Looks, g.TimedOut = nil, "", "", "", "", 0, 0, 0, false
	var m moreJSON
	if !reflect.ValueOf(t).IsZero() {
		m.Trial = &trialJSON{Trial: t}
		for _, p := range t.Patches {
			m.Trial.Patches = append(m.Trial.Patches, p.Role+" "+p.Colour.Hex())
		}
	}
	if !reflect.ValueOf(g).IsZero() {
		m.Answer = &answerJSON{Answer: g}
	}
	if m.Trial == nil && m.Answer == nil {
		return "", nil
	}
	text, err := json.Marshal(m)
	return string(text), err
}

// decodeMore adds what encodeMore wrote.
func decodeMore(text string, t *exercises.Trial, g *exercises.Answer) error {
	m := moreJSON{Trial: &trialJSON{Trial: *t}, Answer: &answerJSON{Answer: *g}}
	if err := json.Unmarshal([]byte(text), &m); err != nil {
		return err
	}
	if m.Trial == nil || m.Answer == nil {
		return fmt.Errorf("null where a trial and an answer stand")
	}
	*t, *g = m.Trial.Trial, m.Answer.Answer
	for _, p := range m.Trial.Patches {
		i := strings.LastIndexByte(p, ' ')
		if i < 0 {
			return fmt.Errorf("patch %q has no colour", p)
		}
		c, err := colour.ParseHex(p[i+1:])
		if err != nil {
			return err
		}
		t.Patches = append(t.Patches, exercises.Patch{Role: p[:i], Colour: c})
	}
	return nil
}
