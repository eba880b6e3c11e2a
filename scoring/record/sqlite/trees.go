package sqlite

import (
	"encoding/binary"
	"strings"
)

// wreckage is a damaged file: its pages by number, and what each belongs to as far as
// the trees of its tables still lead there.
type wreckage struct {
	pages map[uint32][]byte
	size  int
	form  int               // of the book; the newest where that cannot be read
	owner map[uint32]string // table or index of a page
	torn  map[string]int    // pages that are missing, by table or index
	blind bool              // what tables there are cannot be read to its end
}

// look finds out which page is whose.
func look(pages map[uint32][]byte, size int) *wreckage {
	w := &wreckage{pages: pages, size: size, form: newest(), owner: map[uint32]string{}, torn: map[string]int{}}
	first := pages[1]
	if len(first) < 100 || !strings.HasPrefix(string(first), "SQLite format 3") {
		w.blind = true
	} else if n := int(binary.BigEndian.Uint32(first[60:])); n > 0 && n <= newest() {
		w.form = n
	}
	const schemaTable = "sqlite_schema"
	w.walk(1, schemaTable)
	w.blind = w.blind || w.torn[schemaTable] > 0
	roots := map[string]uint32{}
	for n, owner := range w.owner {
		if owner == schemaTable {
			for _, row := range rowsOf(pages, n, size) {
				name, named := column[string](row, 1)
				root, rooted := column[int64](row, 3)
				if named && rooted && root > 1 {
					roots[name] = uint32(root)
				}
			}
		}
	}
	for name, root := range roots {
		w.walk(root, name)
	}
	return w
}

func column[T any](row carved, i int) (v T, ok bool) {
	if i < len(row.columns) {
		v, ok = row.columns[i].(T)
	}
	return v, ok
}

// walk goes down a tree. Every page has one owner, so that a tree which a damaged page
// leads into another, or round in a circle, ends there.
func (w *wreckage) walk(root uint32, name string) {
	for waiting := []uint32{root}; len(waiting) > 0; {
		n := waiting[len(waiting)-1]
		waiting = waiting[:len(waiting)-1]
		p, there := w.pages[n]
		if _, taken := w.owner[n]; taken {
			continue
		}
		if !there {
			w.torn[name]++
			continue
		}
		from := 0
		if n == 1 {
			from = 100
		}
		kind := p[from]
		switch kind {
		case 0x0d, 0x0a:
			w.owner[n] = name
		case 0x02, 0x05:
			w.owner[n] = name
			for i := range int(binary.BigEndian.Uint16(p[from+3:])) {
				at := from + 12 + 2*i
				if at+2 > w.size {
					break
				}
				if at = int(binary.BigEndian.Uint16(p[at:])); at+4 <= w.size {
					waiting = append(waiting, binary.BigEndian.Uint32(p[at:]))
				}
			}
			waiting = append(waiting, binary.BigEndian.Uint32(p[from+8:]))
		default:
			w.torn[name]++
		}
	}
}
