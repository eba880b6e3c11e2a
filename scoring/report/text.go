package report

import (
	"bytes"
	"io"
	"slices"
	"strings"

	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/pkg/twwidth"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"
)

// writeText writes a report for people. Nothing is cut off: a table that is
// wider than the paper has its words wrapped at blanks, and if that is not enough
// it goes on below, with the columns that name its rows again. Its notes stand
// below all of it, numbered once.
func writeText(w io.Writer, r Report, l Layout) error {
	var b bytes.Buffer
	width := l.Width
	if width <= 0 {
		width = unknownWidth
	}
	width = max(width, leastWidth)
	if r.Title != "" {
		paragraph(&b, Clean(r.Title), width, "", "")
		b.WriteByte('\n')
	}
	for _, line := range r.Lead {
		paragraph(&b, Clean(line), width, "", "")
	}
	if len(r.Lead) > 0 {
		b.WriteByte('\n')
	}
	for _, s := range r.Sections {
		drawings := sketches(s.Plots, width)
		if s.Table == nil && len(drawings) == 0 && (len(s.Notes) == 0 || len(s.Plots) > 0) {
			continue // nothing, or pictures and how to read them
		}
		if s.Title != "" {
			paragraph(&b, Clean(s.Title), width, "", "")
			b.WriteByte('\n')
		}
		var below []string
		if s.Table != nil {
			notes := footnotes{}
			if err := textTable(&b, s.Table, &notes, width); err != nil {
				return err
			}
			for i, text := range notes.texts {
				below = append(below, raised([]int{i + 1})+" "+text)
			}
			if level := levelNote(s.Table); level != "" {
				below = append(below, level)
			}
		}
		for _, n := range s.Notes {
			below = append(below, Clean(n))
		}
		for i, drawing := range drawings {
			if i > 0 || s.Table != nil {
				b.WriteByte('\n')
			}
			b.WriteString(strings.Join(drawing, "\n") + "\n")
			if len(below) > 0 {
				b.WriteByte('\n')
			}
		}
		for _, n := range below {
			paragraph(&b, n, width, "  ", "    ")
		}
		b.WriteByte('\n')
	}
	for _, c := range r.Cautions {
		paragraph(&b, Clean(c), width, "", "")
	}
	for line := range bytes.Lines(bytes.TrimRight(b.Bytes(), "\n")) {
		if _, err := w.Write(append(bytes.TrimRight(line, " \n"), '\n')); err != nil {
			return err
		}
	}
	return nil
}

const (
	widestSketch = 76
	sketchHeight = 14
)

// sketches draws the plots that ask for it.
func sketches(plots []Plot, width int) [][]string {
	var list [][]string
	for _, p := range plots {
		if !p.InText {
			continue
		}
		if lines := Sketch(p, min(width, widestSketch), sketchHeight); lines != nil {
			list = append(list, lines)
		}
	}
	return list
}

// paragraph writes text wrapped to the width.
func paragraph(b *bytes.Buffer, text string, width int, first, others string) {
	indent := first
	for _, line := range Wrap(text, width-len(others)) {
		b.WriteString(indent + line + "\n")
		indent = others
	}
}

const (
	// Common practice, no source, all of them.
	unknownWidth = 100 // where nobody knows how wide the paper is
	leastWidth   = 40  // narrower paper is written on as if it were so wide
	columnGap    = 2   // blank cells after each column
	leastColumn  = 12  // words are not wrapped to less than this
)

