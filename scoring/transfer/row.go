// Package transfer moves attempts between books and to other programs: export
// and import as CSV and JSON lines, classes with their people and what they are given,
// rosters as schools keep them, and learning records as xAPI statements.
//
//	Book ──Export──> rows ──CSV, JSON lines──> file ──Import──> another book
//
// A row is an attempt. Its first columns are for people and their spreadsheets:
// colours, differences and marks, computed anew when written and not believed
// when read. The columns named _data hold the attempt whole, so that nothing is lost
// on the way. What belongs to many rows (the person and the sitting, the sheet of
// tabs) stands in full in the first row that needs it and is empty in the rest.
package transfer

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
)

// Column names, in order. Further ones may be appended, never moved.
var columns = []string{
	"attempt", "learner", "sitting", "kind", "ordinal", "at", "target_hex", "answer_hex",
	"target_L", "target_a", "target_b", "answer_L", "answer_a", "answer_b",
	"dE00", "dL", "dC", "dH", "group_steps", "band", "points", "first_ms", "total_ms",
	"learner_id", "part", "item", "within", "tab", "neighbour", "group", "choice",
	"trial_data", "answer_data", "sitting_data", "sheet_data",
	"number", "said_value", "said_chroma", "said_hue", "link",
}

// needed are the columns that an import reads; the others are for people.
var needed = []string{"attempt", "at", "learner_id", "sitting", "target_hex", "answer_hex",
	"trial_data", "answer_data", "sitting_data", "sheet_data"}

// value is one field: a text, a number, a piece of JSON, or empty.
type value struct {
	text   string
	number bool // text is a JSON number
	data   bool // text is JSON
}

func text(s string) value { return value{text: s} }
func count(n int) value   { return value{text: strconv.Itoa(n), number: true} }

// decimal keeps six places, a hundred times finer than anything that was shown.
func decimal(x float64) value { return value{text: strconv.FormatFloat(x, 'f', 6, 64), number: true} }

func data(v any) (value, error) {
	b, err := json.Marshal(v)
	return value{text: string(b), data: true}, err
}

// clock is how times are written: UTC, milliseconds.
const clock = "2006-01-02T15:04:05.000Z"

// sittingData is a sitting with its person, as it travels.
type sittingData struct {
	Learner   string               `json:"learner"`
	Role      scoring.Role         `json:"role"`
	RoleAt    time.Time            `json:"role_at,omitzero"` // where it was set after they were entered
	Entered   time.Time            `json:"entered"`
	Simulated bool                 `json:"simulated,omitempty"`
	Number    string               `json:"number,omitempty"`
	Email     string               `json:"email,omitempty"`
	Pseudonym bool                 `json:"pseudonym,omitempty"`
	Started   time.Time            `json:"started"`
	Ended     time.Time            `json:"ended,omitzero"`
	Left      bool                 `json:"left,omitempty"`
	Within    string               `json:"within,omitempty"`
	Setup     exercises.Setup      `json:"setup"`
	Display   scoring.DisplayCheck `json:"display"`
	// Book is where it was taken, whichever book the file was written from.
	Book string `json:"book,omitempty"`
	// Chain is what its answers are held against; nil in files of earlier versions.
	Chain *chainData `json:"chain,omitempty"`
	// BegunAs is who it was begun as, where that person was joined with another since.
	BegunAs scoring.LearnerID `json:"begun_as,omitempty"`
}

// whole is an attempt with all that its row tells; Sitting and Sheet are set in
// the rows that carry them.
type whole struct {
	attempt scoring.Attempt
	name    string // of the learner
	in      scoring.Sitting
	mark    scoring.Mark
	sitting *sittingData
	sheet   *tabs.Sheet
	link    *linked
	told    map[string]string // the columns for people that are computed, as a file has them
}

// fields lays out a row in the order of columns.
func (w whole) fields() ([]value, error) {
	a, t, g := w.attempt, w.attempt.Trial, w.attempt.Answer
	target := t.Target.Lab()
	row := []value{text(a.ID()), text(report.Clean(w.name)), text(string(a.Sitting)), text(string(t.Kind)), count(t.Ordinal),
		text(a.At.UTC().Format(clock)), text(t.Target.Hex())}
	byHand := exercises.TraitsOf(t.Kind).ByHand
	if byHand { // no colour was shown
		row[6] = value{}
	}
	if g.Colour != nil {
		lab := g.Colour.Lab()
		row = append(row, text(g.Colour.Hex()), decimal(target.L), decimal(target.A), decimal(target.B),
			decimal(lab.L), decimal(lab.A), decimal(lab.B))
	} else {
		row = append(row, value{}, decimal(target.L), decimal(target.A), decimal(target.B), value{}, value{}, value{})
	}
	if byHand {
		row[8], row[9], row[10] = value{}, value{}, value{}
	}
	optional := func(has bool, v value) value {
		if has {
			return v
		}
		return value{}
	}
	m := w.mark
	row = append(row,
		optional(m.HasColour, decimal(m.Difference.E)), optional(m.HasColour, decimal(m.Difference.L)),
		optional(m.HasColour, decimal(m.Difference.C)), optional(m.HasColour, decimal(m.Difference.H)),
		optional(m.HasGroup, count(m.GroupSteps)), optional(m.HasColour, text(m.Band.String())),
		optional(m.HasSheet, count(m.Points())), count(int(g.First.Milliseconds())), count(int(g.Total.Milliseconds())),
		text(string(a.Learner)), text(t.Part), text(t.Item), text(w.in.Within),
		text(report.Clean(g.Tab)), text(report.Clean(g.Neighbour)), text(report.Clean(g.Group)), text(g.Choice))
	for _, d := range []any{t, g} {
		v, err := data(d)
		if err != nil {
			return nil, fmt.Errorf("attempt %s: %w", a.ID(), err)
		}
		row = append(row, v)
	}
	var sitting, sheet value
	var err error
	if w.sitting != nil {
		if sitting, err = data(w.sitting); err != nil {
			return nil, err
		}
	}
	if w.sheet != nil {
		if sheet, err = data(w.sheet); err != nil {
			return nil, err
		}
	}
	row = append(row, sitting, sheet)
	if g.Number != nil {
		row = append(row, decimal(*g.Number))
	} else {
		row = append(row, value{})
	}
	said := []value{{}, {}, {}}
	if d := g.Directions; d != nil {
		said = []value{count(d.Value), count(d.Chroma), count(d.Hue)}
	}
	row = append(row, said...)
	if w.link == nil {
		return append(row, value{}), nil
	}
	return append(row, text(w.link.text())), nil
}

