package transfer

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"io"
	"strconv"
	"strings"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
)

// An export ends with a line that counts what it holds and has the SHA-256 of all lines
// before it, so that a file which was cut off or edited is seen. In JSON lines it is an
// object of its own; in CSV a row like the others, with #end in its first column and
// empty from the fifth on. A line that begins with # would be a comment for programs that
// can be told so, but these then take the colours (#d9cdb8) for comments as well, and a
// row that is shorter than its header is an error to some. Python's csv reads it as one more
// row, which is left out by its first column.
//
//	head -n -1 answers.csv | sha256sum    gives the sum anew
//
// The column or member "link" says that such a line must be there. Files of earlier versions
// have neither.
type ending struct {
	Record   string `json:"record"`
	Answers  int    `json:"answers"`
	Sittings int    `json:"sittings"` // that the answers are of
	// Narrowed says that of some sittings not all answers were asked for.
	Narrowed bool   `json:"narrowed,omitempty"`
	Sum      string `json:"sha256"`
}

const (
	recordEnd = "end"
	csvEnd    = "#end"
)

// totals count what was written, and sum it up.
type totals struct {
	to       io.Writer
	sum      hash.Hash
	answers  int
	sittings int
	narrowed bool
}

func newTotals(to io.Writer) *totals { return &totals{to: to, sum: sha256.New()} }

func (t *totals) Write(p []byte) (int, error) {
	t.sum.Write(p)
	return t.to.Write(p)
}

// end writes the last line.
func (t *totals) end(format Format) error {
	e := ending{recordEnd, t.answers, t.sittings, t.narrowed, hex.EncodeToString(t.sum.Sum(nil))}
	if format == CSV {
		cells := make([]string, len(columns))
		cells[0], cells[1], cells[2], cells[3] = csvEnd, fmt.Sprintf("answers=%d", e.Answers), fmt.Sprintf("sittings=%d", e.Sittings), "sha256="+e.Sum
		if e.Narrowed {
			cells[4] = "narrowed"
		}
		_, err := io.WriteString(t.to, strings.Join(cells, ",")+"\n")
		return err
	}
	b, err := json.Marshal(e)
	if err != nil {
		return err
	}
	_, err = t.to.Write(append(b, '\n'))
	return err
}

// readCSVEnding reads the last row; false where the row is none.
func readCSVEnding(cells []string) (*ending, bool) {
	if len(cells) < 5 || cells[0] != csvEnd || strings.Join(cells[5:], "") != "" {
		return nil, false
	}
	e := &ending{Record: recordEnd, Answers: -1, Sittings: -1, Narrowed: cells[4] == "narrowed"}
	number := func(cell, name string) int {
		text, _ := strings.CutPrefix(cell, name+"=")
		n, err := strconv.Atoi(text)
		if err != nil {
			return -1
		}
		return n
	}
	e.Answers, e.Sittings = number(cells[1], "answers"), number(cells[2], "sittings")
	e.Sum, _ = strings.CutPrefix(cells[3], "sha256=")
	return e, true
}

// exportAgain mends what came incomplete.
const exportAgain = "copy or export the file again, or take what is there with --partial"

// counts reports whether as much is there as was written.
func (e *ending) counts(answers, sittings int) bool {
	return e.Answers == answers && e.Sittings == sittings
}

// holds says what is wrong with a file that ends so; answers and sittings are those that were
// read since the ending before.
func (e *ending) holds(answers, sittings int, sum string) error {
	if e.counts(answers, sittings) && e.Sum == sum {
		return nil
	}
	what := "something in it is not as it was written"
	if !e.counts(answers, sittings) {
		what = fmt.Sprintf("its last line counts %s of %s, and %d of %d are there", scoring.Count(e.Answers, "answer", "answers"),
			scoring.Count(e.Sittings, "sitting", "sittings"), answers, sittings)
	}
	return fault.New("the file is not whole: "+what, exportAgain)
}

// unended is what is said of a file that must have an ending and has none.
func unended(line, answers int) error {
	return fault.New(fmt.Sprintf("the file is not whole: it ends after line %d, with %s and without the line that closes it", line, scoring.Count(answers, "answer", "answers")), exportAgain)
}
