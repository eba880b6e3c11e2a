package cases

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
	"unicode"
	"unicode/utf8"

	"shadedrill/colour"
	"shadedrill/colour/fault"
)

// Header is the first row of a table of cases. Columns may stand in any order.
const Header = "id,prescribed_L,prescribed_a,prescribed_b,delivered_L,delivered_a,delivered_b"

const (
	longestLine = 64 << 10 // bytes; an honest row takes a hundred
	longestID   = 100      // characters
	mostCases   = 100_000  // house choice: a table of a million would fill the memory and nobody's report
)

// Read reads cases from CSV: UTF-8 with or without its mark, line ends of
// Unix or Windows, the columns of [Header] in any order; further columns are left alone
// and named in unused. Every line is a row of its own, so that a stray quote
// spoils one line and no more. The error is a [fault.List], or that of the reader.
func Read(r io.Reader) (cases []Case, unused []string, err error) {
	in := &lines{in: bufio.NewReaderSize(r, longestLine)}
	faults := &fault.List{}
	var cols *columns
	lineOf := map[string]int{}
	for {
		line, err := in.next()
		if errors.Is(err, io.EOF) {
			break
		}
		var bad *fault.Error
		if errors.As(err, &bad) {
			faults.Add(err)
			return nil, nil, faults
		}
		if err != nil {
			return nil, nil, err
		}
		if !utf8.ValidString(line) {
			faults.Add(fault.At(in.number, "not UTF-8", "save the table as CSV in UTF-8"))
			if cols == nil {
				return nil, nil, faults
			}
			continue
		}
		if strings.TrimSpace(line) == "" {
			continue
		}
		cells, err := splitRow(line)
		if err != nil {
			faults.Add(fault.At(in.number, err.Error(), `put a value that holds a comma or a quote in quotes, and double the quotes inside`))
			if cols == nil {
				return nil, nil, faults
			}
			continue
		}
		if cols == nil {
			c, f := readHeader(cells, in.number)
			if f != nil {
				faults.Add(f)
				return nil, nil, faults
			}
			cols = c
			continue
		}
		c, f := cols.read(cells, in.number)
		if f == nil {
			if first, twice := lineOf[c.ID]; twice {
				f = fault.At(in.number, fmt.Sprintf("the id %q was used in line %d", c.ID, first), "give each case an id of its own")
			}
		}
		if f != nil {
			faults.Add(f)
			continue
		}
		if len(cases) == mostCases {
			return nil, nil, fault.New(fmt.Sprintf("the table holds more than %d pairs", mostCases), "make several tables of it")
		}
		lineOf[c.ID] = in.number
		cases = append(cases, c)
	}
	switch {
	case len(faults.Lines) > 0:
	case cols == nil:
		faults.Add(fault.New("there is nothing to read: the table is empty", headerHint))
	case len(cases) == 0:
		faults.Add(fault.New("there is no case below the header", "one row a case, such as crown-1,76.1,1.2,18.4,74.0,1.9,20.2"))
	default:
		return cases, cols.unused, nil
	}
	return nil, nil, faults
}

const headerHint = "the first row names the columns: " + Header

// lines hands out a text line by line, however its lines end, and never holds
// more than one.
type lines struct {
	in     *bufio.Reader
	number int
}

func (l *lines) next() (string, error) {
	line, err := l.in.ReadSlice('\n')
	if len(line) == 0 && err != nil {
		return "", err
	}
	l.number++
	if errors.Is(err, bufio.ErrBufferFull) {
		return "", fault.At(0, fmt.Sprintf("line %d is longer than %d KiB: this is not a table of measured pairs", l.number, longestLine>>10), headerHint)
	}
	if err != nil && !errors.Is(err, io.EOF) {
		return "", err
	}
	if l.number == 1 {
		if bytes.HasPrefix(line, []byte{0xff, 0xfe}) || bytes.HasPrefix(line, []byte{0xfe, 0xff}) {
			return "", fault.At(0, "the text is UTF-16", "save the table as CSV in UTF-8")
		}
		line = bytes.TrimPrefix(line, []byte("\xef\xbb\xbf"))
	}
	if i := bytes.IndexByte(line, 0); i >= 0 {
		return "", fault.At(0, fmt.Sprintf("line %d holds a zero byte: this is not a text", l.number), "save the table as CSV in UTF-8")
	}
	line = bytes.TrimRight(line, "\r\n")
	if i := bytes.IndexByte(line, '\r'); i >= 0 && utf8.Valid(line) {
		return "", fault.At(0, fmt.Sprintf("line %d holds a lone carriage return", l.number), "save the table with line ends of Unix or Windows")
	}
	return string(line), nil
}

