package transfer

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
)

// Limits of a roster, house choices: no class is larger, no honest line longer.
const (
	mostEnrolled      = 10_000
	longestRosterLine = 16 << 10 // bytes
	longestRoster     = 8 << 20
)

const rosterHint = `the first row names the columns, such as name, or first name and surname, and if you like student ID, e-mail and role (learner, lead or instructor); then one person a row`

// Entry is a line of a roster.
type Entry struct {
	Name   string // cleaned
	Number string // the school's own, empty for none
	Email  string
	Role   scoring.Role // empty leaves the role as it is
}

// RosterColumns says which columns hold what, where a header does not say it in words
// that are known. The zero value reads the header.
type RosterColumns struct {
	Name   []string // one, or several that are joined by a space
	Number string
	// Skip takes the lines that can be read and lists those that cannot, instead of
	// none at all.
	Skip bool
}

// Roster is what a file of people says.
type Roster struct {
	Entries []Entry
	Notes   []string // how it was read: what was not plain
	Skipped []string // lines left out, each with the reason: with Skip, and rows that are nobody
}

// ReadRoster reads a roster as schools have it: columns parted by commas, semicolons
// or tabs, with or without a line that says which ("sep=;"), in UTF-8, UTF-16 or
// Windows-1252, a header in any case and in usual words of several languages (see
// roster_words.go). Every line is a row of its own, so that a stray quote spoils one
// line and no more. The error is a [fault.List], a [fault.Error] or that of the reader.
func ReadRoster(from io.Reader, ask RosterColumns) (Roster, error) {
	var r Roster
	raw, err := io.ReadAll(io.LimitReader(from, longestRoster+1))
	if err != nil {
		return r, err
	}
	if len(raw) > longestRoster {
		return r, fault.New(fmt.Sprintf("the file is larger than %d MiB: this is no roster", longestRoster>>20), rosterHint)
	}
	text, foreign, err := rosterText(raw)
	if err != nil {
		return r, err
	}
	faults := fault.List{Outcome: "nobody was enrolled", Mend: rosterHint + "; --skip takes the other lines"}
	var columns *rosterColumns
	var parted rune
	seen := map[string][]rosterLine{}
	for i, line := range strings.Split(text, "\n") {
		number := i + 1
		if len(line) > longestRosterLine {
			return Roster{}, fault.New(fmt.Sprintf("line %d is longer than %d KiB: this is no roster", number, longestRosterLine>>10), rosterHint)
		}
		line = strings.TrimRight(line, "\r")
		if strings.TrimSpace(line) == "" {
			continue
		}
		if columns == nil {
			if mark, ok := strings.CutPrefix(strings.ToLower(strings.Trim(line, "\" \t")), "sep="); ok && parted == 0 && len([]rune(mark)) == 1 {
				parted = []rune(mark)[0]
				continue
			}
			if columns, err = rosterHeader(line, parted, number, ask); err != nil {
				return Roster{}, err
			}
			continue
		}
		e, turned, err := columns.entry(line)
		if err == nil && nobody(e) {
			r.Skipped = append(r.Skipped, fmt.Sprintf("line %d: %s is a row of a gradebook and nobody's name", number, e.Name))
			continue
		}
		if err == nil {
			err = doubled(seen, e, number)
		}
		if err != nil {
			if err = fmt.Errorf("line %d: %w", number, err); ask.Skip {
				r.Skipped = append(r.Skipped, err.Error())
			} else {
				faults.Add(err)
			}
			continue
		}
		if len(r.Entries) == mostEnrolled {
			return Roster{}, fault.New(fmt.Sprintf("the roster holds more than %d people", mostEnrolled), "make several classes of it")
		}
		columns.note(e, turned, foreign)
		r.Entries = append(r.Entries, e)
	}
	switch {
	case len(faults.Lines) > 0:
		return Roster{}, &faults
	case columns == nil:
		return Roster{}, fault.New("the roster is empty", rosterHint)
	case len(r.Entries) == 0 && len(r.Skipped) > 0:
		return Roster{}, fault.New("no line of the roster can be read; the first: "+r.Skipped[0], rosterHint)
	case len(r.Entries) == 0:
		return Roster{}, fault.New("the roster names nobody", rosterHint)
	}
	r.Notes = columns.notes(foreign)
	return r, nil
}

