package sqlite

import (
	"encoding/binary"
	"errors"
	"io/fs"
	"math"
	"os"
)

// Rows are read out of a damaged file page by page, whatever leads to the pages: a page
// that can be read gives its rows also where the tree above it is gone. The layout is
// that of sqlite.org/fileformat2.html (sections 1.6, 2.1 and 4).

// carved is a row: its key, where the table has one, and its columns.
type carved struct {
	rowid   int64
	table   bool // from a page of a table; otherwise of an index or a table without keys
	columns []any
}

const usualPage = 4096

// pagesOf reads the pages of a file, those in its log over those in the file.
func pagesOf(path string) (pages map[uint32][]byte, size int, err error) {
	whole, err := os.ReadFile(path)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, 0, err
	}
	log, logErr := os.ReadFile(path + "-wal")
	if err != nil && logErr != nil {
		return nil, 0, err
	}
	size = usualPage
	if len(whole) >= 18 {
		if n := int(binary.BigEndian.Uint16(whole[16:])); n >= 512 && n&(n-1) == 0 {
			size = n
		}
	} else if len(log) >= 12 {
		size = int(binary.BigEndian.Uint32(log[8:]))
	}
	if size < 512 || size > 1<<16 {
		size = usualPage
	}
	pages = map[uint32][]byte{}
	for i := 0; i+size <= len(whole); i += size {
		pages[uint32(i/size)+1] = whole[i : i+size]
	}
	if logErr == nil {
		overlay(pages, log, size)
	}
	return pages, size, nil
}

// overlay puts over the pages those of the log that belong to whole transactions.
func overlay(pages map[uint32][]byte, log []byte, size int) {
	if len(log) < 32 {
		return
	}
	var order binary.ByteOrder = binary.LittleEndian
	if log[3]&1 == 1 { // the last bit of the magic number
		order = binary.BigEndian
	}
	var s0, s1 uint32
	sum := func(b []byte) {
		for i := 0; i+8 <= len(b); i += 8 {
			s0 += order.Uint32(b[i:]) + s1
			s1 += order.Uint32(b[i+4:]) + s0
		}
	}
	sum(log[:24])
	waiting := map[uint32][]byte{}
	for at := 32; at+24+size <= len(log); at += 24 + size {
		head, page := log[at:at+24], log[at+24:at+24+size]
		sum(head[:8])
		sum(page)
		if string(head[8:16]) != string(log[16:24]) || binary.BigEndian.Uint32(head[16:]) != s0 || binary.BigEndian.Uint32(head[20:]) != s1 {
			return
		}
		waiting[binary.BigEndian.Uint32(head)] = page
		if binary.BigEndian.Uint32(head[4:]) != 0 { // the end of a transaction
			for n, p := range waiting {
				pages[n] = p
			}
			clear(waiting)
		}
	}
}

// rowsOf gives the rows of a page that can be read.
func rowsOf(pages map[uint32][]byte, n uint32, size int) (list []carved) {
	p := pages[n]
	from := 0
	if n == 1 {
		from = 100
	}
	kind := p[from]
	header := 8
	switch kind {
	case 0x0d, 0x0a:
	case 0x02:
		header = 12
	default:
		return nil
	}
	cells := int(binary.BigEndian.Uint16(p[from+3:]))
	for i := range cells {
		at := from + header + 2*i
		if at+2 > size {
			break
		}
		if row, ok := cell(pages, p, int(binary.BigEndian.Uint16(p[at:])), kind, size); ok {
			list = append(list, row)
		}
	}
	return list
}

func cell(pages map[uint32][]byte, p []byte, at int, kind byte, size int) (row carved, ok bool) {
	if kind == 0x02 {
		at += 4
	}
	payload, n := varint(p, at)
	if n == 0 || payload > 1<<26 {
		return row, false
	}
	at += n
	most := (size-12)*64/255 - 23
	if kind == 0x0d {
		row.table, most = true, size-35
		var key uint64
		if key, n = varint(p, at); n == 0 {
			return row, false
		}
		row.rowid = int64(key)
		at += n
	}
	total := int(payload)
	local := total
	if total > most {
		least := (size-12)*32/255 - 23
		if local = least + (total-least)%(size-4); local > most {
			local = least
		}
	}
	if at+local > size {
		return row, false
	}
	content := append([]byte(nil), p[at:at+local]...)
	if local < total {
		if at+local+4 > size {
			return row, false
		}
		for next := binary.BigEndian.Uint32(p[at+local:]); len(content) < total; {
			more := pages[next]
			if more == nil {
				return row, false
			}
			content = append(content, more[4:min(size, 4+total-len(content))]...)
			next = binary.BigEndian.Uint32(more)
		}
	}
	row.columns, ok = columnsOf(content)
	return row, ok
}

func columnsOf(b []byte) (list []any, ok bool) {
	length, n := varint(b, 0)
	if n == 0 || length > uint64(len(b)) {
		return nil, false
	}
	body := int(length)
	for at := n; at < int(length); {
		kind, n := varint(b, at)
		if n == 0 {
			return nil, false
		}
		at += n
		width := 0
		switch {
		case kind <= 4:
			width = int(kind)
		case kind == 5:
			width = 6
		case kind == 6, kind == 7:
			width = 8
		case kind >= 12 && kind < 1<<27:
			width = int(kind-12) / 2
		case kind >= 10:
			return nil, false
		}
		if body+width > len(b) {
			return nil, false
		}
		field := b[body : body+width]
		body += width
		switch {
		case kind == 0:
			list = append(list, nil)
		case kind <= 6:
			v := int64(int8(field[0]))
			for _, c := range field[1:] {
				v = v<<8 | int64(c)
			}
			list = append(list, v)
		case kind == 7:
			list = append(list, math.Float64frombits(binary.BigEndian.Uint64(field)))
		case kind == 8, kind == 9:
			list = append(list, int64(kind-8))
		case kind%2 == 1:
			list = append(list, string(field))
		default:
			list = append(list, field)
		}
	}
	return list, len(list) > 0
}

// varint reads one; its length is 0 where the bytes end before it.
func varint(b []byte, at int) (v uint64, n int) {
	for n < 9 {
		if at < 0 || at+n >= len(b) {
			return 0, 0
		}
		c := b[at+n]
		if n++; n == 9 {
			return v<<8 | uint64(c), n
		}
		v = v<<7 | uint64(c&0x7f)
		if c < 0x80 {
			return v, n
		}
	}
	return v, n
}
