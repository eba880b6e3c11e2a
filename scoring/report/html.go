package report

import (
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"regexp"
	"slices"
	"strings"
	"sync"

	"shadedrill/colour"
)

//go:embed page.html
var pageSource string

// The template is read when a page is first written, so that no other command
// waits for it.
var page = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("page").Funcs(template.FuncMap{"unbroken": unbroken}).Parse(pageSource))
})

var flags = regexp.MustCompile(`--[a-z][a-z-]*`)

// unbroken keeps a command's flags whole where a line ends: a browser would break them
// behind their dashes.
func unbroken(words string) any {
	if !flags.MatchString(words) {
		return words // which the template escapes
	}
	return template.HTML(flags.ReplaceAllString(template.HTMLEscapeString(words), `<span class="flag">$0</span>`))
}

// writeHTML writes one file that stands for itself: style and pictures are in
// it, nothing is loaded, no script runs. On a narrow screen each row of a table
// becomes a list of its cells; in print the pictures keep their shades.
func writeHTML(w io.Writer, r Report, l Layout) error {
	v := pageView{Back: l.Back, Choice: l.Choice, As: l.As, Landscape: r.Landscape, Title: Clean(r.Title), Lead: cleaned(r.Lead), Cautions: cleaned(r.Cautions), Sign: cleaned(r.Sign)}
	if v.Title == "" {
		v.Title = "Report"
	}
	var err error
	if v.Sections, err = sideBySide(r.Sections, writeSection); err != nil {
		return err
	}
	return page().Execute(w, v)
}

// rowsTogether is how many rows of a table are written as one.
const rowsTogether = 100

func writeSection(s Section) (template.HTML, error) {
	v := viewSection(s)
	if t := v.Table; t != nil {
		var err error
		t.Body, err = sideBySide(slices.Collect(slices.Chunk(t.rows, rowsTogether)), func(rows [][]cellView) (template.HTML, error) {
			return executed("rows", rows)
		})
		if err != nil {
			return "", err
		}
	}
	return executed("section", v)
}

// executed is what a part of the page becomes, which escapes the words in it.
func executed(part string, of any) (template.HTML, error) {
	var b strings.Builder
	err := page().ExecuteTemplate(&b, part, of)
	return template.HTML(b.String()), err
}

// sideBySide writes parts at once: the tables of a large class have thousands of cells. A
// panic over one is the caller's, who can take it.
func sideBySide[T any](list []T, write func(T) (template.HTML, error)) ([]template.HTML, error) {
	written, errs, panics := make([]template.HTML, len(list)), make([]error, len(list)), make([]any, len(list))
	var all sync.WaitGroup
	for i, s := range list {
		all.Go(func() {
			defer func() { panics[i] = recover() }()
			written[i], errs[i] = write(s)
		})
	}
	all.Wait()
	for _, p := range panics {
		if p != nil {
			panic(p)
		}
	}
	return written, errors.Join(errs...)
}

type pageView struct {
	Landscape      bool
	Title          string
	Lead, Cautions []string
	Sign           []string
	Sections       []template.HTML
	Back, Choice   Link
	As             []Link
}

type sectionView struct {
	Key, Title string
	Table      *tableView
	NewPage    bool
	Plots      []template.HTML
	Notes      []noteView
}

type tableView struct {
	Columns []Column
	rows    [][]cellView
	Body    []template.HTML // the rows
	None    string
	Class   string // how it is set
}

// mostStacked is how many rows become lists of their cells on a narrow screen: more
// would be a column without end, and are scrolled sideways instead.
const mostStacked = 12

type cellView struct {
	Title           string
	Left, Empty     bool
	Short           bool // a word or two, which need no room on a narrow screen
	Words, Interval string
	Hex             template.CSS
	Spark           template.HTML
	Marks           []noteView
}

type noteView struct {
	ID     string
	Number int
	Words  string
}

func viewSection(s Section) sectionView {
	v := sectionView{NewPage: s.NewPage, Key: Clean(s.Key), Title: Clean(s.Title)}
	for _, p := range s.Plots {
		v.Plots = append(v.Plots, template.HTML(SVG(p))) // the picture escapes its own words
	}
	if s.Table != nil {
		notes := footnotes{}
		v.Table = viewTable(s.Table, &notes, v.Key)
		for i, words := range notes.texts {
			v.Notes = append(v.Notes, noteView{noteID(v.Key, i+1), i + 1, words})
		}
		if words := levelNote(s.Table); words != "" {
			v.Notes = append(v.Notes, noteView{Words: words})
		}
	}
	for _, n := range s.Notes {
		v.Notes = append(v.Notes, noteView{Words: Clean(n)})
	}
	return v
}

func noteID(section string, n int) string { return fmt.Sprintf("%s-note-%d", section, n) }

func viewTable(t *Table, notes *footnotes, key string) *tableView {
	v := &tableView{None: Clean(t.None)}
	switch {
	case t.Halves:
		v.Class = "stacked halves"
	case t.Stacked:
		v.Class = "stacked"
	case t.Compact:
		v.Class = "compact"
	case len(t.Rows) > mostStacked:
		v.Class = "long"
	}
	if v.None == "" {
		v.None = "none"
	}
	t = t.shown()
	for _, c := range t.Columns {
		c.Title = Clean(c.Title)
		v.Columns = append(v.Columns, c)
	}
	for row := range t.Rows {
		var cells []cellView
		for i, c := range t.Columns {
			content := t.Cell(row, i)
			cell := cellView{Title: Clean(c.Title), Left: c.Left, Words: words(content)}
			switch content := content.(type) {
			case Swatch:
				cell.Hex = template.CSS(colour.SRGB(content).Hex())
			case Shade:
				cell.Hex = template.CSS(colour.SRGB(content).Hex())
			case Spark:
				cell.Words, cell.Spark = "", content.picture()
			case Estimated:
				cell.Words, cell.Interval = content.parts()
			}
			for _, m := range notes.marks(content) {
				cell.Marks = append(cell.Marks, noteView{ID: noteID(key, m), Number: m})
			}
			cell.Short = len([]rune(cell.Words)) <= 24
			cell.Empty = cell.Words == "" && cell.Spark == ""
			cells = append(cells, cell)
		}
		v.rows = append(v.rows, cells)
	}
	return v
}

func cleaned(list []string) []string {
	var out []string
	for _, s := range list {
		out = append(out, Clean(s))
	}
	return out
}
