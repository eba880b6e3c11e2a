package report

import (
	"math"
	"strings"

	"github.com/olekukonko/tablewriter/pkg/twwidth"
)

// Sketch draws a chart in characters, width cells wide and height lines high
// besides its labels. Lines are dots of braille, two by four in a cell; each
// series' points have a mark of their own. Boxes and matrices are not drawn:
// their tables say the same.
func Sketch(p Plot, width, height int) []string {
	if p.Matrix != nil || width < 30 || height < 4 {
		return nil
	}
	c := newChart(p)
	label := 0
	for _, v := range c.y.ticks {
		label = max(label, len([]rune(c.y.label(v))))
	}
	s := &sketch{width: width - label - 2, height: height, left: label}
	s.cells = make([][]rune, height)
	for i := range s.cells {
		s.cells[i] = []rune(strings.Repeat(" ", s.width))
	}
	s.x, s.y = c.x, c.y
	s.x.from, s.x.to = 0, float64(2*s.width-1)
	s.y.from, s.y.to = float64(4*height-1), 0
	for i, r := range p.Rules {
		s.rule(i, r)
	}
	for _, series := range p.Series {
		if series.Style == Line || series.Style == LineWithBand {
			s.line(series)
		}
	}
	for i, series := range p.Series {
		if series.Style == Points || series.Style == LineWithBand {
			s.points(i, series)
		}
	}
	return s.lines(p)
}

type sketch struct {
	x, y                scale
	width, height, left int
	cells               [][]rune
}

const brailleBlank = 0x2800

// Neighbouring rules are drawn differently.
var (
	uprightRules = []rune{'┊', '╎'}
	levelRules   = []rune{'┄', '╌'}
)

// brailleBits are the dots of a cell, by column and row (Unicode, block Braille
// Patterns).
var brailleBits = [2][4]rune{{0x01, 0x02, 0x04, 0x40}, {0x08, 0x10, 0x20, 0x80}}

var pointMarks = []rune{'●', '■', '▲', '◆'}

// dot sets one dot; x runs to 2·width, y to 4·height.
func (s *sketch) dot(x, y int) {
	if x < 0 || y < 0 || x >= 2*s.width || y >= 4*s.height {
		return
	}
	at := &s.cells[y/4][x/2]
	if *at < brailleBlank || *at > brailleBlank+0xff {
		*at = brailleBlank
	}
	*at |= brailleBits[x%2][y%4]
}

func (s *sketch) rule(i int, r Rule) {
	if math.IsNaN(r.At) || math.IsInf(r.At, 0) {
		return
	}
	if r.Upright {
		for y := range s.height {
			s.cells[y][int(s.x.at(r.At))/2] = uprightRules[i%2]
		}
		return
	}
	for x := range s.width {
		s.cells[int(s.y.at(r.At))/4][x] = levelRules[i%2]
	}
}

// line joins neighbouring places dot by dot; a gap in the data parts it.
func (s *sketch) line(series Series) {
	n := min(len(series.X), len(series.Y))
	for i := 1; i < n; i++ {
		if !isFinite(series.Y[i-1]) || !isFinite(series.Y[i]) {
			continue
		}
		x0, y0 := s.x.at(series.X[i-1]), s.y.at(series.Y[i-1])
		x1, y1 := s.x.at(series.X[i]), s.y.at(series.Y[i])
		steps := int(math.Ceil(math.Max(math.Abs(x1-x0), math.Abs(y1-y0)))) + 1
		for k := range steps + 1 {
			t := float64(k) / float64(steps)
			s.dot(int(math.Round(x0+t*(x1-x0))), int(math.Round(y0+t*(y1-y0))))
		}
	}
}

func (s *sketch) points(i int, series Series) {
	for j := range min(len(series.X), len(series.Y)) {
		if isFinite(series.Y[j]) {
			s.cells[int(s.y.at(series.Y[j]))/4][int(s.x.at(series.X[j]))/2] = pointMarks[i%len(pointMarks)]
		}
	}
}

func isFinite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// lines puts axes, labels and legend around the cells.
func (s *sketch) lines(p Plot) []string {
	labels := map[int]string{}
	for _, v := range s.y.ticks {
		labels[int(s.y.at(v))/4] = s.y.label(v)
	}
	var out []string
	if p.Title != "" {
		out = append(out, Wrap(Clean(p.Title), s.left+s.width)...)
	}
	if p.YTitle != "" {
		out = append(out, Wrap(Clean(p.YTitle), s.left+s.width)...)
	}
	for y, row := range s.cells {
		edge := "│"
		if labels[y] != "" {
			edge = "┤"
		}
		out = append(out, strings.Repeat(" ", s.left-len([]rune(labels[y])))+labels[y]+edge+strings.TrimRight(string(row), " "))
	}
	axis, below := []rune(strings.Repeat("─", s.width)), []rune(strings.Repeat(" ", s.width))
	free := 0 // where the next label may begin
	for _, v := range s.x.ticks {
		at := int(s.x.at(v)) / 2
		axis[at] = '┬'
		text := []rune(s.x.label(v))
		from := min(max(0, at-len(text)/2), s.width-len(text))
		if from < free {
			continue
		}
		copy(below[from:], text)
		free = from + len(text) + 1
	}
	margin := strings.Repeat(" ", s.left)
	out = append(out, margin+"└"+string(axis), margin+" "+strings.TrimRight(string(below), " "))
	if p.XTitle != "" {
		title := shorten(p.XTitle, s.width)
		out = append(out, margin+" "+strings.Repeat(" ", max(0, (s.width-twwidth.Width(title))/2))+title)
	}
	return append(out, s.legend(p, margin+" ")...)
}

func (s *sketch) legend(p Plot, margin string) []string {
	var list []string
	for i, series := range p.Series {
		mark := "⠒⠒"
		switch series.Style {
		case Points, LineWithBand:
			mark = string(pointMarks[i%len(pointMarks)])
		case Box:
			continue
		}
		if series.Name != "" {
			list = append(list, margin+mark+" "+shorten(series.Name, s.width-4))
		}
	}
	for i, r := range p.Rules {
		mark := string(levelRules[i%2])
		if r.Upright {
			mark = string(uprightRules[i%2])
		}
		if r.Name != "" {
			list = append(list, margin+mark+" "+shorten(r.Name, s.width-4))
		}
	}
	return list
}
