package trainer

import (
	"fmt"

	"shadedrill/scoring"
	"shadedrill/scoring/reports/classes"
	"shadedrill/trainer/draw"
)

// classColumn is one column of a class. Columns from the left are drawn as long
// as they fit; the last takes the room that is left.
type classColumn struct {
	title string
	by    classes.Order
	width int
	right bool // set right
	wide  int  // the least width of the window's stage in which it is drawn
	cell  func(r classes.Row, width int) string
}

var classColumns = []classColumn{
	{title: "learner", by: "name", width: 16, cell: func(r classes.Row, _ int) string { return r.Learner.Name }},
	{title: "sittings", by: "sittings", width: 9, right: true, cell: func(r classes.Row, _ int) string { return fmt.Sprint(r.Sittings) }},
	{title: "last", by: "active", width: 6, right: true, cell: func(r classes.Row, _ int) string {
		if r.Last.IsZero() {
			return "never"
		}
		return r.Last.Local().Format("2 Jan")
	}},
	{title: "median ΔE00", by: "error", width: 14, cell: func(r classes.Row, _ int) string { return short(r.Error, "no colours") }},
	{title: "trend", by: "trend", width: 13, cell: func(r classes.Row, _ int) string { return r.TrendWord().Shown }},
	{title: "bias", by: "bias", width: 33, wide: 120, cell: func(r classes.Row, _ int) string { return r.BiasWords() }},
	{title: "threshold", width: 12, by: "sees", wide: 120, cell: func(r classes.Row, _ int) string {
		if r.Sees.N == 0 {
			return "not measured"
		}
		return bare1(r.Sees)
	}},
	{title: "test", by: "exam", width: 15, cell: func(r classes.Row, width int) string {
		if words := r.ExamShort(); len(words) <= width {
			return words
		}
		return r.ExamLevel.Shown
	}},
}

// short is a number with its interval, in the room of a column; of a rough interval that
// it is rough.
func short(e scoring.Estimate, none string) string {
	switch {
	case !e.Defined():
		return none
	case !e.HasInterval():
		return fmt.Sprintf("%.2f", e.Value)
	case e.Rough():
		return fmt.Sprintf("%.2f, rough", e.Value)
	}
	return fmt.Sprintf("%.2f (%.1f–%.1f)", e.Value, e.Lo, e.Hi)
}

func bare1(e scoring.Estimate) string {
	if !e.Defined() {
		return "no threshold"
	}
	return fmt.Sprintf("%.2f", e.Value)
}

const classGap = 1

func (p *classPage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	if p.review == nil {
		c.Paragraph(in, in.Y+1, fmt.Sprintf("The answers of %s are being read …", scoring.Count(len(p.class.People), "learner", "learners")), c.Tone.Plain, false)
		return
	}
	y := in.Y + 1
	for _, l := range p.review.Lead() {
		y = c.Paragraph(in, y, l, c.Tone.Plain, false)
	}
	_, in = in.Top(y - in.Y)
	if len(p.review.Rows) == 0 {
		return
	}
	in, below := in.Bottom(4)
	_, in = in.Top(1)
	head, in := in.Top(1)
	p.row(c, head, func(i int, col classColumn, _ int) (string, bool) {
		if i == p.by {
			return col.title + map[bool]string{false: "▾", true: "▴"}[p.turned], true
		}
		return col.title, false
	}, true)
	p.rows(c, in)
	_, below = below.Top(1)
	y = below.Y
	for _, l := range p.reason() {
		y = c.Paragraph(below, y, l, c.Tone.Plain, false)
	}
}

// rows paints as many as fit and keeps the chosen one in sight.
func (p *classPage) rows(c *draw.Canvas, in draw.Rect) {
	p.shown = max(1, in.H)
	p.from = max(0, min(p.from, p.at, len(p.review.Rows)-p.shown))
	p.from = max(p.from, p.at-p.shown+1)
	for i := p.from; i < len(p.review.Rows) && i < p.from+in.H; i++ {
		r := p.review.Rows[i]
		line := draw.Box(in.X, in.Y+i-p.from, in.W, 1)
		if i == p.at {
			c.Write(line.X, line.Y, "▸", c.Tone.Strong, true)
		}
		if len(r.Flags) > 0 {
			c.Write(line.X+1, line.Y, "!", c.Tone.Strong, true)
		}
		p.row(c, line, func(_ int, col classColumn, width int) (string, bool) { return col.cell(r, width), i == p.at }, false)
		c.Item(line, i)
	}
}

func (p *classPage) row(c *draw.Canvas, line draw.Rect, cell func(i int, col classColumn, width int) (text string, strong bool), heading bool) {
	x := line.X + 3
	for i, col := range classColumns {
		if line.W < col.wide-2*draw.Margin {
			continue
		}
		width := min(col.width, line.X+line.W-x)
		if width < 4 {
			return
		}
		text, strong := cell(i, col, width)
		ink := c.Tone.Plain
		if heading {
			ink = c.Tone.Faint
		}
		if strong {
			ink = c.Tone.Strong
		}
		text = c.Clip(text, width)
		at := x
		if col.right {
			at += width - c.Width(text)
		}
		c.Write(at, line.Y, text, ink, strong)
		x += width + classGap
	}
}
