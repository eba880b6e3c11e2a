package report

import (
	"fmt"
	"math"
)

// chart draws lines, points, boxes, bands and rules on two axes.
func chart(p Plot) string {
	c := newChart(p)
	c.drawBands(p.Bands)
	c.drawAxes(p)
	drawn := false
	for i, s := range p.Series {
		c.drawSeries(i, s)
		drawn = drawn || len(s.X) > 0
	}
	c.drawRules(p.Rules)
	if !drawn {
		c.text((c.left+c.right)/2, (c.top+c.bottom)/2, "middle", halo, "nothing to draw yet")
	}
	height := c.drawLegend(p)
	return picture(p, height, c.b.String())
}

type chartDrawing struct {
	svg
	x, y                     scale
	left, top, right, bottom float64
	names                    []string
	boxWidth                 float64
}

func newChart(p Plot) *chartDrawing {
	xs, ys := newExtent(), newExtent()
	boxes := 0
	ys.add(p.Cover...)
	for _, s := range p.Series {
		xs.add(s.X...)
		ys.add(s.Y...)
		ys.add(s.Lo...)
		ys.add(s.Hi...)
		ys.add(s.Beyond...)
		if s.Style == Box {
			boxes++
		}
	}
	for _, b := range p.Bands {
		// A band is a background: it may be open, and then ends with the data.
		if len(p.Series) == 0 || b.To <= ys.hi*1.5 {
			ys.add(b.From, b.To)
		}
	}
	for _, r := range p.Rules {
		if r.Upright {
			xs.add(r.At)
		} else {
			ys.add(r.At)
		}
	}
	if ys.lo >= 0 && ys.lo < ys.hi/2 { // a length is best seen from 0
		ys.add(0)
	}
	c := &chartDrawing{left: 46, top: 26, right: pictureWidth - 10, bottom: pictureHeight - 40, names: p.XNames}
	c.y = newScale(ys.lo, ys.hi, 5, true)
	if len(p.XNames) > 0 {
		c.x = scale{lo: -0.5, hi: float64(len(p.XNames)) - 0.5}
	} else {
		pad := (xs.hi - xs.lo) * 0.03
		if !(pad > 0) {
			pad = 0.5
		}
		c.x = newScale(xs.lo-pad, xs.hi+pad, 7, false)
		whole := true
		for _, s := range p.Series {
			for _, v := range s.X {
				whole = whole && v == math.Trunc(v)
			}
		}
		if whole { // sittings are counted: no tick at one and a half
			c.x = countingScale(xs.lo-pad, xs.hi+pad)
		}
	}
	longestLabel := 0
	for _, v := range c.y.ticks {
		longestLabel = max(longestLabel, len([]rune(c.y.label(v))))
	}
	c.left = 26 + letter*float64(longestLabel)
	c.x.from, c.x.to = c.left, c.right
	c.y.from, c.y.to = c.bottom, c.top
	c.boxWidth = math.Min(36, 0.6*(c.right-c.left)/math.Max(float64(max(boxes, len(p.XNames))), 1))
	return c
}

func countingScale(lo, hi float64) scale {
	step := math.Max(1, niceStep((hi-lo)/7))
	s := scale{lo: lo, hi: hi}
	for v := math.Ceil(lo / step); v*step <= hi; v++ {
		s.ticks = append(s.ticks, v*step)
	}
	return s
}

// shades fill bands, each a little darker or lighter than the next in grey too.
var shades = []string{"#dcebf5", "#f1f5dc", "#fbeed5", "#f6dfd7"}

// shade is the place of a band's tone.
func (b Band) shade(i int) int {
	if b.Shade > 0 {
		i = b.Shade - 1
	}
	return i % len(shades)
}

// halo keeps words readable over whatever they stand on.
const halo = `paint-order="stroke" stroke="#fff" stroke-width="3" stroke-linejoin="round"`