// parse reads a row back. It believes the data columns, and refuses a row whose
// columns for people name other colours: somebody changed one of the two.
func parse(get func(string) string) (whole, error) {
	var w whole
	a := &w.attempt
	a.Sitting, a.Learner = scoring.SittingID(get("sitting")), scoring.LearnerID(get("learner_id"))
	if d := get("sitting_data"); d != "" {
		w.sitting = new(sittingData)
		if err := json.Unmarshal([]byte(d), w.sitting); err != nil {
			w.sitting = nil
			return w, fmt.Errorf("sitting_data cannot be read: %w", err)
		}
	}
	if d := get("sheet_data"); d != "" {
		w.sheet = new(tabs.Sheet)
		if err := json.Unmarshal([]byte(d), w.sheet); err != nil {
			w.sheet = nil
			return w, fmt.Errorf("sheet_data cannot be read: %w", err)
		}
	}
	var err error
	if a.At, err = time.Parse(time.RFC3339Nano, get("at")); err != nil {
		return w, fmt.Errorf("at is not a time such as 2026-01-31T09:30:00.000Z: %q", fault.Excerpt(get("at")))
	}
	if err := json.Unmarshal([]byte(get("trial_data")), &a.Trial); err != nil {
		return w, fmt.Errorf("trial_data cannot be read: %w", err)
	}
	if err := json.Unmarshal([]byte(get("answer_data")), &a.Answer); err != nil {
		return w, fmt.Errorf("answer_data cannot be read: %w", err)
	}
	if id := get("attempt"); id != a.ID() {
		return w, fmt.Errorf("attempt is %q, its sitting and place make it %q", fault.Excerpt(id), fault.Excerpt(a.ID()))
	}
	if hex := get("target_hex"); hex != "" && hex != a.Trial.Target.Hex() {
		return w, fmt.Errorf("target_hex is %q, trial_data says %q", fault.Excerpt(hex), a.Trial.Target.Hex())
	}
	answered := ""
	if a.Answer.Colour != nil {
		answered = a.Answer.Colour.Hex()
	}
	if hex := get("answer_hex"); hex != answered {
		return w, fmt.Errorf("answer_hex is %q, answer_data says %q", fault.Excerpt(hex), answered)
	}
	if _, err := record.CheckAttempt(*a); err != nil {
		return w, err
	}
	w.told = map[string]string{}
	for _, name := range computed {
		if v := get(name); v != "" {
			w.told[name] = strings.Clone(v)
		}
	}
	w.link, err = parseLinked(get("link"))
	return w, err
}

// computed are columns for people whose numbers follow from the bytes that were shown. What an
// answer was worth, its band and its points, is judged anew by every version and not among them.
var computed = []string{"dE00", "dL", "dC", "dH"}

// computedWithin allows for the six places of a file, and for processors that differ in
// the last bits.
const computedWithin = 1e-5

// agrees holds what a file says of an answer against what the bytes give.
func (w whole) agrees(m scoring.Mark) error {
	if !m.HasColour {
		return nil
	}
	d := m.Difference
	for i, is := range []float64{d.E, d.L, d.C, d.H} {
		told, there := w.told[computed[i]]
		if !there {
			continue
		}
		if v, err := strconv.ParseFloat(told, 64); err != nil || !(math.Abs(v-is) <= computedWithin) {
			return fmt.Errorf("%s is %s, and the colours that were shown give %.6f", computed[i], fault.Excerpt(told), is)
		}
	}
	return nil
}

// learner and asSitting turn the travelling form back.
func (d sittingData) learner(id scoring.LearnerID) scoring.Learner {
	return scoring.Learner{ID: id, Name: d.Learner, Role: d.Role, RoleAt: d.RoleAt, At: d.Entered, Simulated: d.Simulated,
		Number: d.Number, Email: d.Email, Pseudonym: d.Pseudonym}
}

func (d sittingData) asSitting(a scoring.Attempt, imported time.Time) scoring.Sitting {
	return scoring.Sitting{ID: a.Sitting, Learner: a.Learner, Started: d.Started, Setup: d.Setup, Display: d.Display, Within: d.Within, BegunAs: d.BegunAs,
		Origin: scoring.Origin{Road: scoring.RoadImported, Book: d.Book, At: imported, Simulated: d.Simulated}}
}
