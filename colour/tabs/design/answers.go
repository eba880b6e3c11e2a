package design

import (
	"math"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// answers is what a sheet lets a learner say, as a screen shows it. It is
// reused from one judgement to the next.
type answers struct {
	labs          []colour.Lab
	tabs, between []place
}

func (w *answers) fill(s Sheet) {
	w.labs, w.tabs, w.between = w.labs[:0], w.tabs[:0], w.between[:0]
	for _, column := range s.Columns {
		for _, h := range column.H {
			lab := shown(s.L, column.C, h)
			w.labs = append(w.labs, lab)
			w.tabs = append(w.tabs, newPlace(lab))
		}
	}
	for i := range w.labs {
		for j := i + 1; j < len(w.labs); j++ {
			middle := tabs.Halfway(w.labs[i], w.labs[j]).Lab()
			if p := newPlace(middle); w.linked(i, j, middle, &p) {
				w.between = append(w.between, p)
			}
		}
	}
}

// linked applies the rule of package tabs: no third tab is nearer to the
// middle. The quick distance decides but for near ties.
func (w *answers) linked(i, j int, middle colour.Lab, p *place) bool {
	const tie = 1.1
	inf := math.Inf(1)
	reach := min(p.distance2(&w.tabs[i], inf), p.distance2(&w.tabs[j], inf))
	for k := range w.tabs {
		if k == i || k == j {
			continue
		}
		switch d := p.distance2(&w.tabs[k], tie*reach); {
		case d > tie*reach:
		case d*tie < reach:
			return false
		case colour.DeltaE00(middle, w.labs[k]) < min(colour.DeltaE00(middle, w.labs[i]), colour.DeltaE00(middle, w.labs[j])):
			return false
		}
	}
	return true
}

// distances2 returns the squares of the distances from a colour to the nearest
// tab and to the nearest answer, none larger than given.
func (w *answers) distances2(p *place, alone, between float64) (a, b float64) {
	for i := range w.tabs {
		alone = min(alone, p.distance2(&w.tabs[i], alone))
	}
	between = min(between, alone)
	for i := range w.between {
		between = min(between, p.distance2(&w.between[i], between))
	}
	return alone, between
}