// rosterLine remembers where somebody stands.
type rosterLine struct {
	number string
	line   int
}

// doubled is the error for somebody who stands in the roster already: under the same
// number, or under the same name unless two numbers tell them apart.
func doubled(seen map[string][]rosterLine, e Entry, line int) error {
	id := "\x00" + strings.ToLower(e.Number)
	if e.Number != "" && len(seen[id]) > 0 {
		return fmt.Errorf("the number %s stands in line %d already", e.Number, seen[id][0].line)
	}
	key := record.NameKey(e.Name)
	for _, other := range seen[key] {
		if e.Number == "" || other.number == "" {
			return fmt.Errorf("%s stands in line %d already", e.Name, other.line)
		}
	}
	seen[key] = append(seen[key], rosterLine{e.Number, line})
	if e.Number != "" {
		seen[id] = append(seen[id], rosterLine{e.Number, line})
	}
	return nil
}

// rosterColumns are the places of what a line says, −1 for what it does not.
type rosterColumns struct {
	names               []int
	number, email, role int
	width               int
	parted              rune
	titles              []string
	turned, changed     []string // names that were turned round, or came from another encoding
}

func rosterHeader(line string, parted rune, number int, ask RosterColumns) (*rosterColumns, error) {
	try := []rune{parted}
	if parted == 0 {
		try = []rune{',', ';', '\t'}
	}
	var best *rosterColumns
	var trouble error
	for _, by := range try {
		cells, err := rosterCells(line, by)
		if err != nil {
			trouble = fault.New(fmt.Sprintf("line %d: %v", number, err), rosterHint)
			continue
		}
		c, err := columnsOf(cells, number, ask)
		if err != nil {
			if trouble == nil || len(cells) > 1 {
				trouble = err
			}
			continue
		}
		if c.parted = by; best == nil || c.width > best.width {
			best = c
		}
	}
	if best == nil {
		return nil, trouble
	}
	return best, nil
}

func columnsOf(cells []string, line int, ask RosterColumns) (*rosterColumns, error) {
	c := &rosterColumns{number: -1, email: -1, role: -1, width: len(cells), titles: cells}
	for len(c.titles) > 1 && strings.TrimSpace(c.titles[len(c.titles)-1]) == "" { // a delimiter at the end of the line
		c.titles = c.titles[:len(c.titles)-1]
		c.width--
	}
	place := func(title string) (int, error) {
		for i, cell := range cells {
			if rosterWord(cell) == rosterWord(title) {
				return i, nil
			}
		}
		return 0, fault.New(fmt.Sprintf("line %d: there is no column %q", line, title), "the columns are "+strings.Join(cells, ", "))
	}
	found, err := wordsIn(cells, line)
	if err != nil {
		return nil, err
	}
	c.email, c.role, c.number, c.names = found.email, found.role, found.number, found.names
	if ask.Number != "" {
		if c.number, err = place(ask.Number); err != nil {
			return nil, err
		}
	}
	if len(ask.Name) > 0 {
		c.names = nil
		for _, title := range ask.Name {
			i, err := place(title)
			if err != nil {
				return nil, err
			}
			c.names = append(c.names, i)
		}
	}
	if len(c.names) == 0 {
		return nil, fault.New(fmt.Sprintf("line %d names no column of names: it reads %s", line, fault.Excerpt(strings.Join(cells, ", "))),
			`say which: --name-columns "Given,Family"; or: `+rosterHint)
	}
	return c, nil
}

// rosterCells parts one line.
func rosterCells(line string, by rune) ([]string, error) {
	r := csv.NewReader(strings.NewReader(line))
	r.Comma, r.TrimLeadingSpace = by, by != '\t'
	cells, err := r.Read()
	var bad *csv.ParseError
	switch {
	case errors.As(err, &bad):
		return nil, fmt.Errorf("not a row of values parted by %s (%v)", partedWords(by), bad.Err)
	case errors.Is(err, io.EOF):
		return []string{""}, nil
	}
	return cells, err
}

