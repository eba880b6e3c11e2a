package agreement

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

// Metric is the kind of scale that ratings are on; it decides how far apart two values
// are for [KrippendorffAlpha].
type Metric int

const (
	Nominal  Metric = iota // names: any difference counts alike
	Ordinal                // ranks: by how many answers lie between
	Interval               // numbers: squared difference
	Ratio                  // numbers with a true zero: squared difference over sum; none below 0
)

func (m Metric) String() string {
	switch m {
	case Nominal:
		return "nominal"
	case Ordinal:
		return "ordinal"
	case Interval:
		return "interval"
	case Ratio:
		return "ratio"
	}
	return fmt.Sprintf("Metric(%d)", int(m))
}

// KrippendorffAlpha is the agreement of any number of raters, any of whom may have left
// out any item, on any scale: α = 1 − observed / expected disagreement (Krippendorff
// 2011, Computing Krippendorff's Alpha-Reliability; Hayes & Krippendorff 2007, Commun
// Methods Meas 1:77–89). Items with fewer than 2 answers say nothing about agreement
// and are left out.
//
// On nominal and ordinal scales the interval is Wilson's ([shareInterval]) with the
// jackknife's variance over items, and neither resamples nor rng are used. On the others
// it comes from resampling items, studentised by α's error from the items' influence on it
// ([trend.BootstrapT]); resamples about 1,000, rng from outside. Where too many resamples
// agree completely for that, it is Student's t on the jackknife of artanh α.
//
// Measured coverage at 95 % (2,000 runs each, 2 to 10 raters, true α 0.27 to 0.97): with 20
// and 40 items nominal 93.5–97.2 %, ordinal 93.7–96.2 %, interval 94.0–95.7 %; with 10 items
// 92.5–98.5, 93.3–95.4 and 94.2–96.7 %, with 6 92.3–99.5 %. The plain percentile interval
// of resampled items covered 73–92 % with 10 items and 90–94 % with 40.
func KrippendorffAlpha(r Ratings, m Metric, level float64, resamples int, rng *rand.Rand) scoring.Estimate {
	c, refusal := newCoincidences(r, m, level)
	if refusal != nil {
		return *refusal
	}
	var e scoring.Estimate
	if m == Nominal || m == Ordinal {
		e = c.wilson(level)
	} else if e = trend.BootstrapT(len(c.items), resamples, rng, c.alphaAndError, level); e.Defined() && !e.HasInterval() {
		e = c.jackknife(e, level)
	}
	// The studentised interval of few items may miss even the estimate. NaN stays NaN.
	e.Lo, e.Hi = max(-1, min(e.Lo, e.Value)), min(1, max(e.Hi, e.Value))
	if c.dropped > 0 {
		e = e.Warn(fmt.Sprintf("%d of %d items left out: fewer than 2 answers", c.dropped, len(r)))
	}
	return e
}

// coincidences hold the ratings by item, values replaced by their index in values, and
// what each item disagrees in itself where that does not depend on the others.
type coincidences struct {
	metric  Metric
	values  []float64   // distinct, rising
	items   [][]int     // value indices of each item with 2 answers or more
	within  []float64   // Σ over pairs of δ²/(m−1), 0 for the ordinal metric
	delta   [][]float64 // δ² between values, nil for interval and ordinal
	dropped int
}

func newCoincidences(r Ratings, m Metric, level float64) (*coincidences, *scoring.Estimate) {
	refuse := func(n int, why string) (*coincidences, *scoring.Estimate) {
		e := scoring.Undefined(n, why)
		return nil, &e
	}
	if why := r.objection(level); why != "" {
		return refuse(len(r), why)
	}
	if m < Nominal || m > Ratio {
		return refuse(len(r), "unknown kind of scale: "+m.String())
	}
	c := &coincidences{metric: m}
	var pairable [][]float64
	for _, row := range r {
		row = slices.DeleteFunc(slices.Clone(row), math.IsNaN)
		if len(row) < 2 {
			c.dropped++
			continue
		}
		pairable = append(pairable, row)
		c.values = append(c.values, row...)
	}
	if len(pairable) == 0 {
		return refuse(0, "no item was answered by two raters")
	}
	slices.Sort(c.values)
	c.values = slices.Compact(c.values)
	if len(c.values) == 1 {
		return refuse(len(pairable), "everyone gave one and the same answer throughout: agreement beyond chance cannot be judged")
	}
	if m == Ratio && c.values[0] < 0 {
		return refuse(len(pairable), "a ratio scale has no values below 0")
	}
	for _, row := range pairable {
		item := make([]int, len(row))
		for i, v := range row {
			item[i], _ = slices.BinarySearch(c.values, v)
		}
		c.items = append(c.items, item)
	}
	c.prepare()
	return c, nil
}

func (c *coincidences) prepare() {
	c.within = make([]float64, len(c.items))
	if c.metric == Ordinal {
		return // δ depends on how often each value was given; see places
	}
	if c.metric != Interval {
		c.delta = square(len(c.values))
		for i, a := range c.values {
			for j, b := range c.values {
				c.delta[i][j] = c.distance(a, b)
			}
		}
	}
	for u, item := range c.items {
		for i, a := range item {
			for _, b := range item[:i] {
				c.within[u] += 2 * c.distance(c.values[a], c.values[b]) / float64(len(item)-1)
			}
		}
	}
}

func (c *coincidences) distance(a, b float64) float64 {
	switch {
	case a == b:
		return 0
	case c.metric == Nominal:
		return 1
	case c.metric == Ratio:
		return (a - b) / (a + b) * (a - b) / (a + b)
	}
	return (a - b) * (a - b)
}

