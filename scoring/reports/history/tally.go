package history

import (
	"slices"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

// Tally counts what was right, a scene each: answers to one scene hang together.
type Tally struct {
	Right, N []int
	scene    int // of the last count
}

func (t *Tally) add(scene int, right bool) {
	if len(t.N) == 0 || scene != t.scene {
		t.Right, t.N, t.scene = append(t.Right, 0), append(t.N, 0), scene
	}
	last := len(t.N) - 1
	t.N[last]++
	if right {
		t.Right[last]++
	}
}

// Join adds the scenes of another sitting.
func (t *Tally) Join(o Tally) {
	t.Right, t.N = append(t.Right, o.Right...), append(t.N, o.N...)
}

// apart takes every answer for itself.
func (t Tally) apart() Tally {
	var o Tally
	for i, n := range t.N {
		for k := range n {
			right := 0
			if k < t.Right[i] {
				right = 1
			}
			o.Right, o.N = append(o.Right, right), append(o.N, 1)
		}
	}
	return o
}

// Share of what was right in one exercise.
func (t Tally) Share(kind exercises.KindID) scoring.Estimate {
	together := scoring.RulesOf(kind).Together
	if together <= 1 {
		t = t.apart()
	}
	return trend.ShareClustered(t.Right, t.N, together, Level)
}

// Answers is how many were counted.
func (t Tally) Answers() int {
	n := 0
	for _, k := range t.N {
		n += k
	}
	return n
}

// Named keeps values by name in the order in which the names first came.
type Named[T any] struct {
	Names  []string
	Values []T
	Units  []string
}

// At is the place of a name, made where it is new.
func (m *Named[T]) At(name, unit string) *T {
	i := slices.Index(m.Names, name)
	if i < 0 {
		var zero T
		m.Names, m.Values, m.Units = append(m.Names, name), append(m.Values, zero), append(m.Units, unit)
		i = len(m.Names) - 1
	}
	return &m.Values[i]
}