func partedWords(by rune) string {
	if word, ok := map[rune]string{',': "commas", ';': "semicolons", '\t': "tabs"}[by]; ok {
		return word
	}
	return fmt.Sprintf("%q", by)
}

// entry reads one line; turned is how its name was written where that was turned round.
func (c *rosterColumns) entry(line string) (e Entry, turned string, err error) {
	cells, err := rosterCells(line, c.parted)
	if err != nil {
		return e, "", err
	}
	if c.width == 1 && len(cells) > 1 { // a single column has no delimiter: this is one of the name
		cells = []string{line}
	}
	for len(cells) > c.width && strings.TrimSpace(cells[len(cells)-1]) == "" {
		cells = cells[:len(cells)-1]
	}
	if len(cells) > c.width {
		return e, "", fmt.Errorf("%d values where the header has %d columns", len(cells), c.width)
	}
	cell := func(i int) string { // a short row leaves the rest out
		if i < 0 || i >= len(cells) {
			return ""
		}
		return strings.TrimSpace(report.FromSpreadsheet(strings.TrimSpace(cells[i])))
	}
	var parts []string
	for _, i := range c.names {
		if part := cell(i); part != "" {
			parts = append(parts, part)
		}
	}
	name := strings.Join(parts, " ")
	if last, first, ok := strings.Cut(name, ","); ok && len(c.names) == 1 && !strings.Contains(first, ",") && strings.TrimSpace(last) != "" && strings.TrimSpace(first) != "" {
		turned, name = name, strings.TrimSpace(first)+" "+strings.TrimSpace(last)
	}
	if e.Name, err = record.CleanName(name); err != nil {
		return e, "", err
	}
	if e.Number, err = record.CheckNumber(cell(c.number)); err != nil {
		return e, "", fmt.Errorf("%s: %w", e.Name, err)
	}
	if e.Email, err = record.CheckEmail(cell(c.email)); err != nil {
		return e, "", fmt.Errorf("%s: %w", e.Name, err)
	}
	if role := strings.ToLower(cell(c.role)); role != "" {
		if known, ok := roleWords[role]; ok {
			role = string(known)
		}
		if e.Role, err = record.CheckRole(scoring.Role(role)); err != nil {
			return e, "", err
		}
	}
	return e, turned, nil
}

// mostShown is how many names a note shows as examples.
const mostShown = 3

// note remembers the first names that came in otherwise than they stand.
func (c *rosterColumns) note(e Entry, turned string, foreign []byte) {
	if turned != "" && len(c.turned) < mostShown {
		c.turned = append(c.turned, fmt.Sprintf("%q as %q", turned, e.Name))
	}
	if foreign != nil && len(c.changed) < mostShown && strings.ContainsFunc(e.Name, func(x rune) bool { return x > 126 }) {
		c.changed = append(c.changed, e.Name)
	}
}

// notes say how the file was read where that was not plain.
func (c *rosterColumns) notes(foreign []byte) []string {
	var list []string
	if foreign != nil {
		words := "the file is not UTF-8 and was read as Windows-1252"
		if len(c.changed) > 0 {
			words += ": see whether these are right: " + strings.Join(c.changed, ", ")
		}
		list = append(list, words)
	}
	if len(c.turned) > 0 {
		list = append(list, "names were turned round: "+strings.Join(c.turned, ", "))
	}
	title := func(i int) string { return strconv.Quote(strings.TrimSpace(c.titles[i])) }
	var taken []string
	for _, i := range c.names {
		taken = append(taken, title(i))
	}
	words := "names from the " + scoring.Plural(len(taken), "column ", "columns ") + strings.Join(taken, " and ")
	for _, x := range []struct {
		i    int
		what string
	}{{c.number, "numbers"}, {c.email, "addresses"}, {c.role, "roles"}} {
		if x.i >= 0 {
			words += fmt.Sprintf(", %s from %s", x.what, title(x.i))
		}
	}
	return append(list, words)
}
