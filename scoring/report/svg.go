package report

import (
	"fmt"
	"html"
	"math"
	"strings"
)

// A picture is 420 units wide, so that its 12-unit letters can be read on a
// telephone 360 pixels wide and do not shout on a page.
const (
	pictureWidth  = 420.0
	pictureHeight = 260.0
	letter        = 6.3 // width of an average letter at 12 units
	ink           = "#222"
	faint         = "#666"
	grid          = "#ddd"
)

// The colours of Okabe and Ito (Color Universal Design, 2008), which people with
// any of the colour deficiencies tell apart; in the order of their contrast to
// white. Every series has a shape and a stroke of its own as well.
var (
	hues    = []string{"#0072b2", "#d55e00", "#009e73", "#cc79a7", "#000000", "#e69f00", "#56b4e9"}
	strokes = []string{"", "6 3", "2 3", "8 3 2 3", "1 2", "10 4", "4 2"}
)

// svg collects elements of a picture.
type svg struct{ b strings.Builder }

func (s *svg) add(format string, args ...any) { fmt.Fprintf(&s.b, format+"\n", args...) }

func (s *svg) line(x1, y1, x2, y2 float64, style string) {
	s.add(`<line x1="%s" y1="%s" x2="%s" y2="%s" %s/>`, coordinate(x1), coordinate(y1), coordinate(x2), coordinate(y2), style)
}

func (s *svg) rect(x, y, w, h float64, style string) {
	s.add(`<rect x="%s" y="%s" width="%s" height="%s" %s/>`, coordinate(x), coordinate(y), coordinate(math.Max(0, w)), coordinate(math.Max(0, h)), style)
}

// text writes words; anchor is start, middle or end.
func (s *svg) text(x, y float64, anchor, style, words string) {
	s.add(`<text x="%s" y="%s" text-anchor="%s" %s>%s</text>`, coordinate(x), coordinate(y), anchor, style, html.EscapeString(Clean(words)))
}

// path joins places with straight lines; a gap in the data parts the line.
func (s *svg) path(places [][2]float64, style string) {
	var d strings.Builder
	pen := "M"
	for _, p := range places {
		if math.IsNaN(p[0]) || math.IsNaN(p[1]) {
			pen = "M"
			continue
		}
		d.WriteString(pen + coordinate(p[0]) + " " + coordinate(p[1]))
		pen = "L"
	}
	if d.Len() > 0 {
		s.add(`<path d="%s" %s/>`, d.String(), style)
	}
}

// mark draws the point of the given series: each has its own shape.
func (s *svg) mark(series int, x, y, r float64, style string) {
	switch series % 4 {
	case 0:
		s.add(`<circle cx="%s" cy="%s" r="%s" %s/>`, coordinate(x), coordinate(y), coordinate(r), style)
	case 1:
		s.rect(x-r, y-r, 2*r, 2*r, style)
	case 2:
		s.polygon(style, [2]float64{x, y - 1.2*r}, [2]float64{x + 1.1*r, y + 0.8*r}, [2]float64{x - 1.1*r, y + 0.8*r})
	default:
		s.polygon(style, [2]float64{x, y - 1.3*r}, [2]float64{x + 1.3*r, y}, [2]float64{x, y + 1.3*r}, [2]float64{x - 1.3*r, y})
	}
}

func (s *svg) polygon(style string, places ...[2]float64) {
	var list []string
	for _, p := range places {
		list = append(list, coordinate(p[0])+","+coordinate(p[1]))
	}
	s.add(`<polygon points="%s" %s/>`, strings.Join(list, " "), style)
}

// picture wraps elements in a drawing that scales with its page.
func picture(p Plot, height float64, body string) string {
	title := html.EscapeString(Clean(p.Title))
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" role="img" aria-label="%s" font-family="system-ui, sans-serif" font-size="12" fill="%s">
<title>%s</title>
%s</svg>
`, coordinate(pictureWidth), coordinate(height), title, ink, title, body)
}

// SVG draws a plot as a picture of its own.
func SVG(p Plot) string {
	if p.Matrix != nil {
		return heatMap(p)
	}
	return chart(p)
}

// shorten cuts words to at most n letters.
func shorten(words string, n int) string {
	runes := []rune(Clean(words))
	if len(runes) <= n {
		return string(runes)
	}
	return string(runes[:max(n-1, 1)]) + "…"
}