// splitRow parts one line of CSV.
func splitRow(line string) ([]string, error) {
	row := csv.NewReader(strings.NewReader(line))
	row.TrimLeadingSpace = true
	cells, err := row.Read()
	var p *csv.ParseError
	if errors.As(err, &p) {
		return nil, fmt.Errorf("not a row of comma-separated values (%v)", p.Err)
	}
	if errors.Is(err, io.EOF) {
		return []string{""}, nil
	}
	return cells, err
}

// columns says where the wanted columns stand.
type columns struct {
	at     [7]int
	width  int
	unused []string
}

var names = strings.Split(Header, ",")

func readHeader(cells []string, line int) (*columns, error) {
	c := &columns{width: len(cells)}
	for i := range c.at {
		c.at[i] = -1
	}
next:
	for i, cell := range cells {
		cell = strings.TrimSpace(cell)
		for j, name := range names {
			if !strings.EqualFold(cell, name) {
				continue
			}
			if c.at[j] >= 0 {
				return nil, fault.At(line, fmt.Sprintf("the column %s stands there twice", name), headerHint)
			}
			c.at[j] = i
			continue next
		}
		c.unused = append(c.unused, fault.Excerpt(cell))
	}
	var missing []string
	for j, name := range names {
		if c.at[j] < 0 {
			missing = append(missing, name)
		}
	}
	switch {
	case len(missing) == 0:
		return c, nil
	case len(cells) == 1 && strings.ContainsAny(cells[0], ";\t|"):
		return nil, fault.At(line, "the columns are not separated by commas", "save the table with commas between columns and points in numbers: "+Header)
	case len(missing) == len(names):
		return nil, fault.At(line, "this row does not name the columns", headerHint)
	case len(missing) == 1:
		return nil, fault.At(line, "the column "+missing[0]+" is missing", headerHint)
	}
	return nil, fault.At(line, "the columns "+strings.Join(missing, ", ")+" are missing", headerHint)
}

const rangeHint = "L runs from 0 to 100, a and b from -160 to 160, with decimal points"

func (c *columns) read(cells []string, line int) (Case, error) {
	if len(cells) != c.width {
		hint := "every row has as many values as the header has columns"
		if len(cells) > c.width {
			hint = "write numbers with decimal points, and put an id that holds a comma in quotes"
		}
		return Case{}, fault.At(line, fmt.Sprintf("%d values where the header has %d columns", len(cells), c.width), hint)
	}
	id := strings.TrimSpace(cells[c.at[0]])
	switch {
	case id == "":
		return Case{}, fault.At(line, "the id is empty", "give each case an id of its own")
	case utf8.RuneCountInString(id) > longestID:
		return Case{}, fault.At(line, fmt.Sprintf("the id has %d characters, more than %d", utf8.RuneCountInString(id), longestID), "shorten the id")
	case strings.ContainsFunc(id, func(r rune) bool { return !unicode.IsPrint(r) }):
		return Case{}, fault.At(line, "the id holds a character that cannot be printed", "use letters, digits and punctuation")
	}
	var v [6]float64
	for i := range v {
		var err error
		if v[i], err = readNumber(cells[c.at[i+1]], i%3 == 0); err != nil {
			return Case{}, fault.At(line, names[i+1]+" "+err.Error(), rangeHint)
		}
	}
	return Case{id, colour.Lab{L: v[0], A: v[1], B: v[2]}, colour.Lab{L: v[3], A: v[4], B: v[5]}}, nil
}

// readNumber reads a coordinate; the true minus sign is taken as well.
func readNumber(s string, lightness bool) (float64, error) {
	s = strings.TrimSpace(s)
	v, err := strconv.ParseFloat(strings.Replace(s, "−", "-", 1), 64)
	lo, hi := -160.0, 160.0
	if lightness {
		lo, hi = 0, 100
	}
	switch {
	case s == "":
		return 0, errors.New("is missing")
	case err != nil && strings.Contains(s, ","):
		return 0, fmt.Errorf("is %q: a comma stands where the decimal point belongs", fault.Excerpt(s))
	case errors.Is(err, strconv.ErrRange):
		return 0, fmt.Errorf("is %q, outside %g..%g", fault.Excerpt(s), lo, hi)
	case err != nil:
		return 0, fmt.Errorf("is %q, which is not a number", fault.Excerpt(s))
	case math.IsNaN(v) || math.IsInf(v, 0):
		return 0, fmt.Errorf("is %q, which is not a finite number", fault.Excerpt(s))
	case v < lo || v > hi:
		return 0, fmt.Errorf("is %s, outside %g..%g", fault.Excerpt(s), lo, hi)
	}
	return v, nil
}
