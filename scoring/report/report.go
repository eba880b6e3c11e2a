// Package report holds what a report says as one value, and the writers that
// put it on paper: text, CSV, JSON and HTML. Since all write the same value,
// they cannot disagree.
package report

import (
	"shadedrill/colour"
	"shadedrill/scoring"
)

// Report is a titled list of tables and plots.
type Report struct {
	Title    string
	Lead     []string // a sentence or two above the first table
	Sections []Section
	Cautions []string // printed at the end of every format that has an end
	// List says that this is the answer to a plain question and holds one table
	// with any number of rows: JSON is then the bare array of those rows.
	List bool
}

// Section is a table, a plot or both, under a heading.
type Section struct {
	Key   string // names the section in JSON and CSV: "bias"; not "title" or "cautions"
	Title string
	Table *Table
	Plots []Plot
	Notes []string // how to read it, printed below
}

// Table is columns and rows of cells. A row may be shorter than Columns; what
// is missing is Empty.
type Table struct {
	Columns []Column
	Rows    [][]Cell
	None    string // what people read when there are no rows; "none" if empty
}

// Column has a key for machines and a title for people.
type Column struct {
	Key   string // "dE00": CSV header and JSON name
	Title string // "ΔE00"
	Left  bool   // text is set left, numbers right
	// Estimates says that the column holds statistics, so that CSV gives it its
	// further columns even when the table has no rows.
	Estimates bool
}

// Cell is one of Text, Word, Swatch, Number, Estimated, Count, Yes or Empty.
type Cell interface{ cell() }

// Text is words.
type Text string

// Word is one of a fixed set of words: machines get its key, people what it
// means.
type Word struct{ Key, Shown string }

// Swatch is a colour as a screen shows it.
type Swatch colour.SRGB

// Number is a number with the decimals people are shown; machines get ten
// digits. One that is not finite is shown as a dash and is null to machines.
type Number struct {
	Value    float64
	Decimals int
	Signed   bool // people are shown + before a positive number
}

// Count is a whole number.
type Count int

// Yes is yes or no.
type Yes bool

// Estimated is a statistic; writers print its interval with it and its
// warnings as numbered footnotes of the table.
type Estimated struct {
	scoring.Estimate
	Decimals int
	Signed   bool
	Percent  bool // a share of 0..1, shown to people as a percentage
}

// Empty is a cell without content.
type Empty struct{}

func (Text) cell()      {}
func (Word) cell()      {}
func (Swatch) cell()    {}
func (Number) cell()    {}
func (Count) cell()     {}
func (Yes) cell()       {}
func (Estimated) cell() {}
func (Empty) cell()     {}

// Cell returns the cell in the given row and column.
func (t *Table) Cell(row, column int) Cell {
	if column >= len(t.Rows[row]) || t.Rows[row][column] == nil {
		return Empty{}
	}
	return t.Rows[row][column]
}

// estimates reports whether a column holds statistics.
func (t *Table) estimates(column int) bool {
	if t.Columns[column].Estimates {
		return true
	}
	for row := range t.Rows {
		if _, ok := t.Cell(row, column).(Estimated); ok {
			return true
		}
	}
	return false
}

// Tables lists the sections that have a table.
func (r Report) Tables() []Section {
	var list []Section
	for _, s := range r.Sections {
		if s.Table != nil {
			list = append(list, s)
		}
	}
	return list
}

// Plot is a figure. The text writer leaves it out unless InText asks for a
// [Sketch] of it.
type Plot struct {
	Key, Title     string
	XTitle, YTitle string
	// XNames are set where x counts named places, 0 the first: sittings, people.
	XNames []string
	Series []Series
	Bands  []Band // shaded ranges of y with a name
	Rules  []Rule // lines across the whole plot with a name: a threshold, a limit of agreement
	// Matrix is set for a heat map; Series is then empty.
	Matrix *Matrix
	InText bool
}

// Series is a line, points, or a box.
type Series struct {
	Name  string
	Style Style
	X, Y  []float64
	Lo    []float64 // optional interval around Y
	Hi    []float64
	// Weight says how much stands behind each point, such as its trials; the
	// area of the point follows it. Optional.
	Weight []float64
	// Labels are written above the points of a line, such as how many people stand
	// behind each. Optional.
	Labels []string
	// Beyond are the values beyond the whiskers of a box.
	Beyond []float64
}

// Style says how a series is drawn.
type Style int

const (
	Line Style = iota
	Points
	LineWithBand
	LineWithWhiskers // a whisker through each point; NaN breaks the line
	Box              // Y holds lower whisker, lower quartile, median, upper quartile, upper whisker at X[0]; see BoxNumbers
)

// Band is a shaded range of y.
type Band struct {
	From, To float64
	Name     string
}

// Rule is a straight line across the plot, at one y or, Upright, at one x.
type Rule struct {
	At      float64
	Upright bool
	Name    string
}

// Matrix is a table of numbers drawn as a heat map with the numbers in it. NaN
// is a place without a number.
type Matrix struct {
	RowTitle, ColumnTitle string
	Rows, Columns         []string
	Values                [][]float64
	Decimals              int
}
