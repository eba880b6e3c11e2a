package report

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"shadedrill/colour"
)

// writeCSV writes the tables of a report (RFC 4180, but with bare line feeds).
//
// A List is its table: a header of column keys and a row a row. A statistic takes five
// columns: key, key_lo, key_hi, key_n, key_warnings.
//
// Every other report is one long table, a line a cell, whose columns are the same
// whatever the report holds: the section's key, the number of the row in its table from 1,
// the column's key, and the value. Empty cells have no line.
//
// Undefined is an empty value with its reason among the warnings. Shares are 0 to 1, here
// and in JSON, whatever people are shown. Text that a spreadsheet would run as a formula
// is made harmless.
func writeCSV(w io.Writer, r Report) error {
	out := csv.NewWriter(w)
	tables := r.tables()
	var err error
	if r.List && len(tables) == 1 {
		err = tidy(out, tables[0].Table)
	} else {
		err = long(out, tables)
	}
	if err != nil {
		return err
	}
	out.Flush()
	return out.Error()
}

var estimateSuffixes = []string{"_lo", "_hi", "_n", "_warnings"}

// tidy writes one table as it stands.
func tidy(out *csv.Writer, t *Table) error {
	var header []string
	for i, c := range t.Columns {
		header = append(header, c.Key)
		if t.estimates(i) {
			for _, suffix := range estimateSuffixes {
				header = append(header, c.Key+suffix)
			}
		}
	}
	if err := out.Write(header); err != nil {
		return err
	}
	for row := range t.Rows {
		record := make([]string, 0, len(header))
		for i := range t.Columns {
			p := partsCSV(t.Cell(row, i))
			record = append(record, p.value)
			if t.estimates(i) {
				record = append(record, p.lo, p.hi, p.n, p.warnings)
			}
		}
		if err := out.Write(record); err != nil {
			return err
		}
	}
	return nil
}

var longHeader = []string{"section", "row", "column", "value", "lo", "hi", "n", "warnings"}

// long writes several tables, a line a cell.
func long(out *csv.Writer, tables []Section) error {
	if err := out.Write(longHeader); err != nil {
		return err
	}
	for _, s := range tables {
		for row := range s.Table.Rows {
			for i, c := range s.Table.Columns {
				cell := s.Table.Cell(row, i)
				if _, empty := cell.(Empty); empty {
					continue
				}
				p := partsCSV(cell)
				if err := out.Write([]string{s.Key, strconv.Itoa(row + 1), c.Key, p.value, p.lo, p.hi, p.n, p.warnings}); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// csvParts are a cell's fields; only a statistic has more than a value.
type csvParts struct{ value, lo, hi, n, warnings string }

func partsCSV(c Cell) (p csvParts) {
	switch c := c.(type) {
	case Text:
		p.value = Spreadsheet(string(c))
	case Word:
		p.value = Spreadsheet(c.Key)
	case Swatch:
		p.value = colour.SRGB(c).Hex()
	case Shade:
		p.value = colour.SRGB(c).Hex()
	case Number:
		p.value = forMachines(c.Value)
	case Count:
		p.value = strconv.Itoa(int(c))
	case Yes:
		p.value = strconv.FormatBool(bool(c))
	case Estimated:
		if c.Defined() {
			p.value = forMachines(c.Value)
			if c.HasInterval() {
				p.lo, p.hi = forMachines(c.Lo), forMachines(c.Hi)
			}
		}
		p.n = strconv.Itoa(c.N)
		p.warnings = Spreadsheet(strings.Join(c.warnings(), "; "))
	}
	return p
}