func (c *chartDrawing) drawBands(bands []Band) {
	for i, b := range bands {
		from, to := b.From, b.To
		if math.IsInf(from, -1) || from < c.y.lo {
			from = c.y.lo
		}
		if math.IsInf(to, 1) || to > c.y.hi {
			to = c.y.hi
		}
		if from >= to {
			continue
		}
		c.rect(c.left, c.y.at(to), c.right-c.left, c.y.at(from)-c.y.at(to), `fill="`+shades[b.shade(i)]+`"`)
	}
}

func (c *chartDrawing) drawAxes(p Plot) {
	c.text(c.left, 15, "start", `font-weight="600"`, shorten(p.Title, int((c.right-c.left)/letter)))
	for _, v := range c.y.ticks {
		c.line(c.left, c.y.at(v), c.right, c.y.at(v), `stroke="`+grid+`"`)
		c.text(c.left-5, c.y.at(v)+4, "end", `font-size="11"`, c.y.label(v))
	}
	if c.y.lo < 0 && c.y.hi > 0 {
		c.line(c.left, c.y.at(0), c.right, c.y.at(0), `stroke="`+faint+`"`)
	}
	c.line(c.left, c.bottom, c.right, c.bottom, `stroke="`+ink+`"`)
	c.line(c.left, c.top, c.left, c.bottom, `stroke="`+ink+`"`)
	c.add(`<text transform="translate(12 %s) rotate(-90)" text-anchor="middle" font-size="11">%s</text>`,
		coordinate((c.top+c.bottom)/2), escape(shorten(p.YTitle, 30)))
	for _, v := range c.x.ticks {
		c.line(c.x.at(v), c.bottom, c.x.at(v), c.bottom+4, `stroke="`+ink+`"`)
		c.text(c.x.at(v), c.bottom+16, "middle", `font-size="11"`, c.x.label(v))
	}
	c.drawNames()
	if len(c.names) == 0 {
		c.text((c.left+c.right)/2, c.bottom+32, "middle", `font-size="11"`, shorten(p.XTitle, 55))
	}
}

// drawNames writes the names of counted places: level if there is room, else
// slanted, and if even so there are too many, only as many as can be read.
func (c *chartDrawing) drawNames() {
	if len(c.names) == 0 {
		return
	}
	each := (c.right - c.left) / float64(len(c.names))
	longest := 0
	for _, n := range c.names {
		longest = max(longest, len([]rune(Clean(n))))
	}
	level := float64(longest)*letter < each
	every := 1
	for !level && each*float64(every) < 11 {
		every++
	}
	for i := 0; i < len(c.names); i += every {
		x := c.x.at(float64(i))
		c.line(x, c.bottom, x, c.bottom+4, `stroke="`+ink+`"`)
		if level {
			c.text(x, c.bottom+16, "middle", `font-size="11"`, c.names[i])
			continue
		}
		c.add(`<text transform="translate(%s %s) rotate(-60)" text-anchor="end" font-size="10">%s</text>`,
			coordinate(x+3), coordinate(c.bottom+9), escape(shorten(c.names[i], slantedLetters)))
	}
}

const slantedLetters = 16

func (c *chartDrawing) drawRules(rules []Rule) {
	for i, r := range rules {
		if math.IsNaN(r.At) || math.IsInf(r.At, 0) {
			continue
		}
		style := fmt.Sprintf(`stroke="%s" stroke-width="1.3" stroke-dasharray="5 3"`, faint)
		if r.Upright {
			x := c.x.at(r.At)
			c.line(x, c.top, x, c.bottom, style)
			anchor, at := "start", x+4
			if x > (c.left+c.right)/2 {
				anchor, at = "end", x-4
			}
			c.text(at, c.bottom-6-13*float64(i%3), anchor, `font-size="10" `+halo, shorten(r.Name, 40))
			continue
		}
		c.line(c.left, c.y.at(r.At), c.right, c.y.at(r.At), style)
		c.text(c.left+4, c.y.at(r.At)-4, "start", `font-size="10" `+halo, shorten(r.Name, 40))
	}
}

