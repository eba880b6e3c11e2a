package trainer

import (
	"fmt"
	"strings"
	"time"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

func (a *benchAsker) draw(c *canvas, in rect, _ bool) {
	in = in.inset(sideMargin)
	switch a.stage {
	case handOver:
		drawWords(c, in, []string{
			"Whoever practises looks away until both sets lie.",
			fmt.Sprintf("The next page says which of the %d tabs lies at which place, in set A and in set B.", a.n()),
			benchTabs(a.setup, a.n()),
			"Lay set A in a row (or rows) from left to right, set B below it, all on neutral grey and the same way up. Leave room to take them up; a strip of paper with the numbers 1 to " + fmt.Sprint(a.n()) + " under each set helps.",
			"Cover everything that tells a tab from another but its colour: names, numbers, holders.",
		})
	case layingOut:
		a.drawLayout(c, in)
	case hidden:
		drawWords(c, in, []string{
			"Is everything covered that tells a tab from another but its colour?",
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

func drawWords(c *canvas, in rect, lines []string) {
	in.w = min(in.w, 100)
	y := in.y
	for _, l := range lines {
		y = c.bullet(in, y, l)
	}
}

// drawLayout lists the places in columns, as many as fit, and the rest on further
// pages.
func (a *benchAsker) drawLayout(c *canvas, in rect) {
	const least = 38
	t := c.tone
	in = rect{in.x, in.y, min(in.w, 3*least+10), in.h}
	columns := max(1, in.w/least)
	rows := max(1, in.h-1)
	// Even columns are read more easily than full ones.
	a.pages = (a.n() + columns*rows - 1) / (columns * rows)
	a.page = min(a.page, a.pages-1)
	if a.pages == 1 {
		rows = (a.n() + columns - 1) / columns
	}
	width := in.w / columns
	name := (width - 8) / 2
	for col := range columns {
		x := in.x + col*width
		first := (a.page*columns + col) * rows
		if first >= a.n() {
			break
		}
		c.write(x+4, in.y, "set A", t.faint, false)
		c.write(x+4+name+1, in.y, "set B", t.faint, false)
		for row := range rows {
			i := first + row
			if i >= a.n() {
				break
			}
			y := in.y + 1 + row
			c.write(x, y, fmt.Sprintf("%2d", i+1), t.strong, true)
			c.write(x+4, y, c.clip(a.names[0][i], name), t.plain, false)
			c.write(x+4+name+1, y, c.clip(a.names[1][i], name), t.plain, false)
		}
	}
}

// drawPairs shows what was paired so far, place by place.
//
//	  A1 – B7      A5 – B12
//	▸ A2 – 1_      A6 –
func (a *benchAsker) drawPairs(c *canvas, in rect) {
	const width = 15
	t := c.tone
	in, foot := in.bottom(3)
	columns := max(1, min(in.w/width, (a.n()+7)/8))
	rows := (a.n() + columns - 1) / columns
	for rows > in.h && columns < in.w/width {
		columns++
		rows = (a.n() + columns - 1) / columns
	}
	for i, b := range a.pairs {
		x, y := in.x+i/rows*width, in.y+i%rows
		ink, mark := t.plain, " "
		if i == a.at {
			ink, mark = t.strong, "▸"
		}
		text := fmt.Sprintf("A%-2d – ", i+1)
		switch {
		case i == a.at && a.digits != "":
			text += "B" + a.digits + "_"
		case b >= 0:
			text += fmt.Sprintf("B%d", b+1)
		case i == a.at:
			text += "B_"
		}
		c.write(x, y, mark, ink, true)
		c.write(x+2, y, text, ink, i == a.at)
		c.item(rect{x, y, width - 1, 1}, i)
	}
	// Below the list, wherever the window ends.
	foot.y = min(foot.y, in.y+rows)
	ink, mark := t.plain, " "
	if a.at == a.n() {
		ink, mark = t.strong, "▸"
	}
	c.write(foot.x, foot.y+1, mark, ink, true)
	c.write(foot.x+2, foot.y+1, "hand in", ink, a.at == a.n())
	c.item(rect{foot.x, foot.y + 1, 12, 1}, a.n())
	if free := a.free(); free != "" {
		c.write(foot.x+14, foot.y+1, c.clip("free in set B: "+free, foot.w-14), t.faint, false)
	}
}

// free lists the places of set B that are nobody's pair yet.
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

// benchWords say how a round went: how many were right and what that means, then
// every wrong pair with the place where the right one lay.
func benchWords(f feedback) []proseLine {
	l, err := exercises.LayoutOf(f.attempt.Trial)
	if err != nil {
		return nil
	}
	order, n := f.attempt.Answer.Order, len(l.A)
	right := 0
	var wrong []proseLine
	place := make(map[int]int, n) // where each tab lies in set B
	for b, tab := range l.B {
		place[tab] = b
	}
	own := exercises.BenchLibrary(f.setup.Sheet)
	names, namesB := l.Names(f.setup.Sheet)
	for i, tab := range l.A {
		taken, ok := l.Taken(order, i)
		switch {
		case ok && taken == tab:
			right++
			continue
		case !ok:
			wrong = append(wrong, proseLine{text: fmt.Sprintf("A%d (%s) was left open; its pair was B%d.", i+1, names[i], place[tab]+1)})
			continue
		}
		text := fmt.Sprintf("A%d (%s) was paired with B%d (%s)", i+1, names[i], order[i]+1, namesB[order[i]])
		if own != nil && tab < own.Len() && taken < own.Len() {
			text += fmt.Sprintf(", %.1f ΔE00 away", colour.DeltaE00(own.Measured(tab), own.Measured(taken)))
		}
		wrong = append(wrong, proseLine{text: fmt.Sprintf("%s; its pair was B%d.", text, place[tab]+1)})
	}
	lines := []proseLine{
		{text: fmt.Sprintf("%d of %d pairs right, in %s", right, n, clockTime(f.attempt.Answer.Total)), strong: true},
		{text: fmt.Sprintf("As a share: %s.", shareWords(trend.ShareClustered([]int{right}, []int{n}, scoring.RulesOf(exercises.Bench).Together, 0.95)))},
		{text: fmt.Sprintf("Chance alone finds 1 pair on average, and %d or more in %s.", right, tries(scoring.ByChance(n, right)))},
	}
	for _, m := range f.mark.Measures {
		if m.Name == scoring.WrongPairs {
			lines = append(lines, proseLine{text: fmt.Sprintf("Wrong pairs were %.1f ΔE00 apart on average; perceptibility is %.1f, acceptability %.1f.",
				m.Value, scoring.Perceptibility.Value, scoring.Acceptability.Value)})
		}
	}
	return append(lines, wrong...)
}

// tries says a probability as a share of tries.
func tries(p float64) string {
	switch {
	case p >= 0.9995:
		return "every try"
	case p < 0.0001:
		return "fewer than 1 of 10,000 tries"
	}
	return fmt.Sprintf("%.3g %% of tries", 100*p)
}

// shareWords writes a share with its interval.
func shareWords(e scoring.Estimate) string {
	if !e.HasInterval() {
		return "not known: " + strings.Join(e.Warnings, "; ")
	}
	return fmt.Sprintf("%.0f %% (%.0f to %.0f %%)", 100*e.Value, 100*e.Lo, 100*e.Hi)
}

// benchSummary says how all rounds went.
func benchSummary(_ exercises.Setup, results []result) []proseLine {
	var hits, sizes []int
	var times []time.Duration
	right, all, expected := 0, 0, 0 // expected by chance
	wrong, sum := 0, 0.0
	for _, r := range results {
		if len(r.mark.Checks) == 0 {
			continue
		}
		n := 0
		for _, c := range r.mark.Checks {
			if c.Right {
				n++
			}
		}
		hits, sizes = append(hits, n), append(sizes, len(r.mark.Checks))
		times = append(times, r.attempt.Answer.Total)
		right, all, expected = right+n, all+len(r.mark.Checks), expected+1
		for _, m := range r.mark.Measures {
			if m.Name == scoring.WrongPairs {
				wrong, sum = wrong+1, sum+m.Value
			}
		}
	}
	if all == 0 {
		return nil
	}
	e := trend.ShareClustered(hits, sizes, scoring.RulesOf(exercises.Bench).Together, 0.95)
	lines := []proseLine{
		{text: fmt.Sprintf("pairs right %d of %d: %s", right, all, shareWords(e)), strong: true},
		{text: fmt.Sprintf("Chance alone finds one pair a round, %d of %d: %.0f %%.", expected, all, 100*float64(expected)/float64(all))},
	}
	for i := range hits {
		lines = append(lines, proseLine{text: fmt.Sprintf("Round %d: %d of %d in %s.", i+1, hits[i], sizes[i], clockTime(times[i]))})
	}
	if wrong > 0 {
		lines = append(lines, proseLine{text: fmt.Sprintf("Wrong pairs were %.1f ΔE00 apart, mean over rounds.", sum/float64(wrong))})
	}
	note := "In brackets: the 95 % interval. It allows for pairs that hang together: whoever takes one tab for another errs twice."
	for _, w := range e.Warnings {
		note += " " + sentence(w)
	}
	return append(lines, proseLine{}, proseLine{text: note, faint: true})
}