// textTable lays a table out and has it drawn.
func textTable(b *bytes.Buffer, t *Table, notes *footnotes, width int) error {
	if len(t.Rows) == 0 {
		none := Clean(t.None)
		if none == "" {
			none = "none"
		}
		paragraph(b, none, width, "  ", "  ")
		return nil
	}
	t = t.shown()
	header := make([]string, len(t.Columns))
	rows := make([][]string, len(t.Rows))
	for i, c := range t.Columns {
		header[i] = Clean(c.Title)
	}
	marked := make([]int, len(t.Columns)) // widest footnote marks of a column
	marks := make([][]string, len(t.Rows))
	for r := range t.Rows {
		rows[r], marks[r] = make([]string, len(t.Columns)), make([]string, len(t.Columns))
		for c := range t.Columns {
			rows[r][c] = words(t.Cell(r, c))
			marks[r][c] = raised(notes.marks(t.Cell(r, c)))
			marked[c] = max(marked[c], twwidth.Width(marks[r][c]))
		}
	}
	// The marks hang to the right, so that the digits stay below each other.
	for r := range rows {
		for c := range rows[r] {
			hang := marked[c] - twwidth.Width(marks[r][c])
			rows[r][c] += marks[r][c] + strings.Repeat(" ", hang)
		}
	}
	header, rows, widths := fit(header, rows, t.Columns, width)
	for i, block := range blocks(widths, naming(rows, widths, width), width) {
		if i > 0 {
			b.WriteByte('\n')
		}
		if err := draw(b, block, t.Columns, header, rows); err != nil {
			return err
		}
	}
	return nil
}

// measure returns the widest line of each column.
func measure(header []string, rows [][]string) []int {
	widths := make([]int, len(header))
	for c := range header {
		for line := range strings.Lines(header[c]) {
			widths[c] = max(widths[c], twwidth.Width(strings.TrimSuffix(line, "\n")))
		}
		for _, row := range rows {
			for line := range strings.Lines(row[c]) {
				widths[c] = max(widths[c], twwidth.Width(strings.TrimSuffix(line, "\n")))
			}
		}
	}
	return widths
}

func total(widths []int) int {
	sum := -columnGap
	for _, w := range widths {
		sum += w + columnGap
	}
	return sum
}

// fit wraps what must be wrapped for the table to fit: headers that are wider
// than their numbers, then the columns of words, the widest first. Numbers are
// never wrapped. If the table cannot fit by wrapping, it will be parted, and
// then words may take half the width.
func fit(header []string, rows [][]string, columns []Column, width int) ([]string, [][]string, []int) {
	widths := measure(header, rows)
	if total(widths) <= width {
		return header, rows, widths
	}
	headers := make([]int, len(columns))
	for c := range columns {
		if columns[c].Left {
			headers[c] = widths[c]
			continue
		}
		for r := range rows {
			headers[c] = max(headers[c], twwidth.Width(rows[r][c]))
		}
	}
	// No word is broken that half the paper has room for.
	word := slices.Repeat([]int{width/2 - columnGap}, len(columns))
	header, _ = narrow(header, nil, columns, headers, word)
	widths = measure(header, rows)
	wanted := slices.Clone(widths)
	for excess := total(widths) - width; excess > 0; excess = total(widths) - width {
		widest := -1
		for c, col := range columns {
			if col.Left && wanted[c] > leastColumn && (widest < 0 || widths[c] > widths[widest]) {
				widest = c
			}
		}
		if widest < 0 {
			break
		}
		// A quarter at a time, so that no column is squeezed while another stays wide.
		wanted[widest] = max(leastColumn, wanted[widest]-min(excess, max(1, wanted[widest]/4)))
		c, one := widest, widest+1
		cells := make([][]string, len(rows)) // of that column alone
		for r := range rows {
			cells[r] = rows[r][c:one]
		}
		widths[c] = measure(narrow(header[c:one], cells, columns[c:one], wanted[c:one], word[c:one]))[0]
	}
	if total(widths) > width {
		for c := 1; c < len(columns); c++ {
			if columns[c].Left {
				wanted[c] = max(leastColumn, width/2-columnGap)
			}
		}
		others := 0 // what the first column has to leave room for
		if len(columns) > 1 {
			others = slices.Max(measure(narrow(header, rows, columns, wanted, word))[1:]) + columnGap
		}
		wanted[0] = max(leastColumn, width-others)
		word[0] = wanted[0]
	}
	header, rows = narrow(header, rows, columns, wanted, word)
	return header, rows, measure(header, rows)
}

