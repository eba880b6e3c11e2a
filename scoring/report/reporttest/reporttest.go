// Package reporttest finds the parts of a report that a test speaks of.
package reporttest

import (
	"strings"
	"testing"

	"github.com/olekukonko/tablewriter/pkg/twwidth"

	"shadedrill/colour/tabs"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
)

// Section is the table of a section.
func Section(t testing.TB, r report.Report, key string) *report.Table {
	t.Helper()
	for _, s := range r.Sections {
		if s.Key == key {
			return s.Table
		}
	}
	t.Fatalf("no section %q", key)
	return nil
}

// Cell is a cell of a table by row and column key.
func Cell(t testing.TB, table *report.Table, row int, column string) report.Cell {
	t.Helper()
	for i, c := range table.Columns {
		if c.Key == column {
			return table.Cell(row, i)
		}
	}
	t.Fatalf("no column %q", column)
	return nil
}

// Estimate is the estimate in a cell.
func Estimate(t testing.TB, table *report.Table, row int, column string) scoring.Estimate {
	t.Helper()
	e, ok := Cell(t, table, row, column).(report.Estimated)
	if !ok {
		t.Fatalf("%s in row %d is no estimate", column, row)
	}
	return e.Estimate
}

// Text is a report as a terminal shows it that is wide enough for every row.
func Text(t testing.TB, r report.Report) string {
	t.Helper()
	var b strings.Builder
	if err := report.Write(&b, r, report.FormatText, report.Layout{Width: 500}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// Wants fails for everything that a text does not say.
func Wants(t testing.TB, text string, all ...string) {
	t.Helper()
	for _, want := range all {
		if !strings.Contains(text, want) {
			t.Errorf("the report does not say %q:\n%s", want, text)
		}
	}
}

// Sheet is a built-in library as daylight shows it.
func Sheet(t testing.TB, library string) *tabs.Sheet {
	t.Helper()
	l, err := tabs.Load(library)
	if err != nil {
		t.Fatal(err)
	}
	return tabs.NewSheet(l, nil)
}

// Fits checks that no line of a text takes more than so many cells of a terminal.
func Fits(t testing.TB, name, text string, cells int) {
	t.Helper()
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		if w := twwidth.Width(line); w > cells {
			t.Errorf("%s has a line of %d cells, more than %d: %s", name, w, cells, line)
		}
	}
}
