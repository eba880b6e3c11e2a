package report

import (
	"bytes"
	"encoding/json"
	"io"
	"strconv"

	"shadedrill/colour"
)

// jsonVersion is the number of the shape that writeJSON describes. A member more leaves it
// as it is; what an older reader would misread raises it.
const jsonVersion = 1

// writeJSON writes every report in one shape: an object of "title", "version", one
// member a section that has a table (its key: an array of objects, one a row, column
// keys as names, in the order of the columns), and "cautions", an array that may be empty.
//
// A statistic is {"value","lo","hi","level","n","warnings"} with null for what
// is undefined; an empty cell is null. Shares are 0 to 1, here and in CSV, whatever
// people are shown.
func writeJSON(w io.Writer, r Report) error {
	var b bytes.Buffer
	o := object{b: &b, indent: "  "}
	o.open()
	o.member("title", Clean(r.Title))
	o.member("version", jsonVersion)
	for _, s := range r.tables() {
		o.key(s.Key)
		rowsJSON(&b, s.Table, "  ")
	}
	o.member("cautions", append([]string{}, r.Cautions...))
	o.close("")
	b.WriteByte('\n')
	_, err := w.Write(b.Bytes())
	return err
}

// object writes a JSON object whose members keep their order, one a line.
type object struct {
	b      *bytes.Buffer
	indent string
	n      int
}

func (o *object) open() { o.b.WriteByte('{') }

func (o *object) key(name string) {
	if o.n > 0 {
		o.b.WriteByte(',')
	}
	o.n++
	o.b.WriteByte('\n')
	o.b.WriteString(o.indent)
	o.b.Write(plain(name))
	o.b.WriteString(": ")
}

func (o *object) member(name string, v any) {
	o.key(name)
	o.b.Write(plain(v))
}

func (o *object) close(indent string) {
	o.b.WriteByte('\n')
	o.b.WriteString(indent)
	o.b.WriteByte('}')
}

// rowsJSON writes a table as an array with one row a line.
func rowsJSON(b *bytes.Buffer, t *Table, indent string) {
	b.WriteByte('[')
	for row := range t.Rows {
		if row > 0 {
			b.WriteByte(',')
		}
		b.WriteString("\n" + indent + "  {")
		for i, c := range t.Columns {
			if i > 0 {
				b.WriteString(", ")
			}
			b.Write(plain(c.Key))
			b.WriteString(": ")
			b.Write(plain(value(t.Cell(row, i))))
		}
		b.WriteByte('}')
	}
	if len(t.Rows) > 0 {
		b.WriteString("\n" + indent)
	}
	b.WriteByte(']')
}

// plain marshals a value that is known to marshal, without escaping < and >.
func plain(v any) []byte {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		panic("report: " + err.Error()) // only strings, numbers and the types below come here
	}
	return bytes.TrimRight(b.Bytes(), "\n")
}

type estimateJSON struct {
	Value    *float64 `json:"value"`
	Lo       *float64 `json:"lo"`
	Hi       *float64 `json:"hi"`
	Level    *float64 `json:"level"`
	N        int      `json:"n"`
	Warnings []string `json:"warnings"`
}

// value turns a cell into what encoding/json writes for it.
func value(c Cell) any {
	switch c := c.(type) {
	case Text:
		return Clean(string(c))
	case Word:
		return Clean(c.Key)
	case Swatch:
		return colour.SRGB(c).Hex()
	case Shade:
		return colour.SRGB(c).Hex()
	case Spark:
		list := make([]*float64, len(c.Values))
		for i, v := range c.Values {
			list[i] = finite(v)
		}
		return list
	case Number:
		return finite(c.Value)
	case Count:
		return int(c)
	case Yes:
		return bool(c)
	case Estimated:
		e := estimateJSON{N: c.N, Warnings: []string{}}
		for _, w := range c.warnings() {
			e.Warnings = append(e.Warnings, Clean(w))
		}
		if c.Defined() {
			e.Value = finite(c.Value)
			if c.HasInterval() {
				e.Lo, e.Hi, e.Level = finite(c.Lo), finite(c.Hi), finite(c.Level)
			}
		}
		return e
	}
	return nil
}

// finite is the number as machines get it, nil for one that is not finite.
func finite(v float64) *float64 {
	v, err := strconv.ParseFloat(forMachines(v), 64)
	if err != nil {
		return nil
	}
	return &v
}
