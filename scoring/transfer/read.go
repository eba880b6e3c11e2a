package transfer

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"strings"

	"shadedrill/colour/fault"
	"shadedrill/scoring/report"
)

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

	// header is the first line of a CSV; linked says that it has links, and so must end with a line
	// that closes it.
	header, linked bool

	end *ending // set for the line that closes a file, which holds nothing else
	sum string  // with end: of the lines before it
	cut bool    // the line has no line end: it may have been cut off
}

// feed hands a reader of CSV one line at a time.
type feed struct{ line []byte }

func (f *feed) Read(p []byte) (int, error) {
	if len(f.line) == 0 {
		return 0, io.EOF
	}
	n := copy(p, f.line)
	f.line = f.line[n:]
	return n, nil
}

func readCSV(from io.Reader) iter.Seq2[parsed, error] {
	return func(yield func(parsed, error) bool) {
		in, line := newLines(from), &feed{}
		r := csv.NewReader(line)
		r.ReuseRecord = true
		r.FieldsPerRecord = -1
		var width int
		at := map[string]int{}
		for {
			text, err := in.next()
			if errors.Is(err, io.EOF) {
				if width == 0 {
					yield(parsed{}, fault.New("the file is empty", giveExport))
				}
				return
			}
			if err != nil {
				yield(parsed{}, err)
				return
			}
			if len(text) == 0 {
				continue
			}
			line.line = append(append(line.line[:0], text...), '\n') // a row is a line: no field holds a line end
			cells, err := r.Read()
			var bad *csv.ParseError
			if errors.As(err, &bad) && width > 0 && in.cut {
				if !yield(parsed{line: in.number, cut: true, unreadable: true, bad: errors.New("the line was cut off")}, nil) {
					return
				}
				continue
			}
			if errors.As(err, &bad) {
				yield(parsed{}, fault.At(in.number, bad.Err.Error(), "the file was cut off or edited; export it again"))
				return
			}
			if err != nil {
				yield(parsed{}, err)
				return
			}
			if width == 0 {
				width = len(cells)
				for i, name := range cells {
					at[strings.Clone(name)] = i
				}
				if err := missing(at); err != nil {
					yield(parsed{}, err)
					return
				}
				_, linked := at["link"]
				if !yield(parsed{line: in.number, header: true, linked: linked}, nil) {
					return
				}
				continue
			}
			p := parsed{line: in.number, cut: in.cut}
			if end, is := readCSVEnding(cells); is {
				p.end, p.sum = end, in.before()
			} else if len(cells) != width {
				p.bad = fmt.Errorf("%d fields where the header has %d", len(cells), width)
			} else {
				p.row, p.bad = parse(func(name string) string {
					i, there := at[name]
					if !there {
						return ""
					}
					if strings.HasSuffix(name, "_data") { // JSON, which went out as it is
						return cells[i]
					}
					return report.FromSpreadsheet(cells[i])
				})
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

func readJSONLines(from io.Reader) iter.Seq2[parsed, error] {
	return func(yield func(parsed, error) bool) {
		in, some := newLines(from), false
		for {
			text, err := in.next()
			if errors.Is(err, io.EOF) {
				if !some {
					yield(parsed{}, fault.New("the file is empty", giveExport))
				}
				return
			}
			if err != nil {
				yield(parsed{}, err)
				return
			}
			if text = bytes.TrimSpace(text); len(text) == 0 {
				continue
			}
			p := parsed{line: in.number, cut: in.cut}
			p.bad = p.parse(text)
			if p.unreadable && !some && text[0] != '{' {
				yield(parsed{}, fault.At(in.number, "this is no export as JSON lines", giveExport+", with --format where its ending does not say which"))
				return
			}
			some = true
			if p.of != nil && p.of.end != nil && p.bad == nil {
				p.end, p.sum, p.of = p.of.end, in.before(), nil
				in.restart() // files put one behind the other
			}
			if !yield(p, nil) {
				return
			}
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
