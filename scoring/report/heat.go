package report

import (
	"fmt"
	"html"
	"math"
)

func escape(words string) string { return html.EscapeString(Clean(words)) }

// heatMap draws a matrix with its numbers in the cells. Darkness alone carries
// the size, so that nothing depends on telling hues apart or on a colour printer.
func heatMap(p Plot) string {
	m := p.Matrix
	longest := 0
	for _, r := range m.Rows {
		longest = max(longest, len([]rune(Clean(r))))
	}
	longest = min(longest, 16)
	left := 30 + letter*float64(longest)
	right, top := pictureWidth-10, 26.0
	columns, rows := max(len(m.Columns), 1), max(len(m.Rows), 1)
	width := (right - left) / float64(columns)
	height := math.Max(16, math.Min(30, 300/float64(rows)))
	bottom := top + height*float64(rows)

	span := newExtent()
	for _, row := range m.Values {
		span.add(row...)
	}
	var s svg
	s.text(left, 15, "start", `font-weight="600"`, shorten(p.Title, int((right-left)/letter)))
	size := math.Min(11, width/3.2)
	for i, row := range m.Values {
		if i >= len(m.Rows) {
			break
		}
		y := top + height*float64(i)
		s.text(left-5, y+height/2+4, "end", `font-size="11"`, shorten(m.Rows[i], longest))
		for j, v := range row {
			if j >= columns {
				break
			}
			x := left + width*float64(j)
			if math.IsNaN(v) || math.IsInf(v, 0) {
				s.rect(x, y, width, height, `fill="#fff" stroke="#eee"`)
				continue
			}
			fill, letters := shade(v, span, m.Grey)
			s.rect(x, y, width, height, fmt.Sprintf(`fill="%s" stroke="#fff"`, fill))
			if size >= 5 && (v != 0 || !m.Grey) {
				s.text(x+width/2, y+height/2+size*0.36, "middle", fmt.Sprintf(`font-size="%s" fill="%s"`, coordinate(size), letters), forPeople(v, m.Decimals, false))
			}
		}
	}
	longestColumn := 0
	for _, c := range m.Columns {
		longestColumn = max(longestColumn, min(len([]rune(Clean(c))), 16))
	}
	below := bottom + 16
	level := float64(longestColumn)*letter*0.9 < width
	for j, c := range m.Columns {
		x := left + width*(float64(j)+0.5)
		if level {
			s.text(x, below-2, "middle", `font-size="11"`, c)
			continue
		}
		s.add(`<text transform="translate(%s %s) rotate(-60)" text-anchor="end" font-size="10">%s</text>`, coordinate(x+3), coordinate(bottom+9), escape(shorten(c, 16)))
	}
	if !level {
		below = bottom + 10 + 4.8*float64(longestColumn)
	}
	s.text((left+right)/2, below+14, "middle", `font-size="11"`, shorten(m.ColumnTitle, 50))
	s.add(`<text transform="translate(12 %s) rotate(-90)" text-anchor="middle" font-size="11">%s</text>`, coordinate((top+bottom)/2), escape(shorten(m.RowTitle, 30)))
	return picture(p, below+24, s.b.String())
}

// shade mixes from near white to a dark blue, or grey, and says which letters can be read
// on it.
func shade(v float64, span extent, grey bool) (fill, letters string) {
	t := 0.0
	if span.hi > span.lo {
		t = (v - math.Min(0, span.lo)) / (span.hi - math.Min(0, span.lo))
	}
	light, dark := [3]float64{240, 246, 250}, [3]float64{0, 62, 110}
	if grey {
		light, dark = [3]float64{242, 242, 242}, [3]float64{60, 60, 60}
	}
	mixed := [3]int{}
	for i := range mixed {
		mixed[i] = int(math.Round(light[i] + t*(dark[i]-light[i])))
	}
	letters = ink
	if t > 0.5 {
		letters = "#fff"
	}
	return fmt.Sprintf("#%02x%02x%02x", mixed[0], mixed[1], mixed[2]), letters
}
