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
// One table is a header of column keys and a row a row. Several tables are one
// rectangle, so that every reader of CSV can take it: a first column "section"
// with the section's key, then the columns of all tables, each key once, empty
// where a table has no such column.
//
// A statistic takes five columns: key, key_lo, key_hi, key_n, key_warnings.
// Undefined is an empty value with its reason among the warnings. Text that a
// spreadsheet would run as a formula is made harmless.
func writeCSV(w io.Writer, r Report) error {
	out := csv.NewWriter(w)
	tables := r.Tables()
	several := len(tables) > 1
	var header []string
	place := map[string]int{}
	add := func(key string) {
		if _, known := place[key]; !known {
			place[key] = len(header)
			header = append(header, key)
		}
	}
	if several {
		add("section")
	}
	for _, s := range tables {
		for i, c := range s.Table.Columns {
			add(c.Key)
			if s.Table.estimates(i) {
				for _, suffix := range estimateSuffixes {
					add(c.Key + suffix)
				}
			}
		}
	}
	if len(header) == 0 {
		return nil
	}
	if err := out.Write(header); err != nil {
		return err
	}
	for _, s := range tables {
		for row := range s.Table.Rows {
			record := make([]string, len(header))
			if several {
				record[0] = s.Key
			}
			for i, c := range s.Table.Columns {
				put(record[:], place, c.Key, s.Table.Cell(row, i))
			}
			if err := out.Write(record); err != nil {
				return err
			}
		}
	}
	out.Flush()
	return out.Error()
}

var estimateSuffixes = []string{"_lo", "_hi", "_n", "_warnings"}

func put(record []string, place map[string]int, key string, c Cell) {
	at := place[key]
	switch c := c.(type) {
	case Text:
		record[at] = Spreadsheet(string(c))
	case Word:
		record[at] = Spreadsheet(c.Key)
	case Swatch:
		record[at] = colour.SRGB(c).Hex()
	case Spark:
		record[at] = c.machine()
	case Number:
		record[at] = forMachines(c.Value)
	case Count:
		record[at] = strconv.Itoa(int(c))
	case Yes:
		record[at] = strconv.FormatBool(bool(c))
	case Estimated:
		if c.Defined() {
			record[at] = forMachines(c.Value)
			if c.HasInterval() {
				record[place[key+"_lo"]] = forMachines(c.Lo)
				record[place[key+"_hi"]] = forMachines(c.Hi)
			}
		}
		record[place[key+"_n"]] = strconv.Itoa(c.N)
		record[place[key+"_warnings"]] = Spreadsheet(strings.Join(c.Warnings, "; "))
	}
}
