// Package files is what a command writes where a user said so: whole or not at all, never
// over a book, and over somebody's own work only when told to.
package files

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring/draft"
)

// Target is a file that a command is to write. Everything that writes a file whose
// path a user gave asks it first.
type Target struct {
	Path string
	// Force replaces whatever ordinary file is there, but for a book.
	Force bool
	// ByHand says that a file of this kind may be somebody's own work: it is
	// replaced only by force, though it looks like one of ours.
	ByHand bool
}

// The first bytes of a book, of its write-ahead log (either byte order of its sums) and of its
// journal: https://www.sqlite.org/fileformat2.html, sections 1.3, 4.1 and 3.
var bookMagic = [][]byte{[]byte("SQLite format 3\x00"), {0x37, 0x7f, 0x06, 0x82}, {0x37, 0x7f, 0x06, 0x83}, {0xd9, 0xd5, 0x05, 0xf9, 0x20, 0xa1, 0x63, 0xd7}}

// IsBook reports whether a file is a book or one of the files beside it.
func IsBook(path string) bool {
	head := headOf(path, 16)
	for _, magic := range bookMagic {
		if bytes.HasPrefix(head, magic) {
			return true
		}
	}
	if log, err := os.Stat(path + "-wal"); err == nil && log.Size() > 0 {
		return true // its log holds it still
	}
	for _, ending := range []string{"-wal", "-shm", "-journal"} {
		if book, ok := strings.CutSuffix(path, ending); ok && bytes.HasPrefix(headOf(book, 16), bookMagic[0]) {
			return true
		}
	}
	return false
}

// headOf is how a file begins; nil where it cannot be read.
func headOf(path string, most int) []byte {
	f, err := os.Open(path)
	if err != nil {
		return nil
	}
	defer f.Close()
	head := make([]byte, most)
	n, _ := io.ReadFull(f, head)
	return head[:n]
}

// Place is where the file goes, links followed, and how what is there now begins; nil
// where there is nothing. What is no ordinary file is refused: a whole file is put in its
// place by renaming, which would put it there instead of a device. That holds for /dev/stdout and
// /dev/null as well; without -o the shell does both.
func (t Target) Place() (path string, there []byte, err error) {
	refuse := func(what, hint string) (string, []byte, error) {
		return "", nil, told.Fail(hint, "cannot write %s: %s", t.Path, what)
	}
	if _, err := os.Lstat(t.Path); errors.Is(err, fs.ErrNotExist) {
		if IsBook(t.Path) { // what would lie beside one
			return refuse("it belongs to a book", "give another name: a book is never written over")
		}
		return t.Path, nil, nil
	}
	path, err = filepath.EvalSymlinks(t.Path)
	if err != nil {
		return refuse("it is a link that leads nowhere", "name the file itself")
	}
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return refuse(told.Reason(err).Error(), "name another file")
	case info.IsDir():
		return refuse("it is a folder", "name a file in it")
	case !info.Mode().IsRegular():
		return refuse("it is no ordinary file", "without -o it goes to standard output, which a shell leads anywhere: > or |")
	case IsBook(path):
		return refuse("it is a book, or belongs to one", `give another name: a book is never written over; "shadedrill book backup" copies one`)
	}
	return path, headOf(path, openingBytes), nil
}

// replaces says whether what begins so may take the place of what is there: when it was asked for, when
// nothing is lost, or when both are the same report or an export of the same kind.
// People write the same report again and again, and a flag that is always needed would be
// typed always. Another person's report, or a list of somebody's own, is not the same.
func (t Target) replaces(there, opened []byte) error {
	if t.Force || len(there) == 0 || !t.ByHand && opening(there) == opening(opened) {
		return nil
	}
	return told.Fail("name another file, or say --force to replace it", "%s is there already, and is something else", t.Path)
}

// openingBytes hold the title of every report.
const openingBytes = 4 << 10

// opening is what tells reports and exports apart: the title of a page, of a JSON report or of a text;
// of a table its first three columns (further ones come and go), of a long one what its first cell is; of JSON lines and lists
// the first name.
func opening(head []byte) string {
	text := strings.ReplaceAll(string(head), "\r\n", "\n")
	first, rest, _ := strings.Cut(text, "\n")
	switch {
	case strings.HasPrefix(first, "<!doctype html>"):
		_, title, _ := strings.Cut(text, "<title>")
		title, _, _ = strings.Cut(title, "</title>")
		return "html: " + title
	case first == "{":
		second, _, _ := strings.Cut(rest, "\n")
		return first + second
	case strings.HasPrefix(text, "{"), strings.HasPrefix(text, "["):
		name, _, _ := strings.Cut(text, ":")
		return name
	}
	if strings.HasPrefix(first, "section,row,column,") {
		first, _, _ = strings.Cut(rest, "\n")
	}
	if cells := strings.SplitN(first, ",", 4); len(cells) > 3 {
		return strings.Join(cells[:3], ",")
	}
	return first
}

// Write puts a whole file in its place or none: what stood there before stays until
// the new content is complete. Only its owner may read it, since nearly everything that
// is written tells of people.
func (t Target) Write(content func(io.Writer) error) error {
	path, there, err := t.Place()
	if err != nil {
		return err
	}
	const hint = "the folder must be there, and you must be allowed to write in it"
	file, err := draft.New(path)
	if err != nil {
		return told.Fail(hint, "cannot write %s: %w", t.Path, told.Reason(err))
	}
	defer file.Discard()
	out := &beginning{to: bufio.NewWriter(file), check: func(opened []byte) error { return t.replaces(there, opened) }}
	writing := content(out)
	if writing == nil {
		err = out.end()
	}
	switch {
	case out.refused != nil:
		return out.refused
	case writing != nil:
		return writing
	case err == nil:
		if _, _, err := t.Place(); err != nil { // what came there meanwhile
			return err
		}
		err = file.Put(true)
	}
	if err != nil {
		return told.Fail(hint, "cannot write %s: %w", t.Path, told.Reason(err))
	}
	return nil
}

// beginning looks at the first bytes before it lets any through, so that a long export that
// may not be written ends at once.
type beginning struct {
	to    *bufio.Writer
	check func([]byte) error
	head  []byte
	past  bool

	refused error
}

func (b *beginning) Write(p []byte) (int, error) {
	if !b.past {
		b.head = append(b.head, p...)
		if len(b.head) < openingBytes {
			return len(p), nil
		}
		return len(p), b.pass()
	}
	return b.to.Write(p)
}

func (b *beginning) pass() error {
	b.past = true
	if b.refused = b.check(b.head); b.refused != nil {
		return b.refused
	}
	_, err := b.to.Write(b.head)
	return err
}

func (b *beginning) end() error {
	if !b.past {
		if err := b.pass(); err != nil {
			return err
		}
	}
	return b.to.Flush()
}
