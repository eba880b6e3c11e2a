package transfer

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// A class travels as JSON lines that stand before or beside those of answers: a
// line with a member "record" tells of a class, one without is an answer, so that
// one file can hold both and one reader takes them in. The first such line says
// which format they are in; then come the class, who is or was in it, and what it
// is to do. Further members may be added to a line, and are left alone by a reader
// that does not know them; anything that must not be left alone is a new format.
const (
	recordFormat     = "format"
	recordClass      = "class"
	recordMember     = "member"
	recordAssignment = "assignment"
	recordSitting    = "sitting"
	recordForm       = "form"

	// A file of format 2 may hold forms of the test. One of format 3 ends with a line that says so
	// (ending.go), and its sittings and answers have links. In one of format 4 assignments
	// have rulings, without which their grades would be others.
	newestFormat  = 4
	withoutRuling = 3
)

// classRecord is a line of a class; which of its parts is set says its kind.
type classRecord struct {
	format     *formatLine
	class      *classLine
	member     *memberLine
	assignment *assignmentLine
	sitting    *sittingLine
	form       *formOfTestLine
	end        *ending
}

type formatLine struct {
	Record string `json:"record"`
	Format int    `json:"format"`
}

// classLine says how many lines belong to the class, so that a file which was cut
// off is seen.
type classLine struct {
	Record      string          `json:"record"`
	Class       scoring.ClassID `json:"class"`
	Name        string          `json:"name"`
	Made        time.Time       `json:"made"`
	Members     int             `json:"members"`
	Assignments int             `json:"assignments"`
	Sittings    int             `json:"sittings,omitempty"`
	Forms       int             `json:"forms,omitempty"`
}

// formOfTestLine is a form of the proficiency test that the class, or everybody, may
// take. Its parts hold the seeds that decide its items: whoever has the file can read
// them.
type formOfTestLine struct {
	Record string            `json:"record"`
	Class  scoring.ClassID   `json:"class"`
	Name   string            `json:"name"`
	Print  string            `json:"fingerprint"`
	Open   bool              `json:"everybody,omitempty"` // not for the class alone
	Made   time.Time         `json:"made"`
	Levels scoring.Cuts      `json:"levels"`
	Parts  []exercises.Setup `json:"parts"`
	Sheets []*tabs.Sheet     `json:"sheets_data,omitempty"`
}

func (l formOfTestLine) form() record.Form {
	f := record.Form{Name: l.Name, Parts: l.Parts, Levels: l.Levels, Class: l.Class, At: l.Made}
	if l.Open {
		f.Class = ""
	}
	return f
}

// memberLine names nobody who went: whoever takes the file in needs to know only
// which of their own people it was.
type memberLine struct {
	Record    string            `json:"record"`
	Class     scoring.ClassID   `json:"class"`
	LearnerID scoring.LearnerID `json:"learner_id"`
	Since     time.Time         `json:"since"`
	Off       bool              `json:"off,omitempty"`
	Learner   string            `json:"learner,omitempty"`
	Role      scoring.Role      `json:"role,omitempty"`
	RoleAt    time.Time         `json:"role_at,omitzero"`
	Entered   time.Time         `json:"entered,omitzero"`
	Simulated bool              `json:"simulated,omitempty"`
	Number    string            `json:"number,omitempty"`
	Email     string            `json:"email,omitempty"`
	Pseudonym bool              `json:"pseudonym,omitempty"`
}

type assignmentLine struct {
	Record     string               `json:"record"`
	Class      scoring.ClassID      `json:"class"`
	Assignment scoring.AssignmentID `json:"assignment"`
	Number     int                  `json:"number"`
	Given      time.Time            `json:"given"`
	Due        time.Time            `json:"due"`
	Pass       scoring.PassRule     `json:"pass"`
	Value      float64              `json:"pass_value,omitempty"`
	Setup      exercises.Setup      `json:"setup"`
	Sheet      *tabs.Sheet          `json:"sheet_data,omitempty"`
	Rulings    []rulingLine         `json:"rulings,omitempty"`
}

