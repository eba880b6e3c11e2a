package design

import (
	"math"
	"math/rand/v2"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// Numbers of the polish; found by trial.
const (
	touches = 3000 // changes tried at most
	reach   = 7.0  // ΔE00: how far from a tab its in-betweens can be of use
)

// polish mends what the relaxation leaves: a few colours a hair too far. One hue
// or one column near the worst colour is moved a little, judged by the real
// formula on the shown bytes, and only where it can matter; the change is kept
// when the colours beyond the limit come nearer.
func polish(sheets []Sheet, name string, grid []colour.Lab, limit float64, rng *rand.Rand) error {
	errorsOf := func(of []int) (list []float64, err error) {
		l, err := Library(name, sheets)
		if err != nil {
			return nil, err
		}
		s := tabs.NewSheet(l, nil)
		for _, i := range of {
			list = append(list, s.Best(grid[i]).E)
		}
		return list, nil
	}
	all := make([]int, len(grid))
	for i := range all {
		all[i] = i
	}
	now, err := errorsOf(all)
	if err != nil {
		return err
	}
	excess := func(list []float64) (sum float64) {
		for _, e := range list {
			if e > limit {
				sum += (e - limit) * (e - limit)
			}
		}
		return sum
	}
	for range touches {
		worst := 0
		for i, e := range now {
			if e > now[worst] {
				worst = i
			}
		}
		if now[worst] <= limit {
			break
		}
		g, c, h := nearby(sheets, grid[worst], rng)
		column := &sheets[g].Columns[c]
		from := shown(sheets[g].L, column.C, column.H[h])
		old := sheets[g].clone()
		if rng.IntN(3) == 0 {
			column.C += 0.3 * rng.NormFloat64()
		} else {
			column.H[h] += 1.2 * rng.NormFloat64()
		}
		var near []int
		for i, x := range grid {
			// Every tab of a moved column reaches further along the hue.
			if math.Abs(x.L-from.L) < 1.6*reach && colour.DeltaE00Floor(x, from) < 1.5*reach {
				near = append(near, i)
			}
		}
		before := make([]float64, len(near))
		for k, i := range near {
			before[k] = now[i]
		}
		after, err := errorsOf(near)
		if err != nil || excess(after) >= excess(before) {
			sheets[g] = old // two tabs of one name, or no gain
			continue
		}
		for k, i := range near {
			now[i] = after[k]
		}
	}
	return nil
}

// asShown takes a plan back from the library it made: columns at the mean chroma
// and groups at the mean lightness of their shown bytes. The small jolt takes the
// plan out of the place where the relaxation stopped.
func asShown(l *tabs.Library) []Sheet {
	var sheets []Sheet
	for _, g := range l.Groups() {
		s := Sheet{}
		for _, t := range g.Tabs {
			s.L += t.Lab.L / float64(len(g.Tabs))
		}
		for _, tabsOf := range tabs.Columns(g.Tabs) {
			var c Column
			for _, t := range tabsOf {
				c.C += t.Lab.Chroma() / float64(len(tabsOf))
				c.H = append(c.H, t.Lab.LCh().H)
			}
			s.Columns = append(s.Columns, c)
		}
		sheets = append(sheets, s)
	}
	return sheets
}

// nearby chooses one of the six tabs nearest to a colour.
func nearby(sheets []Sheet, near colour.Lab, rng *rand.Rand) (group, column, row int) {
	type tab struct {
		g, c, h int
		e       float64
	}
	best := make([]tab, 0, 7)
	for g, s := range sheets {
		for c, col := range s.Columns {
			for h, hue := range col.H {
				t := tab{g, c, h, colour.DeltaE00(near, shown(s.L, col.C, hue))}
				at := len(best)
				for at > 0 && best[at-1].e > t.e {
					at--
				}
				best = append(best[:at], append([]tab{t}, best[at:]...)...)
				best = best[:min(len(best), 6)]
			}
		}
	}
	t := best[rng.IntN(len(best))]
	return t.g, t.c, t.h
}
