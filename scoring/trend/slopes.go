package trend

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// slopes gives order statistics of the slopes of all pairs of points without
// listing them: 100,000 points have 5·10⁹ slopes.
//
//	y − t·x                        Turn the plane: at t = −∞ the points, ordered by
//	  │  \   /                     y − t·x, stand by rising x; at t = +∞ by falling
//	  │   \ /                      x. A pair changes places exactly when t passes its
//	  │    ×  ← t = slope          slope. So the number of slopes ≤ t is the number
//	  │   / \     of that pair     of inversions of the order at t, counted by merge
//	  │  /   \                     sort, and the inversions between the orders at
//	  └─────────────── t           t1 and t2 are the pairs with slopes in (t1, t2].
//
// A random sample of those pairs brackets the wanted ranks tighter, by a factor of
// about √n a step, until few enough are left to list (Matoušek 1991, Inf Process
// Lett 39:183–187). The answer does not depend on the sample, only the time does,
// so its seed is fixed here.
type slopes struct {
	x, y  []float64 // by rising x, then y; centred, so that times in ms keep their digits
	total int64     // pairs with different x
	scale float64   // range of y over range of x
	rng   *rand.Rand
}

const (
	listAll  = 1 << 18 // this many slopes are simply sorted
	fewSteps = 300     // a stop that bisection never needs
)

func newSlopes(x, y []float64) *slopes {
	n := len(x)
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		return cmp.Or(cmp.Compare(x[i], x[j]), cmp.Compare(y[i], y[j]))
	})
	s := &slopes{x: make([]float64, n), y: make([]float64, n), rng: rand.New(rand.NewPCG(1, 2))}
	x0, y0 := x[order[n/2]], y[order[n/2]]
	for i, o := range order {
		s.x[i], s.y[i] = x[o]-x0, y[o]-y0
	}
	s.scale = (slices.Max(s.y) - slices.Min(s.y)) / (s.x[n-1] - s.x[0])
	s.total = int64(n)*int64(n-1)/2 - tieSums(n, func(i, j int) bool { return s.x[i] == s.x[j] }).pairs
	return s
}

func (s *slopes) of(i, j int32) float64 { return (s.y[j] - s.y[i]) / (s.x[j] - s.x[i]) }

// atRanks returns the slopes with the given ranks, 1 the least.
func (s *slopes) atRanks(ranks []int64) []float64 {
	out := make([]float64, len(ranks))
	todo := make([]int, len(ranks))
	for i := range todo {
		todo[i] = i
	}
	slices.SortFunc(todo, func(a, b int) int { return cmp.Compare(ranks[a], ranks[b]) })
	first, last := s.cutBelowAll(), s.cutAboveAll()
	s.solve(first, last, ranks, todo, out, fewSteps)
	return out
}

// cut is the order of the points at t and the number of slopes ≤ t.
type cut struct {
	t     float64
	order []int32
	count int64
}

func (s *slopes) cutBelowAll() cut {
	c := cut{t: math.Inf(-1), order: make([]int32, len(s.x))}
	for i := range c.order {
		c.order[i] = int32(i)
	}
	return c
}

func (s *slopes) cutAboveAll() cut {
	c := s.cutBelowAll()
	c.t, c.count = math.Inf(1), s.total
	slices.SortFunc(c.order, func(i, j int32) int {
		return cmp.Or(cmp.Compare(s.x[j], s.x[i]), cmp.Compare(i, j))
	})
	return c
}

func (s *slopes) cutAt(t float64) cut {
	type point struct {
		key float64
		i   int32
	}
	points := make([]point, len(s.x))
	for i := range points {
		points[i] = point{s.y[i] - t*s.x[i], int32(i)}
	}
	slices.SortFunc(points, func(a, b point) int {
		switch { // plain comparisons: here the time goes
		case a.key < b.key:
			return -1
		case a.key > b.key:
			return 1
		}
		return cmp.Or(cmp.Compare(s.x[b.i], s.x[a.i]), cmp.Compare(a.i, b.i))
	})
	c := cut{t: t, order: make([]int32, len(points))}
	for k, p := range points {
		c.order[k] = p.i
	}
	ranks := slices.Clone(c.order)
	c.count = exchanges(ranks, nil, nil)
	return c
}

// solve answers the wanted ranks (indices into ranks, by rising rank), all of which
// lie between the cuts lo and hi.
func (s *slopes) solve(lo, hi cut, ranks []int64, wanted []int, out []float64, steps int) {
	if len(wanted) == 0 {
		return
	}
	left := hi.count - lo.count
	if left <= listAll {
		found := s.between(lo, hi, nil)
		slices.Sort(found)
		for _, w := range wanted {
			k := min(max(ranks[w]-lo.count-1, 0), int64(len(found)-1))
			out[w] = found[k]
		}
		return
	}

	sample := s.between(lo, hi, s.randomRanks(left))
	slices.Sort(sample)
	// Ranks close together share a bracket, others get their own.
	for len(wanted) > 0 {
		a, b := s.bracket(sample, ranks[wanted[0]]-lo.count, left)
		group := 1
		for group < len(wanted) {
			a2, b2 := s.bracket(sample, ranks[wanted[group]]-lo.count, left)
			if a2 > b {
				break
			}
			b = max(b, b2)
			group++
		}
		s.narrow(lo, hi, sample[a], sample[b], ranks, wanted[:group], out, steps)
		wanted = wanted[group:]
	}
}