type rulingLine struct {
	What      scoring.RulingKind `json:"what"`
	LearnerID scoring.LearnerID  `json:"learner_id,omitempty"`
	Item      int                `json:"item,omitempty"`
	Until     time.Time          `json:"until,omitzero"`
	Back      bool               `json:"back,omitempty"`
	Why       string             `json:"why,omitempty"`
	By        scoring.LearnerID  `json:"by,omitempty"`
	At        time.Time          `json:"at"`
}

// sittingLine is a drill that was left without an answer. The others come with
// their answers. One that may still be gone on with stays where it was begun: gone
// on with in two books it would be two.
type sittingLine struct {
	Record    string            `json:"record"`
	Class     scoring.ClassID   `json:"class"`
	Sitting   scoring.SittingID `json:"sitting"`
	LearnerID scoring.LearnerID `json:"learner_id"`
	Data      sittingData       `json:"sitting_data"`
	Sheet     *tabs.Sheet       `json:"sheet_data,omitempty"`
}

func (m memberLine) membership() scoring.Membership {
	return scoring.Membership{Learner: m.LearnerID, At: m.Since, Off: m.Off}
}

func (m memberLine) person() scoring.Learner {
	return scoring.Learner{ID: m.LearnerID, Name: m.Learner, Role: m.Role, RoleAt: m.RoleAt, At: m.Entered, Simulated: m.Simulated,
		Number: m.Number, Email: m.Email, Pseudonym: m.Pseudonym}
}

func (a assignmentLine) assignment() scoring.Assignment {
	return scoring.Assignment{ID: a.Assignment, Number: a.Number, Class: a.Class, Setup: a.Setup, At: a.Given, Due: a.Due,
		Pass: scoring.PassMark{Rule: a.Pass, Value: a.Value}}
}

// ClassSource is what the export of a class reads of a book.
type ClassSource interface {
	Source
	Sittings(context.Context, record.Filter) ([]scoring.Sitting, error)
	Memberships(context.Context, scoring.ClassID) ([]scoring.Membership, error)
	Assignments(context.Context, scoring.ClassID) ([]scoring.Assignment, error)
	Forms(context.Context) ([]record.Form, error)
}

// ExportClass writes a class, its roster and its assignments as JSON lines, and if
// asked all answers of those who are in it.
func ExportClass(ctx context.Context, book ClassSource, class scoring.Class, answers bool, to io.Writer) error {
	out := bufio.NewWriterSize(to, 1<<16)
	members, err := book.Memberships(ctx, class.ID)
	if err != nil {
		return err
	}
	given, err := book.Assignments(ctx, class.ID)
	if err != nil {
		return err
	}
	people, err := book.Learners(ctx)
	if err != nil {
		return err
	}
	byID := map[scoring.LearnerID]scoring.Learner{}
	for _, p := range people {
		byID[p.ID] = p
	}
	var theirs []record.Filter
	for _, m := range members {
		if !m.Off {
			theirs = append(theirs, record.Filter{Learner: m.Learner})
		}
	}
	left, err := leftEmpty(ctx, book, theirs)
	if err != nil {
		return err
	}
	forms, err := formsOf(ctx, book, class.ID)
	if err != nil {
		return err
	}
	sum := newTotals(out)
	lines := json.NewEncoder(sum)
	// put writes a line; after the first error none.
	put := func(line any) {
		if err == nil {
			err = lines.Encode(line)
		}
	}
	format := withoutRuling
	if slices.ContainsFunc(given, func(a scoring.Assignment) bool { return len(a.Rulings) > 0 }) {
		format = newestFormat
	}
	put(formatLine{recordFormat, format})
	put(classLine{recordClass, class.ID, class.Name, class.At, len(members), len(given), len(left), len(forms)})
	for _, m := range members {
		line := memberLine{Record: recordMember, Class: class.ID, LearnerID: m.Learner, Since: m.At, Off: m.Off}
		if p := byID[m.Learner]; !m.Off {
			line.Learner, line.Role, line.RoleAt, line.Entered, line.Simulated = p.Name, p.Role, p.RoleAt, p.At, p.Simulated
			line.Number, line.Email, line.Pseudonym = p.Number, p.Email, p.Pseudonym
		}
		put(line)
	}
	written := map[string]bool{}
	sheet := func(id string) (s *tabs.Sheet) { // nil the second time
		if err == nil && id != "" && !written[id] {
			written[id] = true
			s, err = book.Sheet(ctx, id)
		}
		return s
	}
	for _, a := range given {
		line := assignmentLine{recordAssignment, class.ID, a.ID, a.Number, a.At, a.Due, a.Pass.Rule, a.Pass.Value, a.Setup, sheet(a.Setup.SheetID), nil}
		for _, r := range a.Rulings {
			line.Rulings = append(line.Rulings, rulingLine{r.What, r.Learner, r.Item, r.Until, r.Back, r.Why, r.By, r.At})
		}
		put(line)
	}
	for _, f := range forms {
		line := formOfTestLine{Record: recordForm, Class: class.ID, Name: f.Name, Print: f.Print(), Open: f.Class == "", Made: f.At, Levels: f.Levels, Parts: f.Parts}
		for _, part := range f.Parts {
			if s := sheet(part.SheetID); s != nil {
				line.Sheets = append(line.Sheets, s)
			}
		}
		put(line)
	}
	for _, s := range left {
		data := travelling(s, byID[s.Learner])
		data.Chain = chainOf(travelChain(s, nil))
		put(sittingLine{recordSitting, class.ID, s.ID, s.Learner, *data, sheet(s.Setup.SheetID)})
	}
	switch {
	case err != nil:
	case answers && len(theirs) > 0:
		err = exportJSONLines(ctx, book, theirs, sum)
	default:
		err = sum.end(JSONLines)
	}
	if err != nil {
		return err
	}
	return out.Flush()
}

