package transfer

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"

	"shadedrill/colour/fault"
)

// longestLine is the longest line read, in bytes: a sheet of 10,000 tabs fits; a file
// without line ends is refused before it fills the memory.
const longestLine = 8 << 20

const giveExport = "give a file that shadedrill export wrote"

// lines hands out a text line by line and sums up what it handed out, so that the
// last line can be held against what went before. Line ends of Windows count as those of Unix,
// and a mark of the byte order not at all: a file that was sent by mail is as it was.
type lines struct {
	in      *bufio.Reader
	number  int
	sum     hash.Hash // of the lines before the current one
	current []byte
	summing bool // the current line belongs to the sum
	cut     bool // it has no line end
}

func newLines(from io.Reader) *lines {
	return &lines{in: bufio.NewReaderSize(from, 1<<16), sum: sha256.New()}
}

// next returns the next line without its end, valid until the one after it; io.EOF after the last.
func (l *lines) next() ([]byte, error) {
	if l.summing {
		l.sum.Write(l.current)
		l.sum.Write([]byte{'\n'})
	}
	l.summing = true
	l.current = l.current[:0]
	for {
		part, err := l.in.ReadSlice('\n')
		if len(l.current)+len(part) > longestLine {
			return nil, fault.At(l.number+1, fmt.Sprintf("longer than %d bytes", longestLine), giveExport)
		}
		l.current = append(l.current, part...)
		switch {
		case err == nil:
		case errors.Is(err, bufio.ErrBufferFull):
			continue
		case !errors.Is(err, io.EOF):
			return nil, err
		case len(l.current) == 0:
			return nil, io.EOF
		}
		l.cut = err != nil
		break
	}
	l.number++
	if l.number == 1 {
		if err := sniff(l.current); err != nil {
			return nil, err
		}
		l.current = bytes.TrimPrefix(l.current, []byte("\ufeff"))
	}
	l.current = bytes.TrimSuffix(l.current, []byte("\n"))
	l.current = bytes.TrimSuffix(l.current, []byte("\r"))
	return l.current, nil
}

// before is the sum of the lines before the current one.
func (l *lines) before() string { return hex.EncodeToString(l.sum.Sum(nil)) }

// restart begins a new sum behind the current line.
func (l *lines) restart() {
	l.sum.Reset()
	l.summing = false
}

// sniff names a file that is something else altogether by its first bytes.
func sniff(head []byte) error {
	switch {
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}), bytes.HasPrefix(head, []byte{0xfe, 0xff}),
		len(head) > 3 && (head[0] == 0 && head[2] == 0 || head[1] == 0 && head[3] == 0):
		return fault.New("the text is UTF-16", "save it as UTF-8, or give the file as shadedrill export wrote it")
	case bytes.HasPrefix(head, []byte{0x1f, 0x8b}), bytes.HasPrefix(head, []byte("PK\x03\x04")), bytes.HasPrefix(head, []byte("BZh")), bytes.HasPrefix(head, []byte{0x28, 0xb5, 0x2f, 0xfd}), bytes.HasPrefix(head, []byte("\xfd7zXZ")):
		return fault.New("the file is compressed, or a spreadsheet's own format", "unpack it first; "+giveExport)
	case bytes.HasPrefix(head, []byte("SQLite format 3\x00")):
		return fault.New("the file is a book", "export from it first: shadedrill export --book FILE")
	}
	return nil
}
