package scoring

import (
	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

// Mark is what an answer was worth. It is computed from the bytes of the
// attempt and its sheet each time, never stored.
type Mark struct {
	// HasColour says that the answer stood for a colour; Difference (answer
	// minus target) and Band mean something only then.
	HasColour  bool
	Difference colour.Difference
	Band       Band
	// Free are the parts along which the answer could have erred to either
	// side: only these belong into a mean of signed errors; see
	// [exercises.RoomAround].
	Free exercises.Axes

	// Sparse says that so little was on offer that Difference is mostly the
	// offer's and not the person's: it belongs into no statistic of errors. What the
	// person could have done better is Excess.
	Sparse bool

	// HasGroup says that value groups were chosen among. GroupSteps counts them
	// from the best group: > 0 too light, < 0 too dark.
	HasGroup   bool
	GroupSteps int

	// HasSheet says that the answer was one of a sheet. Best is the smallest
	// ΔE00 that any answer could reach, Excess what the answer lies beyond it. Nearest
	// says that no tab is nearer to the target than the answer.
	HasSheet bool
	Best     tabs.Answer
	Excess   float64
	Nearest  bool

	place  Place // in that sheet
	placed bool
	sheet  *tabs.Sheet // that was chosen from; nil where nearer is known
	target colour.Lab
	nearer int

	// Checks are the yes-or-no parts of an answer, Measures its further numbers.
	Checks   []Check
	Measures []Measure
	// Directions are answers "more, the same, less", one an attribute asked.
	Directions []Direction
}

// Place is where in its sheet the answer lies; false where it is none of a sheet.
func (m Mark) Place() (Place, bool) { return m.place, m.placed }

// Right says whether the answer was right as a whole: every yes-or-no part of
// it, or else no tab was nearer, or else it is within acceptability. Known is
// false where there is no right and wrong.
func (m Mark) Right() (right, known bool) { return m.right() }

func (m *Mark) right() (right, known bool) {
	switch {
	case len(m.Checks) > 0:
		for _, c := range m.Checks {
			if !c.Right {
				return false, true
			}
		}
		return true, true
	case m.HasSheet:
		return m.Nearest, true
	case m.HasColour:
		return m.Band <= Acceptable, true
	}
	return false, false
}

// Points are the score of the published training studies, of an answer to a sheet: 10 for
// the nearest tab, 9 for the next, … 1 for the tenth, 0 beyond (J Esthet Restor Dent 28
// (2016) 287–294). An answer between two tabs counts by the tabs that are nearer than it,
// so that a better in-between answer is never worth less than a tab.
func (m Mark) Points() int {
	nearer := m.nearer
	if m.sheet != nil && !m.Nearest {
		nearer = m.sheet.Nearer(m.target, m.Difference.E)
	}
	return max(0, 10-nearer)
}

// Check is one thing that was right or wrong.
type Check struct {
	Name  string
	Right bool
	Why   string // in words, for the feedback
}

// Measure is a further number of a mark, such as tau-b of an order.
type Measure struct {
	Name  string
	Value float64
	Unit  string
}

// Marker computes the mark of an answer from nothing but its trial and the sheet.
type Marker func(exercises.Trial, exercises.Answer, *tabs.Sheet) Mark

// MarkOf marks an attempt. The sheet is that of its sitting, nil for exercises
// without one.
func MarkOf(a Attempt, sheet *tabs.Sheet) Mark {
	return RulesOf(a.Trial.Kind).Mark(a.Trial, a.Answer, sheet)
}

// markColour compares the answered colour with the target.
func markColour(t exercises.Trial, a exercises.Answer, _ *tabs.Sheet) Mark {
	if a.Colour == nil {
		return Mark{}
	}
	d := colour.Compare(t.Target.Lab(), a.Colour.Lab(), colour.Unit)
	return Mark{HasColour: true, Difference: d, Band: BandOf(d.E), Free: exercises.AllAxes}
}