// tally is what the picked items hold together.
type tally struct {
	n        float64   // answers
	counts   []float64 // of each value
	within   []float64 // Σδ²/(m−1) within each picked item
	observed float64   // Σ within
	pull     []float64 // Σ over all answers of δ² to each value
	expected float64   // Σ over all pairs of answers of δ²
}

func (c *coincidences) tally(pick []int) tally {
	t := tally{counts: make([]float64, len(c.values)), within: make([]float64, len(pick)), pull: make([]float64, len(c.values))}
	for _, u := range pick {
		for _, v := range c.items[u] {
			t.counts[v]++
		}
		t.n += float64(len(c.items[u]))
	}
	place := c.places(t.counts)
	for p, u := range pick {
		if place == nil || c.metric == Interval {
			t.within[p] = c.within[u]
		} else {
			item := c.items[u]
			for i, a := range item {
				for _, b := range item[:i] {
					t.within[p] += 2 * sq(place[a]-place[b]) / float64(len(item)-1)
				}
			}
		}
		t.observed += t.within[p]
	}
	if place != nil { // squared distances: sums in closed form
		var sum, squares float64
		for k, count := range t.counts {
			sum += count * place[k]
			squares += count * place[k] * place[k]
		}
		for k := range t.pull {
			t.pull[k] = squares - 2*place[k]*sum + t.n*place[k]*place[k]
		}
	} else {
		for k := range t.pull {
			for l, count := range t.counts {
				t.pull[k] += count * c.delta[k][l]
			}
		}
	}
	for k, count := range t.counts {
		t.expected += count * t.pull[k]
	}
	return t
}

// places puts the values on a line where δ² is a squared distance: the values
// themselves on an interval scale, mid-ranks on an ordinal one; nil for the others.
func (c *coincidences) places(counts []float64) []float64 {
	place := make([]float64, len(counts))
	switch c.metric {
	case Interval:
		for k, v := range c.values {
			place[k] = v - c.values[len(c.values)/2]
		}
	case Ordinal: // half of Σ_{g=c..k} n_g − (n_c+n_k)/2 lies to either side
		below := 0.0
		for k, count := range counts {
			place[k] = below + count/2
			below += count
		}
	default:
		return nil
	}
	return place
}

// alpha is α of the picked items, NaN when they hold one value only.
func (t tally) alpha() float64 {
	if !(t.expected > 1e-12*t.observed) || t.expected == 0 {
		return math.NaN()
	}
	return 1 - (t.n-1)*t.observed/t.expected
}

// alphaAndError is α and its standard error by the delta method: how much α moves when
// an item weighs a little more. For the ordinal metric the mid-ranks are held still.
func (c *coincidences) alphaAndError(pick []int) (alpha, standardError float64) {
	t := c.tally(pick)
	alpha = t.alpha()
	var squares float64
	for p, u := range pick {
		var pull float64
		for _, v := range c.items[u] {
			pull += 2 * t.pull[v]
		}
		m := float64(len(c.items[u]))
		influence := (m*t.observed + (t.n-1)*t.within[p] - (1-alpha)*pull) / t.expected
		squares += influence * influence
	}
	return alpha, math.Sqrt(squares)
}

// without is a function of α once without each item.
func (c *coincidences) without(of func(alpha float64) float64) []float64 {
	pick := make([]int, 0, len(c.items))
	values := make([]float64, len(c.items))
	for out := range c.items {
		pick = pick[:0]
		for u := range c.items {
			if u != out {
				pick = append(pick, u)
			}
		}
		values[out] = of(c.tally(pick).alpha())
	}
	return values
}

// wilson is α with its interval as a share.
func (c *coincidences) wilson(level float64) scoring.Estimate {
	n := len(c.items)
	all := make([]int, n)
	for u := range all {
		all[u] = u
	}
	t := c.tally(all)
	alpha := t.alpha()
	if n < 2 || math.IsNaN(alpha) {
		return scoring.Point(alpha, n, "needs at least 2 items for an interval")
	}
	least := -1 / (t.n/float64(n) - 1)
	if c.metric == Nominal { // where no two answers to an item are the same
		least = max(least, 1-t.n*(t.n-1)/t.expected)
	}
	lo, hi := shareInterval(alpha, least, jackknifeVariance(c.without(func(a float64) float64 { return a })), n, level)
	return scoring.Interval(alpha, lo, hi, level, n)
}

// jackknife gives point an interval by Student's t on the jackknife of artanh α.
func (c *coincidences) jackknife(point scoring.Estimate, level float64) scoring.Estimate {
	n := len(c.items)
	if n < 3 || point.Value > 1-1e-9 {
		return scoring.Point(point.Value, n, point.Warnings...)
	}
	values := c.without(func(alpha float64) float64 { return math.Atanh(min(alpha, 1-1e-6)) })
	if slices.ContainsFunc(values, math.IsNaN) {
		return point
	}
	mean := total(values) / float64(n)
	var squares float64
	for _, v := range values {
		squares += sq(v - mean)
	}
	centre := float64(n)*math.Atanh(point.Value) - float64(n-1)*mean
	half := trend.StudentQuantile(level, float64(n-1)) * math.Sqrt(squares*float64(n-1)/float64(n))
	if half == 0 {
		return point
	}
	lo, hi := math.Tanh(centre-half), math.Tanh(centre+half)
	return scoring.Interval(point.Value, min(lo, point.Value), max(hi, point.Value), level, n,
		"agreement is nearly complete: the interval is rough")
}

func square(n int) [][]float64 {
	rows := make([][]float64, n)
	for i := range rows {
		rows[i] = make([]float64, n)
	}
	return rows
}