// bracket is where in a sorted sample of m out of left slopes the given rank must
// lie, but for bad luck of a few in a thousand.
func (s *slopes) bracket(sample []float64, rank, left int64) (a, b int) {
	m := float64(len(sample))
	middle := float64(rank) / float64(left) * m
	margin := 1.5*math.Sqrt(m) + 1
	return int(max(0, middle-margin)), int(min(m-1, middle+margin))
}

// narrow solves the wanted ranks between the slopes a ≤ b, unless they lie outside.
func (s *slopes) narrow(lo, hi cut, a, b float64, ranks []int64, wanted []int, out []float64, steps int) {
	// Slopes equal but for rounding stay on one side of a cut.
	whisker := 1e-11 * max(math.Abs(a), math.Abs(b), s.scale)
	low, high := lo, hi
	if a-whisker > lo.t {
		low = s.cutAt(a - whisker)
	}
	if b+whisker < hi.t {
		high = s.cutAt(b + whisker)
	}
	var below, inside, above []int
	for _, w := range wanted {
		switch {
		case ranks[w] <= low.count:
			below = append(below, w)
		case ranks[w] > high.count:
			above = append(above, w)
		default:
			inside = append(inside, w)
		}
	}
	s.next(lo, low, ranks, below, out, steps)
	s.next(high, hi, ranks, above, out, steps)
	if b-a <= 4*whisker {
		for _, w := range inside {
			out[w] = a + (b-a)/2
		}
		return
	}
	if high.count-low.count <= (hi.count-lo.count)*3/4 || len(inside) == 0 {
		s.next(low, high, ranks, inside, out, steps)
		return
	}
	// The sample brings no progress: values crowd at a few places. Halve instead.
	mid := s.cutAt(a + (b-a)/2)
	var lower, upper []int
	for _, w := range inside {
		if ranks[w] <= mid.count {
			lower = append(lower, w)
		} else {
			upper = append(upper, w)
		}
	}
	s.next(low, mid, ranks, lower, out, steps)
	s.next(mid, high, ranks, upper, out, steps)
}

func (s *slopes) next(lo, hi cut, ranks []int64, wanted []int, out []float64, steps int) {
	if steps == 0 { // narrower than floating point: any value between serves
		for _, w := range wanted {
			out[w] = lo.t + (hi.t-lo.t)/2
		}
		return
	}
	s.solve(lo, hi, ranks, wanted, out, steps-1)
}

// randomRanks are ranks among left pairs, sorted, about as many as there are points.
func (s *slopes) randomRanks(left int64) []int64 {
	r := make([]int64, min(max(len(s.x), 1000), 100_000))
	for i := range r {
		r[i] = s.rng.Int64N(left)
	}
	slices.Sort(r)
	return r
}

// between lists the slopes of the pairs that change places between two cuts: all, or
// those that the merge sort meets at the given sorted places.
func (s *slopes) between(lo, hi cut, places []int64) []float64 {
	rank := make([]int32, len(lo.order))
	for r, i := range lo.order {
		rank[i] = int32(r)
	}
	sequence := make([]int32, len(hi.order))
	for k, i := range hi.order {
		sequence[k] = rank[i]
	}
	var out []float64
	exchanges(sequence, places, func(a, b int32) {
		i, j := lo.order[a], lo.order[b]
		out = append(out, s.of(min(i, j), max(i, j)))
	})
	return out
}

// exchanges sorts v, counts its inversions, and hands those at the given places (all
// when places is nil) to visit.
func exchanges(v []int32, places []int64, visit func(a, b int32)) int64 {
	m := merger{scratch: make([]int32, len(v)), places: places, visit: visit, all: places == nil && visit != nil}
	m.sort(v, m.scratch)
	return m.count
}

type merger struct {
	scratch []int32
	count   int64
	places  []int64
	all     bool
	visit   func(a, b int32)
}

func (m *merger) sort(v, scratch []int32) {
	n := len(v)
	if n < 2 {
		return
	}
	mid := n / 2
	m.sort(v[:mid], scratch[:mid])
	m.sort(v[mid:], scratch[mid:])
	copy(scratch, v)
	left, right := scratch[:mid], scratch[mid:n]
	for i, j, k := 0, 0, 0; k < n; k++ {
		if j == len(right) || i < len(left) && left[i] < right[j] {
			v[k] = left[i]
			i++
			continue
		}
		v[k] = right[j]
		passed := left[i:]
		if m.all {
			for _, a := range passed {
				m.visit(a, right[j])
			}
		}
		for len(m.places) > 0 && m.places[0] < m.count+int64(len(passed)) {
			m.visit(passed[m.places[0]-m.count], right[j])
			m.places = m.places[1:]
		}
		m.count += int64(len(passed))
		j++
	}
}