// narrow wraps headers and columns of words to the wanted widths, but never
// inside a word that is not longer than the column's longest.
func narrow(header []string, rows [][]string, columns []Column, wanted, word []int) ([]string, [][]string) {
	wrapped := func(text string, c int) string {
		return strings.Join(Wrap(text, max(wanted[c], min(longest(text), word[c]))), "\n")
	}
	newHeader, newRows := make([]string, len(header)), make([][]string, len(rows))
	for c := range header {
		newHeader[c] = wrapped(header[c], c)
	}
	for r := range rows {
		newRows[r] = slices.Clone(rows[r])
		for c := range columns {
			if columns[c].Left {
				newRows[r][c] = wrapped(rows[r][c], c)
			}
		}
	}
	return newHeader, newRows
}

// longest returns the width of the longest word.
func longest(text string) int {
	widest := 0
	for _, word := range strings.Fields(text) {
		widest = max(widest, twwidth.Width(word))
	}
	return widest
}

// blocks parts the columns so that each part fits, the columns that name the rows
// repeated.
func blocks(widths []int, names, width int) [][]int {
	var list [][]int
	var block []int
	used := 0
	for c, w := range widths {
		if len(block) > names && used+w > width {
			list = append(list, block)
			block, used = nil, 0
			for name := range names {
				block = append(block, name)
				used += widths[name] + columnGap
			}
		}
		block = append(block, c)
		used += w + columnGap
	}
	return append(list, block)
}

// naming is how many columns it takes from the first to tell the rows apart: "assignment 1"
// alone says of no item which it is. It is the first alone where no more would help, or
// where they would take more than half of the width or leave too little for a column.
func naming(rows [][]string, widths []int, width int) int {
	for names := 1; names < len(widths); names++ {
		if used := total(widths[:names]); used > min(width/2, width-columnGap-slices.Max(widths[names:])) {
			break
		}
		seen := map[string]bool{}
		for _, row := range rows {
			seen[strings.Join(row[:names], "\x00")] = true
		}
		if len(seen) == len(rows) {
			return names
		}
	}
	return 1
}

func draw(b *bytes.Buffer, block []int, columns []Column, header []string, rows [][]string) error {
	align := make([]tw.Align, len(block))
	gaps := make([]tw.Padding, len(block))
	for i, c := range block {
		align[i] = tw.AlignRight
		if columns[c].Left {
			align[i] = tw.AlignLeft
		}
		if i < len(block)-1 {
			gaps[i].Right = strings.Repeat(" ", columnGap)
		}
		gaps[i].Overwrite = true
	}
	pick := func(cells []string) []string {
		picked := make([]string, len(block))
		for i, c := range block {
			picked[i] = cells[c]
		}
		return picked
	}
	// Header formatting would turn "mean_dE00" into "MEAN D E 00".
	table := tablewriter.NewTable(b,
		tablewriter.WithRenderer(renderer.NewBlueprint(tw.Rendition{
			Borders: tw.BorderNone,
			Symbols: tw.NewSymbols(tw.StyleLight),
			Settings: tw.Settings{
				Separators: tw.Separators{BetweenColumns: tw.Off, BetweenRows: tw.Off, ShowHeader: tw.On},
				Lines:      tw.Lines{ShowHeaderLine: tw.On},
			},
		})),
		tablewriter.WithHeaderAutoFormat(tw.Off),
		tablewriter.WithTrimSpace(tw.Off),
		tablewriter.WithHeaderAlignmentConfig(tw.CellAlignment{PerColumn: align}),
		tablewriter.WithRowAlignmentConfig(tw.CellAlignment{PerColumn: slices.Clone(align)}),
		tablewriter.WithHeaderPaddingPerColumn(gaps),
		tablewriter.WithRowPaddingPerColumn(slices.Clone(gaps)),
		tablewriter.WithHeaderAutoWrap(tw.WrapNone),
		tablewriter.WithRowAutoWrap(tw.WrapNone),
	)
	table.Header(pick(header))
	for _, row := range rows {
		if err := table.Append(pick(row)); err != nil {
			return err
		}
	}
	return table.Render()
}
