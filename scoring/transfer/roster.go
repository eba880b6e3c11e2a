package transfer

import (
	"bufio"
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Limits of a roster, house choices: no class is larger, no honest line longer.
const (
	mostEnrolled      = 10_000
	longestRosterLine = 16 << 10 // bytes
)

const rosterHint = `the first row names the columns, name and optionally role (learner, lead or instructor); then one person a row, such as Ada Finch,learner`

// Entry is a line of a roster.
type Entry struct {
	Name string       // cleaned
	Role scoring.Role // empty leaves the role as it is
}

// ReadRoster reads a roster from CSV: UTF-8 with or without its mark, line ends
// of Unix or Windows, a header with the column name and optionally role, in any
// case and order; other columns are left alone. Every line is a row of its own,
// so that a stray quote spoils one line and no more. The error is a [fault.List], a
// [fault.Error] or that of the reader.
func ReadRoster(from io.Reader) ([]Entry, error) {
	in := bufio.NewReaderSize(from, longestRosterLine)
	faults := fault.List{Outcome: "nobody was enrolled", Mend: rosterHint}
	var entries []Entry
	var columns *rosterColumns
	lineOf := map[string]int{}
	for number := 1; ; number++ {
		line, err := rosterLine(in, number)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		if len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		cells, err := rosterCells(line)
		switch {
		case columns == nil && err != nil:
			return nil, fault.New(fmt.Sprintf("line %d: %v", number, err), rosterHint)
		case columns == nil:
			if columns, err = rosterHeader(cells, number); err != nil {
				return nil, err
			}
			continue
		}
		var e Entry
		if err == nil {
			e, err = columns.entry(cells)
		}
		key := record.NameKey(e.Name)
		if first := lineOf[key]; err == nil && first > 0 {
			err = fmt.Errorf("%s stands in line %d already", e.Name, first)
		}
		if err != nil {
			faults.Add(fmt.Errorf("line %d: %w", number, err))
			continue
		}
		if len(entries) == mostEnrolled {
			return nil, fault.New(fmt.Sprintf("the roster holds more than %d people", mostEnrolled), "make several classes of it")
		}
		lineOf[key] = number
		entries = append(entries, e)
	}
	switch {
	case len(faults.Lines) > 0:
		return nil, &faults
	case columns == nil:
		return nil, fault.New("the roster is empty", rosterHint)
	case len(entries) == 0:
		return nil, fault.New("the roster names nobody", rosterHint)
	}
	return entries, nil
}

// rosterLine reads one line, without its end.
func rosterLine(in *bufio.Reader, number int) ([]byte, error) {
	line, err := in.ReadSlice('\n')
	switch {
	case errors.Is(err, bufio.ErrBufferFull):
		return nil, fault.New(fmt.Sprintf("line %d is longer than %d KiB: this is no roster", number, longestRosterLine>>10), rosterHint)
	case err != nil && !(errors.Is(err, io.EOF) && len(line) > 0):
		return nil, err
	}
	if number == 1 {
		if bytes.HasPrefix(line, []byte{0xff, 0xfe}) || bytes.HasPrefix(line, []byte{0xfe, 0xff}) {
			return nil, fault.New("the roster is UTF-16", "save it as CSV in UTF-8")
		}
		line = bytes.TrimPrefix(line, []byte("\ufeff"))
	}
	if bytes.IndexByte(line, 0) >= 0 {
		return nil, fault.New(fmt.Sprintf("line %d holds a zero byte: this is no text", number), "save the roster as CSV in UTF-8")
	}
	return bytes.TrimRight(line, "\r\n"), nil
}

func rosterCells(line []byte) ([]string, error) {
	if !utf8.Valid(line) {
		return nil, errors.New("not UTF-8 text")
	}
	r := csv.NewReader(bytes.NewReader(line))
	r.TrimLeadingSpace = true
	cells, err := r.Read()
	var bad *csv.ParseError
	switch {
	case errors.As(err, &bad):
		return nil, fmt.Errorf("not a row of comma-separated values (%v)", bad.Err)
	case errors.Is(err, io.EOF):
		return []string{""}, nil
	}
	return cells, err
}

type rosterColumns struct{ name, role, width int }

func rosterHeader(cells []string, line int) (*rosterColumns, error) {
	c := &rosterColumns{name: -1, role: -1, width: len(cells)}
	for i, cell := range cells {
		for wanted, at := range map[string]*int{"name": &c.name, "role": &c.role} {
			if !strings.EqualFold(strings.TrimSpace(cell), wanted) {
				continue
			}
			if *at >= 0 {
				return nil, fault.New(fmt.Sprintf("line %d: the column %s stands there twice", line, wanted), rosterHint)
			}
			*at = i
		}
	}
	switch {
	case c.name >= 0:
		return c, nil
	case len(cells) == 1 && strings.ContainsAny(cells[0], ";\t|"):
		return nil, fault.New(fmt.Sprintf("line %d: the columns are not separated by commas", line), "save the roster with commas between its columns")
	}
	return nil, fault.New(fmt.Sprintf("line %d names no column \"name\"", line), rosterHint)
}

func (c *rosterColumns) entry(cells []string) (Entry, error) {
	if len(cells) != c.width {
		return Entry{}, fmt.Errorf("%d values where the header has %d columns", len(cells), c.width)
	}
	name, err := record.CleanName(fromSpreadsheet(cells[c.name]))
	if err != nil {
		return Entry{}, err
	}
	e := Entry{Name: name}
	if c.role >= 0 {
		if role := strings.ToLower(strings.TrimSpace(cells[c.role])); role != "" {
			e.Role, err = record.CheckRole(scoring.Role(role))
		}
	}
	return e, err
}

// Enrolled says what an enrolment did.
type Enrolled struct {
	New   []string // people entered into the book
	Added int      // put on the roster, new or not
	There int      // on it already
	Roles []string // people whose role was changed
}

// Enrol puts people on the roster of a class: those whom the book knows by name,
// and those whom it does not as new ones, entered at that time. Call it inside
// one transaction (see record.Book.Merge) to have all of them or none.
func Enrol(ctx context.Context, into record.Book, class scoring.ClassID, entries []Entry, at time.Time) (Enrolled, error) {
	var done Enrolled
	there := map[scoring.LearnerID]bool{}
	roster, err := into.Roster(ctx, class)
	if err != nil {
		return done, err
	}
	for _, l := range roster {
		there[l.ID] = true
	}
	for _, e := range entries {
		who, err := into.LearnerByName(ctx, e.Name)
		switch {
		case errors.Is(err, record.ErrNotFound):
			if who, err = into.AddLearner(ctx, scoring.Learner{Name: e.Name, Role: e.Role, At: at}); err != nil {
				return done, err
			}
			done.New = append(done.New, who.Name)
		case err != nil:
			return done, err
		case e.Role != "" && e.Role != who.Role:
			if err := into.SetRole(ctx, who.ID, e.Role, at); err != nil {
				return done, err
			}
			done.Roles = append(done.Roles, who.Name)
		}
		if there[who.ID] {
			done.There++
			continue
		}
		there[who.ID] = true
		if err := into.Enrol(ctx, class, who.ID, at); err != nil {
			return done, err
		}
		done.Added++
	}
	return done, nil
}
