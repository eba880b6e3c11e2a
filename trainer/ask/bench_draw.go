package ask

import (
	"fmt"
	"strings"
	"time"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/trend"
	"shadedrill/trainer/draw"
)

func (a *benchAsker) Draw(c *draw.Canvas, in draw.Rect, _ bool) {
	in = in.Inset(draw.Margin)
	switch a.stage {
	case handOver:
		drawWords(c, in, []string{
			"Whoever practises looks away until both sets lie.",
			fmt.Sprintf("The next page says which of the %d tabs lies at which place, in the left set and in the right one.", a.n()),
			benchTabs(a.Setup, a.n()),
			"Lay the left set in rows at the left, the right set at the right, each row from left to right, all on neutral grey and the same way up. Leave room to take them up; a strip of paper with the numbers 1 to " + fmt.Sprint(a.n()) + " under each set helps.",
			"Cover names, numbers and holders: nothing but its colour may tell one tab from another.",
		})
	case layingOut:
		a.drawLayout(c, in)
	case hidden:
		drawWords(c, in, []string{
			"Is everything covered that could tell one tab from another, except its colour?",
			"Then whoever practises may look. The time starts with Enter.",
		})
	default:
		a.drawPairs(c, in)
	}
}

func benchTabs(s exercises.Setup, n int) string {
	if own := exercises.BenchLibrary(s.Sheet); own != nil {
		return fmt.Sprintf("Tabs are called as in your library %q.", own.Library())
	}
	return fmt.Sprintf("Number your tabs on their backs, 1 to %d, the same number on both tabs of a pair; keep the numbers from round to round.", n)
}

func drawWords(c *draw.Canvas, in draw.Rect, lines []string) {
	in.W = min(in.W, 100)
	y := in.Y
	for _, l := range lines {
		y = c.Bullet(in, y, l)
	}
}

// drawLayout lists the places in columns, as many as fit, and the rest on further
// pages.
func (a *benchAsker) drawLayout(c *draw.Canvas, in draw.Rect) {
	const least = 38
	t := c.Tone
	in = draw.Box(in.X, in.Y, min(in.W, 3*least+10), in.H)
	columns := max(1, in.W/least)
	rows := max(1, in.H-1)
	// Even columns are read more easily than full ones.
	a.pages = (a.n() + columns*rows - 1) / (columns * rows)
	a.page = min(a.page, a.pages-1)
	if a.pages == 1 {
		rows = (a.n() + columns - 1) / columns
	}
	width := in.W / columns
	name := (width - 8) / 2
	for col := range columns {
		x := in.X + col*width
		first := (a.page*columns + col) * rows
		if first >= a.n() {
			break
		}
		c.Write(x+4, in.Y, "left set", t.Faint, false)
		c.Write(x+4+name+1, in.Y, "right set", t.Faint, false)
		for row := range rows {
			i := first + row
			if i >= a.n() {
				break
			}
			y := in.Y + 1 + row
			c.Write(x, y, fmt.Sprintf("%2d", i+1), t.Strong, true)
			c.Write(x+4, y, c.Clip(a.names[0][i], name), t.Plain, false)
			c.Write(x+4+name+1, y, c.Clip(a.names[1][i], name), t.Plain, false)
		}
	}
}

// drawPairs shows what was paired so far, place by place.
//
//	  left  1 – right 7     left  5 – right 12
//	▸ left  2 – right 1_    left  6 –
func (a *benchAsker) drawPairs(c *draw.Canvas, in draw.Rect) {
	width, left, right := 24, "left ", "right "
	t := c.Tone
	in, foot := in.Bottom(3)
	if a.n() > 3*in.H { // a long table: the words stand above it once
		width, left, right = 13, "", ""
		var head draw.Rect
		head, in = in.Top(1)
		c.Write(head.X+2, head.Y, "left – right", t.Faint, false)
	}
	columns := max(1, min(in.W/width, (a.n()+7)/8))
	rows := (a.n() + columns - 1) / columns
	for rows > in.H && columns < in.W/width {
		columns++
		rows = (a.n() + columns - 1) / columns
	}
	for i, b := range a.pairs {
		x, y := in.X+i/rows*width, in.Y+i%rows
		ink, mark := t.Plain, " "
		if i == a.at {
			ink, mark = t.Strong, "▸"
		}
		text := fmt.Sprintf("%s%2d – ", left, i+1)
		switch {
		case i == a.at && a.digits != "":
			text += right + a.digits + "_"
		case b >= 0:
			text += fmt.Sprintf("%s%d", right, b+1)
		case i == a.at:
			text += right + "_"
		}
		c.Write(x, y, mark, ink, true)
		c.Write(x+2, y, text, ink, i == a.at)
		c.Item(draw.Box(x, y, width-1, 1), i)
	}
	// Below the list, wherever the window ends.
	foot.Y = min(foot.Y, in.Y+rows)
	ink, mark := t.Plain, " "
	if a.at == a.n() {
		ink, mark = t.Strong, "▸"
	}
	c.Write(foot.X, foot.Y+1, mark, ink, true)
	c.Write(foot.X+2, foot.Y+1, "hand in", ink, a.at == a.n())
	c.Item(draw.Box(foot.X, foot.Y+1, 12, 1), a.n())
	if free := a.free(); free != "" {
		c.Write(foot.X+14, foot.Y+1, c.Clip("free at the right: "+free, foot.W-14), t.Faint, false)
	}
}

