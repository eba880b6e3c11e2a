package review

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
	"shadedrill/scoring/record"
)

// Record is what a report reads of the book.
type Record interface {
	Sittings(context.Context, record.Filter) ([]scoring.Sitting, error)
	Sheet(ctx context.Context, fingerprint string) (*tabs.Sheet, error)
	Attempts(context.Context, record.Filter) iter.Seq2[scoring.Attempt, error]
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
	judged  []judged
	groups  []int // steps from the best value group
	points  []float64
	excess  []float64
	seconds []float64
	checks  named[check]
	numbers named[[]float64]
	raw     []scoring.Attempt // kept for thresholds, which are fitted from whole answers
}

// judged is an answer that stood for a colour.
type judged struct {
	target colour.Lab
	d      colour.Difference
	leans  exercises.Axes // the parts along which it could have erred either way
}

type check struct{ right, n int }

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

// read marks every attempt that the filter lets through.
func read(ctx context.Context, book Record, f record.Filter) (*history, error) {
	sittings, err := book.Sittings(ctx, record.Filter{Learner: f.Learner, Sitting: f.Sitting, Kind: f.Kind, Within: f.Within})
	if err != nil {
		return nil, err
	}
	h := &history{}
	bySitting := map[scoring.SittingID]*sittingHistory{}
	sheets := map[string]*tabs.Sheet{}
	for _, s := range sittings {
		if id := s.Setup.SheetID; id != "" {
			if _, known := sheets[id]; !known {
				if sheets[id], err = book.Sheet(ctx, id); err != nil {
					return nil, err
				}
			}
			s.Setup.Sheet = sheets[id]
		}
		bySitting[s.ID] = &sittingHistory{sitting: s}
	}
	byKind := map[exercises.KindID]*kindHistory{}
	var last *sittingHistory
	var lastID scoring.SittingID
	for a, err := range book.Attempts(ctx, f) {
		if err != nil {
			return nil, err
		}
		s := last
		if last == nil || a.Sitting != lastID {
			s = bySitting[a.Sitting]
			last, lastID = s, a.Sitting
		}
		if s == nil { // a sitting of another kind, or one that started while we read
			continue
		}
		k := byKind[a.Trial.Kind]
		if k == nil {
			k = &kindHistory{id: a.Trial.Kind, title: kindTitle(a.Trial.Kind)}
			byKind[a.Trial.Kind] = k
		}
		if s.count() == 0 {
			h.sittings++
			h.adaptive = h.adaptive || s.sitting.Setup.Adaptive
			k.sittings = append(k.sittings, s)
		}
		k.attempts++
		if h.attempts == 0 || a.At.Before(h.first) {
			h.first = a.At
		}
		if a.At.After(h.last) {
			h.last = a.At
		}
		h.attempts++
		s.take(a)
	}
	for _, k := range byKind {
		slices.SortStableFunc(k.sittings, func(a, b *sittingHistory) int { return a.sitting.Started.Compare(b.sitting.Started) })
		h.kinds = append(h.kinds, k)
	}
	order := exercises.Kinds()
	place := func(id exercises.KindID) int {
		i := slices.IndexFunc(order, func(k exercises.Kind) bool { return k.ID() == id })
		if i < 0 {
			return len(order)
		}
		return i
	}
	slices.SortFunc(h.kinds, func(a, b *kindHistory) int {
		if x, y := place(a.id), place(b.id); x != y {
			return x - y
		}
		if a.id < b.id {
			return -1
		}
		return 1
	})
	return h, nil
}

func kindTitle(id exercises.KindID) string {
	k, err := exercises.ByID(id)
	if err != nil {
		return string(id)
	}
	return k.Title()
}

func (s *sittingHistory) count() int { return len(s.seconds) }

func (s *sittingHistory) take(a scoring.Attempt) {
	m := scoring.MarkOf(a, s.sitting.Setup.Sheet)
	s.seconds = append(s.seconds, a.Answer.Total.Seconds())
	if m.HasColour {
		s.judged = append(s.judged, judged{a.Trial.Target.Lab(), m.Difference, m.Leans})
	}
	if m.HasGroup {
		s.groups = append(s.groups, m.GroupSteps)
	}
	if m.HasSheet {
		s.points = append(s.points, float64(m.Points))
		s.excess = append(s.excess, m.Excess)
	}
	for _, c := range m.Checks {
		tally := s.checks.at(c.Name, "")
		tally.n++
		if c.Right {
			tally.right++
		}
	}
	for _, n := range m.Measures {
		list := s.numbers.at(n.Name, n.Unit)
		*list = append(*list, n.Value)
	}
	if a.Trial.Kind == exercises.Threshold {
		s.raw = append(s.raw, a)
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
