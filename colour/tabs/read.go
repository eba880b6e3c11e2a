package tabs

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"shadedrill/colour/fault"
)

// mostBytes is the largest file read: mostTabs rows of generous length.
const mostBytes = 16 << 20

// ReadCSV reads a measured library: a header row and one row a tab, with the
// columns name, L, a, b and, if wanted, group, in any order; further columns
// are left alone. Numbers have decimal points. Lines that begin with # before
// the header are comments. Without a group column the groups are computed by
// [GroupByValue]. Every fault is a [fault.Error] with its line.
func ReadCSV(r io.Reader, name string) (*Library, error) {
	text, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	if err != nil {
		return nil, err
	}
	if len(text) > mostBytes {
		return nil, fault.New("the file is larger than 16 MB", "a library is a small table: name,L,a,b")
	}
	if bytes.HasPrefix(text, []byte{0xff, 0xfe}) || bytes.HasPrefix(text, []byte{0xfe, 0xff}) {
		return nil, fault.New("the text is UTF-16", "save the library as CSV in UTF-8")
	}
	text, skipped := withoutPreamble(text)
	rows := csv.NewReader(bytes.NewReader(text))
	rows.FieldsPerRecord = -1
	rows.TrimLeadingSpace = true
	header, err := rows.Read()
	if errors.Is(err, io.EOF) {
		return nil, fault.New("the file is empty", headerHint)
	}
	if err != nil {
		return nil, csvProblem(err, skipped)
	}
	cols, err := readHeader(header, skipped+1)
	if err != nil {
		return nil, err
	}
	b := builder{cols: cols, lineOf: map[string]int{}, groupAt: map[string]int{}}
	for {
		row, err := rows.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, csvProblem(err, skipped)
		}
		line, _ := rows.FieldPos(0)
		if err := b.add(row, line+skipped); err != nil {
			return nil, err
		}
	}
	if cols.group < 0 {
		b.groups = GroupByValue(b.tabs)
	}
	return New(name, "", b.groups)
}

const headerHint = "the first row names the columns: name,L,a,b and, if wanted, group"

// withoutPreamble drops a byte order mark and the comment lines before the
// header, and says how many lines that were.
func withoutPreamble(text []byte) (rest []byte, lines int) {
	rest = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	in := bufio.NewReader(bytes.NewReader(rest))
	for {
		line, err := in.ReadBytes('\n')
		if trimmed := bytes.TrimSpace(line); err != nil || len(trimmed) > 0 && trimmed[0] != '#' {
			return rest, lines
		}
		rest = rest[len(line):]
		lines++
	}
}

func csvProblem(err error, skipped int) error {
	var p *csv.ParseError
	if errors.As(err, &p) {
		return fault.At(p.Line+skipped, "not a row of comma-separated values: "+p.Err.Error(), `put a name that holds quotes or commas in quotes, and double the quotes inside`)
	}
	return err
}

// columns says where in a row each value stands; −1 where there is none.
type columns struct{ name, l, a, b, group, width int }

func readHeader(header []string, line int) (columns, error) {
	c := columns{-1, -1, -1, -1, -1, len(header)}
	for i, h := range header {
		var at *int
		switch strings.ToLower(strings.TrimSuffix(strings.TrimSpace(h), "*")) {
		case "name":
			at = &c.name
		case "l":
			at = &c.l
		case "a":
			at = &c.a
		case "b":
			at = &c.b
		case "group":
			at = &c.group
		default:
			continue
		}
		if *at >= 0 {
			return c, fault.At(line, fmt.Sprintf("the column %q stands there twice", strings.TrimSpace(h)), headerHint)
		}
		*at = i
	}
	var missing []string
	for _, m := range []struct {
		at   int
		name string
	}{{c.name, "name"}, {c.l, "L"}, {c.a, "a"}, {c.b, "b"}} {
		if m.at < 0 {
			missing = append(missing, m.name)
		}
	}
	switch joined := strings.Join(header, ","); {
	case len(missing) == 0:
		return c, nil
	case strings.ContainsAny(joined, ";\t"):
		return c, fault.At(line, "the columns are separated by semicolons or tabulators", "save the table with commas between columns and points in numbers: name,L,a,b")
	case len(missing) == 1:
		return c, fault.At(line, "the column "+missing[0]+" is missing", headerHint)
	default:
		return c, fault.At(line, "the columns "+strings.Join(missing, ", ")+" are missing", headerHint)
	}
}

// builder gathers rows and remembers where each name came from.
type builder struct {
	cols    columns
	tabs    []Tab
	groups  []Group
	lineOf  map[string]int
	groupAt map[string]int
}

func (b *builder) add(row []string, line int) error {
	if len(row) != b.cols.width {
		hint := "every row has as many values as the header has columns"
		if len(row) > b.cols.width {
			hint = "write numbers with decimal points, and put a name that holds a comma in quotes"
		}
		return fault.At(line, fmt.Sprintf("%d values where the header has %d columns", len(row), b.cols.width), hint)
	}
	t := Tab{Name: strings.TrimSpace(row[b.cols.name])}
	if err := checkName(t.Name); err != nil {
		return fault.At(line, "the name "+err.Error(), nameHint)
	}
	if first, twice := b.lineOf[t.Name]; twice {
		return fault.At(line, fmt.Sprintf("the name %q was used in line %d", t.Name, first), "give each tab a name of its own")
	}
	b.lineOf[t.Name] = line
	for _, v := range []struct {
		name string
		at   int
		to   *float64
	}{{"L", b.cols.l, &t.Lab.L}, {"a", b.cols.a, &t.Lab.A}, {"b", b.cols.b, &t.Lab.B}} {
		if err := readNumber(row[v.at], v.to); err != nil {
			return fault.At(line, v.name+" "+err.Error(), labHint)
		}
	}
	if err := checkLab(t.Lab); err != nil {
		return fault.At(line, err.Error(), labHint)
	}
	b.tabs = append(b.tabs, t)
	if len(b.tabs) > mostTabs {
		return fault.At(line, fmt.Sprintf("more than %d tabs", mostTabs), "split the library into smaller ones")
	}
	if b.cols.group < 0 {
		return nil
	}
	g := strings.TrimSpace(row[b.cols.group])
	if err := checkName(g); err != nil {
		return fault.At(line, "the group "+err.Error(), "name every row's value group, or leave the column out and groups are computed")
	}
	at, known := b.groupAt[g]
	if !known {
		at = len(b.groups)
		b.groupAt[g] = at
		b.groups = append(b.groups, Group{Name: g})
	}
	b.groups[at].Tabs = append(b.groups[at].Tabs, t)
	return nil
}

func readNumber(s string, to *float64) error {
	s = strings.TrimSpace(strings.ReplaceAll(s, "−", "-"))
	v, err := strconv.ParseFloat(s, 64)
	switch {
	case s == "":
		return errors.New("is missing")
	case err != nil && strings.Contains(s, ","):
		return fmt.Errorf("is %q: a comma stands where the decimal point belongs", fault.Excerpt(s))
	case err != nil:
		return fmt.Errorf("is %q, which is not a number", fault.Excerpt(s))
	case math.IsNaN(v) || math.IsInf(v, 0):
		return fmt.Errorf("is %q, which is not a finite number", fault.Excerpt(s))
	}
	*to = v
	return nil
}