// free lists the places of the right set that are nobody's pair yet.
func (a *benchAsker) free() string {
	taken := make([]bool, a.n())
	for _, b := range a.pairs {
		if b >= 0 {
			taken[b] = true
		}
	}
	var list []string
	for b, is := range taken {
		if !is {
			list = append(list, fmt.Sprint(b+1))
		}
	}
	return strings.Join(list, " ")
}

// benchRow is a place of the left set whose pair was not found.
type benchRow struct {
	place, taken, right int // taken is −1 where it was left open
	tab, takenTab       string
	apart               string
}

// benchWrong lists what was not found in a round, and counts what was.
func benchWrong(f Feedback) (right int, wrong []benchRow) {
	l, err := exercises.LayoutOf(f.Attempt.Trial)
	if err != nil {
		return 0, nil
	}
	order := f.Attempt.Answer.Order
	place := make(map[int]int, len(l.A)) // where each tab lies in the right set
	for b, tab := range l.B {
		place[tab] = b
	}
	own := exercises.BenchLibrary(f.Setup.Sheet)
	names, namesB := l.Names(f.Setup.Sheet)
	for i, tab := range l.A {
		taken, ok := l.Taken(order, i)
		if ok && taken == tab {
			right++
			continue
		}
		row := benchRow{place: i + 1, taken: -1, right: place[tab] + 1, tab: names[i]}
		if ok {
			row.taken, row.takenTab = order[i]+1, namesB[order[i]]
			if own != nil && tab < own.Len() && taken < own.Len() {
				row.apart = scoring.Figure(colour.DeltaE00(own.Measured(tab), own.Measured(taken)))
			}
		}
		wrong = append(wrong, row)
	}
	return right, wrong
}

// benchLesson says how many pairs were found, what chance finds, and what to do next.
func benchLesson(f Feedback) Lesson {
	right, wrong := benchWrong(f)
	n := right + len(wrong)
	out := Lesson{What: fmt.Sprintf("%d of %d pairs found, in %s.", right, n, draw.ClockTime(f.Attempt.Answer.Total)),
		Far:  "Chance alone finds one pair.",
		Rule: "Before the tabs are mixed: lay each wrong pair beside its right one and look once more, by the same light."}
	if len(wrong) == 0 {
		out.Rule = "Every one of them. Next time take more pairs, or tabs that lie nearer to each other."
	}
	return out
}

// benchTable shows every wrong pair beside the right one.
func benchTable(c *draw.Canvas, in draw.Rect, f Feedback) {
	_, wrong := benchWrong(f)
	t := c.Tone
	in = in.Inset(draw.Margin)
	if len(wrong) == 0 {
		return
	}
	columns := []struct {
		head string
		at   int
	}{{"left", 0}, {"tab", 6}, {"you said right", 26}, {"tab", 42}, {"its pair was right", 56}}
	apart := wrong[0].apart != "" || len(wrong) > 1 && wrong[1].apart != ""
	for _, col := range columns {
		c.Write(in.X+col.at, in.Y, col.head, t.Faint, false)
	}
	if apart && in.W >= 90 {
		c.Write(in.X+78, in.Y, "ΔE00 apart", t.Faint, false)
	}
	for i, w := range wrong {
		y := in.Y + 1 + i
		if i == in.H-2 && len(wrong) > in.H-1 {
			c.Write(in.X, y, fmt.Sprintf("and %d more", len(wrong)-i), t.Faint, false)
			return
		}
		cells := []string{fmt.Sprint(w.place), c.Clip(w.tab, 18), "open", "", fmt.Sprint(w.right)}
		if w.taken >= 0 {
			cells[2], cells[3] = fmt.Sprint(w.taken), c.Clip(w.takenTab, 12)
		}
		for k, text := range cells {
			c.Write(in.X+columns[k].at, y, text, t.Plain, false)
		}
		if apart && in.W >= 90 {
			c.Write(in.X+78, y, w.apart, t.Plain, false)
		}
	}
}