func (c *chartDrawing) drawSeries(i int, s Series) {
	hue := hues[i%len(hues)]
	n := min(len(s.X), len(s.Y))
	places := make([][2]float64, n)
	for j := range n {
		places[j] = [2]float64{math.NaN(), math.NaN()}
		if !math.IsNaN(s.Y[j]) && !math.IsInf(s.Y[j], 0) {
			places[j] = [2]float64{c.x.at(s.X[j]), c.y.at(s.Y[j])}
		}
	}
	switch s.Style {
	case Box:
		c.drawBox(s)
	case Points:
		c.drawIntervals(s, n, hue)
		c.drawPoints(i, places, s.Weight, hue)
	case Line:
		c.path(places, stroke(i, hue))
	case LineWithWhiskers:
		c.drawIntervals(s, n, hue)
		c.path(places, stroke(i, hue))
		c.drawPoints(i, places, s.Weight, hue)
		c.drawLabels(places, s)
	case LineWithBand:
		c.drawBand(s, n, hue)
		c.path(places, stroke(i, hue))
		if n <= 60 {
			c.drawPoints(i, places, s.Weight, hue)
		}
	}
}

func stroke(i int, hue string) string {
	style := fmt.Sprintf(`fill="none" stroke="%s" stroke-width="1.8" stroke-linejoin="round"`, hue)
	if dash := strokes[i%len(strokes)]; dash != "" {
		style += ` stroke-dasharray="` + dash + `"`
	}
	return style
}

func (c *chartDrawing) drawPoints(i int, places [][2]float64, weight []float64, hue string) {
	heaviest := 0.0
	for _, w := range weight {
		heaviest = math.Max(heaviest, w)
	}
	for j, p := range places {
		if math.IsNaN(p[0]) {
			continue
		}
		r := 2.8
		if j < len(weight) && heaviest > 0 {
			r = 1.5 + 5*math.Sqrt(math.Max(weight[j], 0)/heaviest)
		}
		c.mark(i, p[0], p[1], r, fmt.Sprintf(`fill="%s" fill-opacity="0.75" stroke="#fff" stroke-width="0.6"`, hue))
	}
}

// drawIntervals puts a whisker through each point that has an interval.
func (c *chartDrawing) drawIntervals(s Series, n int, hue string) {
	for j := range min(n, len(s.Lo), len(s.Hi)) {
		if math.IsNaN(s.Lo[j]) || math.IsNaN(s.Hi[j]) || math.IsNaN(s.Y[j]) {
			continue
		}
		x := c.x.at(s.X[j])
		c.line(x, c.y.at(s.Lo[j]), x, c.y.at(s.Hi[j]), `stroke="`+hue+`" stroke-width="1.2"`)
	}
}

// drawLabels writes a label above each point and its whisker, as many as can be read.
func (c *chartDrawing) drawLabels(places [][2]float64, s Series) {
	every := 1 + len(places)/mostLabels
	for j := 0; j < min(len(places), len(s.Labels)); j++ {
		if math.IsNaN(places[j][1]) || j%every != 0 && j != len(places)-1 {
			continue
		}
		y := places[j][1]
		if j < len(s.Hi) && !math.IsNaN(s.Hi[j]) {
			y = c.y.at(s.Hi[j])
		}
		c.text(places[j][0], max(y-5, c.top+9), "middle", `font-size="10" `+halo, s.Labels[j])
	}
}

const mostLabels = 24

// drawBand shades the interval around a line, parted where it is unknown.
func (c *chartDrawing) drawBand(s Series, n int, hue string) {
	n = min(n, len(s.Lo), len(s.Hi))
	known := func(j int) bool { return !math.IsNaN(s.Lo[j]) && !math.IsNaN(s.Hi[j]) && !math.IsNaN(s.Y[j]) }
	for j := 0; j < n; {
		if !known(j) {
			j++
			continue
		}
		end := j
		for end < n && known(end) {
			end++
		}
		var outline [][2]float64
		for k := j; k < end; k++ {
			outline = append(outline, [2]float64{c.x.at(s.X[k]), c.y.at(s.Hi[k])})
		}
		for k := end - 1; k >= j; k-- {
			outline = append(outline, [2]float64{c.x.at(s.X[k]), c.y.at(s.Lo[k])})
		}
		c.polygon(fmt.Sprintf(`fill="%s" fill-opacity="0.18"`, hue), outline...)
		j = end
	}
}

