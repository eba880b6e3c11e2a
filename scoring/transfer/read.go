package transfer

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
	"strings"

	"shadedrill/colour/fault"
)

// longestLine is the longest JSON line read, in bytes: a sheet of 10,000 tabs
// fits; a file without line ends is refused before it fills the memory.
const longestLine = 8 << 20

// read yields the rows of a file with their lines. An error without a line
// ends the file; one with a line is that line's.
func read(from io.Reader, format Format) iter.Seq2[parsed, error] {
	if format == JSONLines {
		return readJSONLines(from)
	}
	return readCSV(from)
}

type parsed struct {
	line int
	row  whole
	of   *classRecord // set for a line of a class, which has no row
	bad  error        // what is wrong with this line alone

	unreadable bool // it is not even known what it tells of
}

func readCSV(from io.Reader) iter.Seq2[parsed, error] {
	return func(yield func(parsed, error) bool) {
		r := csv.NewReader(from)
		r.ReuseRecord = true
		r.FieldsPerRecord = -1
		header, err := r.Read()
		if err != nil {
			if errors.Is(err, io.EOF) {
				err = fault.New("the file is empty", "give a file that shadedrill export wrote")
			}
			yield(parsed{}, err)
			return
		}
		header = slices.Clone(header)
		header[0] = strings.TrimPrefix(header[0], "\ufeff")
		at := map[string]int{}
		for i, name := range header {
			at[name] = i
		}
		if err := missing(at); err != nil {
			yield(parsed{}, err)
			return
		}
		for {
			cells, err := r.Read()
			if errors.Is(err, io.EOF) {
				return
			}
			var bad *csv.ParseError
			if errors.As(err, &bad) {
				// What follows a broken quote cannot be told apart: stop there.
				yield(parsed{}, fault.New(fmt.Sprintf("line %d: %v", bad.Line, bad.Err), "the file was cut off or edited; export it again"))
				return
			}
			if err != nil {
				yield(parsed{}, err)
				return
			}
			line, _ := r.FieldPos(0)
			p := parsed{line: line}
			if len(cells) != len(header) {
				p.bad = fmt.Errorf("%d fields where the header has %d", len(cells), len(header))
			} else {
				p.row, p.bad = parse(func(name string) string { return fromSpreadsheet(cells[at[name]]) })
			}
			if !yield(p, nil) {
				return
			}
		}
	}
}

func missing(at map[string]int) error {
	if _, labels := at[labelled[0]]; labels {
		return fault.New("the file is an export with pseudonyms, which names nobody: nothing can be imported from it", "export without --pseudonyms")
	}
	var lack []string
	for _, name := range needed {
		if _, ok := at[name]; !ok {
			lack = append(lack, name)
		}
	}
	if len(lack) == 0 {
		return nil
	}
	return fault.New("the columns "+strings.Join(lack, ", ")+" are missing",
		"give a file that shadedrill export wrote, with all its columns")
}

// fromSpreadsheet takes off the apostrophe that the export put before text which
// a spreadsheet would have run.
func fromSpreadsheet(s string) string {
	if len(s) > 1 && s[0] == '\'' && strings.ContainsRune("=+-@|%＝＋－＠ ", []rune(s[1:])[0]) {
		return s[1:]
	}
	return s
}

func readJSONLines(from io.Reader) iter.Seq2[parsed, error] {
	return func(yield func(parsed, error) bool) {
		s := bufio.NewScanner(from)
		s.Buffer(make([]byte, 1<<16), longestLine)
		line, some := 0, false
		for s.Scan() {
			line++
			text := bytes.TrimSpace(bytes.TrimPrefix(s.Bytes(), []byte("\ufeff")))
			if len(text) == 0 {
				continue
			}
			some = true
			p := parsed{line: line}
			p.bad = p.parse(text)
			if !yield(p, nil) {
				return
			}
		}
		switch err := s.Err(); {
		case errors.Is(err, bufio.ErrTooLong):
			yield(parsed{}, fault.New(fmt.Sprintf("line %d is longer than %d bytes", line+1, longestLine), "give a file that shadedrill export wrote"))
		case err != nil:
			yield(parsed{}, err)
		case !some:
			yield(parsed{}, fault.New("the file is empty", "give a file that shadedrill export wrote"))
		}
	}
}

// parse reads a JSON line, of a class or an answer.
func (p *parsed) parse(text []byte) (err error) {
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(text, &fields); err != nil {
		p.unreadable = true
		return fmt.Errorf("not a JSON object: %w", err)
	}
	if kind, ok := fields["record"]; ok {
		p.of, err = parseRecord(kind, text)
	} else {
		p.row, err = parseObject(fields)
	}
	return err
}

func parseObject(fields map[string]json.RawMessage) (whole, error) {
	var wrong error
	row, err := parse(func(name string) string {
		raw, ok := fields[name]
		if !ok || string(raw) == "null" {
			return ""
		}
		if raw[0] != '"' {
			return string(raw)
		}
		var s string
		if err := json.Unmarshal(raw, &s); err != nil {
			wrong = fmt.Errorf("%s: %w", name, err)
		}
		return s
	})
	if wrong != nil {
		return whole{}, wrong
	}
	return row, err
}