// benchWords are the figures of a round.
func benchWords(f Feedback) []draw.Line {
	right, wrong := benchWrong(f)
	n := right + len(wrong)
	lines := []draw.Line{
		{Text: fmt.Sprintf("As a share: %s.", shareWords(trend.ShareClustered([]int{right}, []int{n}, scoring.RulesOf(exercises.Bench).Together, 0.95)))},
		{Text: "Chance alone finds 1 pair on average."},
	}
	if right > 1 {
		lines[1].Text = fmt.Sprintf("Chance alone finds 1 pair on average, and %d or more in %s.", right, tries(scoring.ByChance(n, right)))
	}
	for _, m := range f.Mark.Measures {
		if m.Name == scoring.WrongPairs {
			lines = append(lines, draw.Line{Text: fmt.Sprintf("Wrong pairs were %.1f ΔE00 apart on average; perceptibility is %.1f, acceptability %.1f.",
				m.Value, scoring.Perceptibility.Value, scoring.Acceptability.Value)})
		}
	}
	return lines
}

// tries says a probability as a share of tries.
func tries(p float64) string {
	if p < 0.0001 {
		return "fewer than 1 of 10,000 tries"
	}
	return fmt.Sprintf("%.3g %% of tries", 100*p)
}

// shareWords writes a share with its interval.
func shareWords(e scoring.Estimate) string {
	if !e.HasInterval() {
		return "not known: " + strings.Join(e.Warnings, "; ")
	}
	return fmt.Sprintf("%.0f %% (%.0f to %.0f %%%s)", 100*e.Value, 100*e.Lo, 100*e.Hi, e.RoughWord())
}

// benchSummary says how all rounds went.
func benchSummary(_ exercises.Setup, results []Result) []draw.Line {
	var hits, sizes []int
	var times []time.Duration
	right, all, expected := 0, 0, 0 // expected by chance
	wrong, sum := 0, 0.0
	for _, r := range results {
		if len(r.Mark.Checks) == 0 {
			continue
		}
		n := 0
		for _, c := range r.Mark.Checks {
			if c.Right {
				n++
			}
		}
		hits, sizes = append(hits, n), append(sizes, len(r.Mark.Checks))
		times = append(times, r.Attempt.Answer.Total)
		right, all, expected = right+n, all+len(r.Mark.Checks), expected+1
		for _, m := range r.Mark.Measures {
			if m.Name == scoring.WrongPairs {
				wrong, sum = wrong+1, sum+m.Value
			}
		}
	}
	if all == 0 {
		return nil
	}
	e := trend.ShareClustered(hits, sizes, scoring.RulesOf(exercises.Bench).Together, 0.95)
	lines := []draw.Line{
		{Text: fmt.Sprintf("%d of %d pairs found.", right, all), Strong: true},
		{Text: fmt.Sprintf("Chance alone finds one pair a round: %d of %d.", expected, all)},
	}
	for i := range hits {
		lines = append(lines, draw.Line{Text: fmt.Sprintf("Round %d: %d of %d in %s.", i+1, hits[i], sizes[i], draw.ClockTime(times[i]))})
	}
	if wrong > 0 {
		lines = append(lines, draw.Line{Text: fmt.Sprintf("Wrong pairs were %.1f ΔE00 apart, mean over rounds.", sum/float64(wrong))})
	}
	note := "As a share: " + shareWords(e) + ". In brackets the 95 % interval, which allows for pairs that hang together: whoever takes one tab for another errs twice."
	for _, w := range e.Warnings {
		note += " " + draw.Sentence(w)
	}
	return append(lines, draw.Line{}, draw.Line{Text: note, Faint: true})
}