// drawBox draws whiskers, quartiles, median and what lies beyond at one place.
func (c *chartDrawing) drawBox(s Series) {
	if len(s.X) == 0 || len(s.Y) != 5 || math.IsNaN(s.Y[2]) {
		return
	}
	x, half := c.x.at(s.X[0]), c.boxWidth/2
	y := func(i int) float64 { return c.y.at(s.Y[i]) }
	thin := `stroke="` + ink + `"`
	c.line(x, y(0), x, y(1), thin)
	c.line(x, y(3), x, y(4), thin)
	c.line(x-half/2, y(0), x+half/2, y(0), thin)
	c.line(x-half/2, y(4), x+half/2, y(4), thin)
	c.rect(x-half, y(3), 2*half, y(1)-y(3), `fill="`+hues[0]+`" fill-opacity="0.25" `+thin)
	c.line(x-half, y(2), x+half, y(2), `stroke="`+ink+`" stroke-width="2.2"`)
	for _, v := range s.Beyond {
		c.add(`<circle cx="%s" cy="%s" r="%s" fill="none" stroke="%s"/>`, coordinate(x), coordinate(c.y.at(v)), coordinate(math.Min(1.8, half/2)), faint)
	}
}

// drawLegend names the series below the axes where there are several, and
// returns the height of the picture.
func (c *chartDrawing) drawLegend(p Plot) float64 {
	below := c.bottom + 40
	if len(c.names) > 0 {
		longest := 0
		for _, n := range c.names {
			longest = max(longest, min(len([]rune(Clean(n))), slantedLetters))
		}
		below = c.bottom + 24
		if each := (c.right - c.left) / float64(len(c.names)); float64(longest)*letter >= each {
			below = c.bottom + 16 + float64(longest)*4.8
		}
		c.text((c.left+c.right)/2, below+6, "middle", `font-size="11"`, shorten(p.XTitle, 55))
		below += 12
	}
	l := legend{c: c, x: c.left, y: below + 8}
	series := 0
	for _, s := range p.Series {
		if s.Name != "" && s.Style != Box {
			series++
		}
	}
	for i, s := range p.Series {
		if s.Name == "" || s.Style == Box || series == 1 && len(p.Bands) == 0 {
			continue
		}
		hue := hues[i%len(hues)]
		l.entry(s.Name, func(x, y float64) {
			if s.Style != Points {
				c.line(x, y, x+18, y, stroke(i, hue))
			}
			if s.Style != Line {
				c.mark(i, x+9, y, 2.8, `fill="`+hue+`"`)
			}
		})
	}
	for i, b := range p.Bands {
		if b.Name != "" {
			l.entry(b.Name, func(x, y float64) {
				c.rect(x, y-5, 18, 10, fmt.Sprintf(`fill="%s" stroke="#bbb" stroke-width="0.5"`, shades[b.shade(i)]))
			})
		}
	}
	if l.n == 0 {
		return below
	}
	return l.y + 12
}

// legend sets its entries in lines.
type legend struct {
	c    *chartDrawing
	x, y float64
	n    int
}

func (l *legend) entry(name string, draw func(x, y float64)) {
	name = shorten(name, 44)
	width := 30 + letter*0.95*float64(len([]rune(name)))
	if l.x > l.c.left && l.x+width > l.c.right {
		l.x, l.y = l.c.left, l.y+16
	}
	draw(l.x, l.y)
	l.c.text(l.x+23, l.y+4, "start", `font-size="11"`, name)
	l.x += width + 8
	l.n++
}
