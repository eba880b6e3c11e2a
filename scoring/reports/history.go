package reports

import (
	"context"
	"iter"
	"math"
	"slices"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/exam"
	"shadedrill/scoring/record"
	"shadedrill/scoring/trend"
)

// Record is what a report reads of the book.
type Record interface {
	Sittings(context.Context, record.Filter) ([]scoring.Sitting, error)
	Sheet(ctx context.Context, fingerprint string) (*tabs.Sheet, error)
	Attempts(context.Context, record.Filter) iter.Seq2[scoring.Attempt, error]
	Briefs(context.Context, record.Filter) iter.Seq2[record.Brief, error]
}

// history is what one person's attempts were worth, marked afresh from the
// record and laid out as the tables need it: by exercise, then by sitting.
type history struct {
	attempts    int
	sittings    int
	first, last time.Time
	adaptive    bool // some practice chose regions by earlier errors
	kinds       []*kindHistory
}

type kindHistory struct {
	id       exercises.KindID
	title    string
	attempts int
	sittings []*sittingHistory // those with an answer, oldest first
}

type sittingHistory struct {
	sitting scoring.Sitting
	// first and last are the times of the answers read.
	first, last time.Time
	judged      []judged
	groups      []int // steps from the best value group
	points      []float64
	excess      []float64
	seconds     []float64
	whole       tally // right answers: as a whole, or each part for itself (Singly in [scoring.Rules])
	checks      named[tally]
	numbers     named[[]float64]
	directions  []scoring.Direction
	marking     scoring.Marking
	keep        bool              // seen as well
	seen        []seen            // answer by answer, for what is asked across people
	raw         []scoring.Attempt // kept for thresholds, which are fitted from all answers; perhaps brief ones
}

// judged is an answer that stood for a colour.
type judged struct {
	target colour.SRGB
	d      colour.Difference
	leans  exercises.Axes // the parts along which it could have erred either way
}

// tally counts what was right, a scene each: answers to one scene hang together.
type tally struct {
	right, n []int
	scene    int // of the last count
}

func (t *tally) add(scene int, right bool) {
	if len(t.n) == 0 || scene != t.scene {
		t.right, t.n, t.scene = append(t.right, 0), append(t.n, 0), scene
	}
	last := len(t.n) - 1
	t.n[last]++
	if right {
		t.right[last]++
	}
}

// join adds the scenes of another sitting.
func (t *tally) join(o tally) {
	t.right, t.n = append(t.right, o.right...), append(t.n, o.n...)
}

// apart takes every answer for itself.
func (t tally) apart() tally {
	var o tally
	for i, n := range t.n {
		for k := range n {
			right := 0
			if k < t.right[i] {
				right = 1
			}
			o.right, o.n = append(o.right, right), append(o.n, 1)
		}
	}
	return o
}

// share of what was right in one exercise.
func (t tally) share(kind exercises.KindID) scoring.Estimate {
	together := scoring.RulesOf(kind).Together
	if together <= 1 {
		t = t.apart()
	}
	return trend.ShareClustered(t.right, t.n, together, level)
}

func (t tally) answers() int {
	n := 0
	for _, k := range t.n {
		n += k
	}
	return n
}

// named keeps values by name in the order in which the names first came.
type named[T any] struct {
	names  []string
	values []T
	units  []string
}

func (m *named[T]) at(name, unit string) *T {
	i := slices.Index(m.names, name)
	if i < 0 {
		var zero T
		m.names, m.values, m.units = append(m.names, name), append(m.values, zero), append(m.units, unit)
		i = len(m.names) - 1
	}
	return &m.values[i]
}

func kindTitle(id exercises.KindID) string {
	k, err := exercises.ByID(id)
	if err != nil {
		return string(id)
	}
	return k.Title()
}

func (s *sittingHistory) count() int { return len(s.seconds) }

// room makes room for what most exercises give for so many answers.
func (s *sittingHistory) room(n int) {
	numbers := make([]float64, 3*n)
	s.seconds, s.points, s.excess = numbers[:0:n], numbers[n:n:2*n], numbers[2*n:2*n:3*n]
	s.judged, s.groups = make([]judged, 0, n), make([]int, 0, n)
	s.whole = tally{right: make([]int, 0, n), n: make([]int, 0, n)}
	if s.keep {
		s.seen = make([]seen, 0, n)
	}
}

func (s *sittingHistory) take(a scoring.Attempt) {
	m := s.marking.Mark(a, s.sitting.Setup.Sheet)
	if s.first.IsZero() || a.At.Before(s.first) {
		s.first = a.At
	}
	if a.At.After(s.last) {
		s.last = a.At
	}
	s.seconds = append(s.seconds, a.Answer.Total.Seconds())
	if m.HasColour && !m.Sparse {
		s.judged = append(s.judged, judged{a.Trial.Target, m.Difference, m.Leans})
	}
	if m.HasGroup {
		s.groups = append(s.groups, m.GroupSteps)
	}
	if m.HasSheet {
		s.points = append(s.points, float64(m.Points))
		s.excess = append(s.excess, m.Excess)
	}
	// In a free part of a test nothing is right or wrong.
	if !exam.Free(s.sitting) {
		for c := range m.Judgements(a.Trial.Kind) {
			s.whole.add(a.Trial.Scene, c.Right)
		}
	}
	for _, c := range m.Checks {
		s.checks.at(c.Name, "").add(a.Trial.Scene, c.Right)
	}
	s.directions = append(s.directions, m.Directions...)
	for _, n := range m.Measures {
		list := s.numbers.at(n.Name, n.Unit)
		*list = append(*list, n.Value)
	}
	if exercises.TraitsOf(a.Trial.Kind).MeasuresThreshold {
		s.raw = append(s.raw, a)
	}
	if s.keep {
		s.seen = append(s.seen, see(a, m, s.sitting))
	}
}

// The columns that statistics are taken over: of one exercise, or of several
// pooled, with one list a sitting.

func over(kinds []*kindHistory, value func(judged) float64) [][]float64 {
	var lists [][]float64
	for _, k := range kinds {
		for _, s := range k.sittings {
			if list := column(s.judged, value); len(list) > 0 {
				lists = append(lists, list)
			}
		}
	}
	return lists
}

func gather(kinds []*kindHistory, pick func(*sittingHistory) []float64) [][]float64 {
	var lists [][]float64
	for _, k := range kinds {
		for _, s := range k.sittings {
			if list := pick(s); len(list) > 0 {
				lists = append(lists, list)
			}
		}
	}
	return lists
}

// column takes one value of each answer; NaN leaves the answer out.
func column(list []judged, value func(judged) float64) []float64 {
	xs := make([]float64, 0, len(list))
	for _, j := range list {
		if x := value(j); !math.IsNaN(x) {
			xs = append(xs, x)
		}
	}
	return xs
}

func size(j judged) float64   { return j.d.E }
func value(j judged) float64  { return signedPart(j.d.L, j.leans.L) }
func chroma(j judged) float64 { return signedPart(j.d.C, j.leans.C) }
func hue(j judged) float64    { return signedPart(j.d.H, j.leans.H) }

// signedPart leaves out errors that could run one way only: their mean shows a
// lean that is not the person's.
func signedPart(x float64, open bool) float64 {
	if !open {
		return math.NaN()
	}
	return x
}

func flat(lists [][]float64) []float64 { return slices.Concat(lists...) }
