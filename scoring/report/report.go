// Package report holds what a report says as one value, and the writers that
// put it on paper: text, CSV, JSON and HTML. Since all write the same value,
// they cannot disagree.
package report

import (
	"slices"

	"shadedrill/colour"
	"shadedrill/scoring"
)

// Report is a titled list of tables and plots.
type Report struct {
	Title string
	Lead  []string // a sentence or two above the first table
	// Commands are further lines above the first table that name what to type.
	Commands []string
	Sections []Section
	Cautions []string // printed at the end of every format that has an end
	// Sign are places to sign, named below their lines. A page that has some is printed
	// as one: small, on one sheet of paper.
	Sign []string
	// List says that this is the answer to a plain question and holds one table
	// with any number of rows: CSV is then that table as it stands.
	List bool
	// Landscape is how it is printed: for tables of many columns.
	Landscape bool
}

// Section is a table, a plot or both, under a heading.
type Section struct {
	Key   string // names the section in JSON and CSV: "bias"; not "title", "version" or "cautions"
	Title string
	Table *Table
	Plots []Plot
	Notes []string // how to read it, printed below
	// Commands are further notes, that name what to type.
	Commands []string
	// NewPage begins it on a new page when it is printed.
	NewPage bool
}

// Table is columns and rows of cells. A row may be shorter than Columns; what
// is missing is Empty.
type Table struct {
	Columns []Column
	Rows    [][]Cell
	None    string // what people read when there are no rows; "none" if empty
	// Compact sets short rows side by side on a page, so that a whole class fits on a
	// sheet; Halves does that in print with rows of some words, two side by side.
	Compact, Halves bool
	// Stacked sets the cells of a row one below the other on a narrow screen, however many
	// rows there are, as does Halves.
	Stacked bool
}

// Column has a key for machines and a title for people.
type Column struct {
	Key   string // "dE00": CSV header and JSON name
	Title string // "ΔE00"
	Left  bool   // text is set left, numbers right
	// Estimates says that the column holds statistics, so that CSV gives it its
	// further columns even when the table has no rows.
	Estimates bool
	// Hidden columns are for machines: people are not shown a column that says the same
	// in every row.
	Hidden bool
	// Command columns name what to type.
	Command bool
}

// Cell is one of Text, Word, Swatch, Shade, Spark, Number, Estimated, Count, Yes or Empty.
type Cell interface{ cell() }

// Text is words.
type Text string

// Word is one of a fixed set of words: machines get its key, people what it
// means.
type Word struct{ Key, Shown string }

// Swatch is a colour as a screen shows it.
type Swatch colour.SRGB

// Shade is a colour as a screen shows it, which people are told by lightness, chroma and
// hue; machines get the bytes, as of a Swatch.
type Shade colour.SRGB

// Spark is a row of values as a line of a word's size, from 0 up to Top: sparks of one
// top can be compared. Machines get the values.
type Spark struct {
	Values []float64
	Top    float64
}

// Number is a number with the decimals people are shown; machines get ten
// digits. One that is not finite is shown as a dash and is null to machines.
type Number struct {
	Value    float64
	Decimals int
	Signed   bool // people are shown + before a positive number
	Percent  bool // a share of 0..1, shown to people times 100 below a title that says %
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
func (Shade) cell()     {}
func (Spark) cell()     {}
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

// HideUniform hides from people those of the named columns in which no row has
// anything to say: all cells are words, and the same, or all are empty.
func (t *Table) HideUniform(keys ...string) {
	for i := range t.Columns {
		if len(t.Rows) < 2 || !slices.Contains(keys, t.Columns[i].Key) {
			continue
		}
		hidden := true
		for row := range t.Rows {
			switch c := t.Cell(row, i).(type) {
			case Word, Text, Empty:
				hidden = hidden && c == t.Cell(0, i)
			default:
				hidden = false
			}
		}
		t.Columns[i].Hidden = hidden
	}
}

// Shows reports whether people see the named column.
func (t *Table) Shows(key string) bool {
	return slices.ContainsFunc(t.Columns, func(c Column) bool { return c.Key == key && !c.Hidden })
}

// told is the report as a reader gets it: the lines that name commands stand with the
// others, or are left out for readers who have no command line.
func (r Report) told(commands bool) Report {
	if commands {
		r.Lead = slices.Concat(r.Lead, r.Commands)
	}
	r.Sections = slices.Clone(r.Sections)
	for i := range r.Sections {
		s := &r.Sections[i]
		if commands {
			s.Notes = slices.Concat(s.Notes, s.Commands)
		} else if s.Table != nil {
			s.Table = s.Table.without(func(c Column) bool { return c.Command })
		}
	}
	return r
}

// shown is the table as people get it, without its hidden columns.
func (t *Table) shown() *Table { return t.without(func(c Column) bool { return c.Hidden }) }

func (t *Table) without(left func(Column) bool) *Table {
	if !slices.ContainsFunc(t.Columns, left) {
		return t
	}
	s := *t
	s.Columns, s.Rows = nil, make([][]Cell, len(t.Rows))
	for i, c := range t.Columns {
		if left(c) {
			continue
		}
		s.Columns = append(s.Columns, c)
		for row := range t.Rows {
			s.Rows[row] = append(s.Rows[row], t.Cell(row, i))
		}
	}
	return &s
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

// tables lists the sections that have a table.
func (r Report) tables() []Section {
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
	// Cover are values that the y axis takes in whatever is drawn: plots side by side
	// share a scale.
	Cover []float64
	Bands []Band // shaded ranges of y with a name
	Rules []Rule // lines across the whole plot with a name: a threshold, a limit of agreement
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
	// Shade is the tone it has, from 1, so that one meaning has one tone on a page; 0
	// takes the next.
	Shade int
}

// Tones of bands with a meaning of their own.
const (
	ShadePerceptible = 1
	ShadeAcceptable  = 2
	ShadeOther       = 3
)

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
	Grey                  bool // shaded in greys, and 0 has no number: a calendar
}