// formsOf are the forms of the test that a class may take.
func formsOf(ctx context.Context, book ClassSource, class scoring.ClassID) (list []record.Form, err error) {
	all, err := book.Forms(ctx)
	for _, f := range all {
		if f.Class == "" || f.Class == class {
			list = append(list, f)
		}
	}
	return list, err
}

// leftEmpty finds the drills that were left without an answer.
func leftEmpty(ctx context.Context, book ClassSource, theirs []record.Filter) ([]scoring.Sitting, error) {
	var empty []scoring.Sitting
	for _, f := range theirs {
		list, err := book.Sittings(ctx, f)
		if err != nil {
			return nil, err
		}
		for _, s := range list {
			if !s.Left {
				continue
			}
			answered := false
			for _, err := range book.Attempts(ctx, record.Filter{Sitting: s.ID, Silent: true}) {
				if err != nil {
					return nil, err
				}
				answered = true
				break
			}
			if answered {
				continue
			}
			if s, err = book.Sitting(ctx, s.ID); err != nil { // the list leaves things out
				return nil, err
			}
			empty = append(empty, s)
		}
	}
	return empty, nil
}

// parseRecord reads a line of a class. With an error comes what of it could be read.
func parseRecord(raw json.RawMessage, text []byte) (*classRecord, error) {
	var kind string
	if err := json.Unmarshal(raw, &kind); err != nil {
		return nil, errors.New("record is no text")
	}
	r := &classRecord{}
	var to any
	switch kind {
	case recordFormat:
		to = &r.format
	case recordClass:
		to = &r.class
	case recordMember:
		to = &r.member
	case recordAssignment:
		to = &r.assignment
	case recordSitting:
		to = &r.sitting
	case recordForm:
		to = &r.form
	case recordEnd:
		to = &r.end
	default:
		return nil, fmt.Errorf("record is %q; there are %s, %s, %s, %s, %s, %s and %s", fault.Excerpt(kind), recordFormat, recordClass, recordMember, recordAssignment, recordForm, recordSitting, recordEnd)
	}
	if err := json.Unmarshal(text, to); err != nil {
		return r, fmt.Errorf("%s cannot be read: %w", kind, err)
	}
	return r, nil
}
