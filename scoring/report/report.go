// Package report holds what a report says as one value, and the writers that
// put it on paper: text, CSV, JSON and HTML. Since all write the same value,
// they cannot disagree.
package report

import "shadedrill/scoring"

// Report is a titled list of tables and plots.
type Report struct {
	Title    string
	Lead     []string // a sentence or two above the first table
	Sections []Section
	Cautions []string // printed at the end of every format that has an end
}

// Section is a table, a plot or both, under a heading.
type Section struct {
	Key   string // names the section in JSON and files: "bias"
	Title string
	Table *Table
	Plots []Plot
	Notes []string // footnotes
}

// Table is columns and rows of cells.
type Table struct {
	Columns []Column
	Rows    [][]Cell
}

// Column has a key for machines and a title for people.
type Column struct {
	Key   string // "dE00": CSV header and JSON name
	Title string // "ΔE00"
	Left  bool   // text is set left, numbers right
}

// Cell is one of Text, Number, Estimate, Count or Empty.
type Cell interface{ cell() }

// Text is words.
type Text string

// Number is a number with the decimals people are shown; machines get all.
type Number struct {
	Value    float64
	Decimals int
	Signed   bool // people are shown + before a positive number
}

// Count is a whole number.
type Count int

// Estimated is a statistic; writers print its interval with it and its
// warnings as numbered footnotes of the table.
type Estimated struct {
	scoring.Estimate
	Decimals int
	Signed   bool
	Percent  bool // shown as a percentage
}

// Empty is a cell without content.
type Empty struct{}

func (Text) cell()      {}
func (Number) cell()    {}
func (Count) cell()     {}
func (Estimated) cell() {}
func (Empty) cell()     {}

// Plot is a figure; the text writer leaves it out or draws it in characters.
type Plot struct {
	Key, Title     string
	XTitle, YTitle string
	Series         []Series
	Bands          []Band // shaded ranges of y with a name
	// Matrix is set for a heat map; Series is then empty.
	Matrix *Matrix
}

// Series is a line, points, or a box.
type Series struct {
	Name  string
	Style Style
	X, Y  []float64
	Lo    []float64 // optional interval around Y
	Hi    []float64
}

// Style says how a series is drawn.
type Style int

const (
	Line Style = iota
	Points
	LineWithBand
	Box // Y holds minimum, lower quartile, median, upper quartile, maximum at X[0]
)

// Band is a shaded range of y.
type Band struct {
	From, To float64
	Name     string
}

// Matrix is a table of counts drawn as a heat map with numbers.
type Matrix struct {
	RowTitle, ColumnTitle string
	Rows, Columns         []string
	Values                [][]float64
}
