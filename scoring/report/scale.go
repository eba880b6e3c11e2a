package report

import (
	"math"
	"strconv"
	"strings"
)

// scale maps numbers to places along an axis, with ticks at round numbers.
type scale struct {
	lo, hi   float64 // ends of the axis, in data
	from, to float64 // the same in the picture
	ticks    []float64
	decimals int
}

// newScale spans at least lo..hi with about n ticks at 1, 2 or 5 times a power
// of ten (after P. Heckbert, "Nice numbers for graph labels", Graphics Gems,
// 1990). Ends may fall between ticks when loose is false.
func newScale(lo, hi float64, n int, loose bool) scale {
	if !(lo < hi) { // one value, or none
		if math.IsNaN(lo) || math.IsInf(lo, 0) {
			lo = 0
		}
		pad := math.Max(math.Abs(lo)/2, 0.5)
		lo, hi = lo-pad, lo+pad
	}
	step := niceStep((hi - lo) / float64(max(n, 1)))
	s := scale{lo: lo, hi: hi, decimals: decimalsOf(step)}
	first, last := math.Ceil(lo/step-1e-9), math.Floor(hi/step+1e-9)
	if loose {
		around := func() {
			first, last = math.Floor(lo/step+1e-9), math.Ceil(hi/step-1e-9)
			s.lo, s.hi = first*step, last*step
		}
		// Beyond 10 the next five is 15: a third of the picture would stay empty.
		if around(); s.hi-s.lo > mostLoose*(hi-lo) {
			step = niceStep(step / 2.5)
			s.decimals = decimalsOf(step)
			around()
		}
	}
	for i := first; i <= last; i++ {
		s.ticks = append(s.ticks, i*step)
	}
	return s
}

// mostLoose is how much longer than its numbers an axis is at most, before its ticks move
// closer together; house rule.
const mostLoose = 1.25

func decimalsOf(step float64) int { return max(0, -int(math.Floor(math.Log10(step)+1e-9))) }

func niceStep(rough float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(rough)))
	switch f := rough / power; {
	case f <= 1:
		return power
	case f <= 2:
		return 2 * power
	case f <= 5:
		return 5 * power
	}
	return 10 * power
}

// at returns the place of v, held within the axis.
func (s scale) at(v float64) float64 {
	t := (v - s.lo) / (s.hi - s.lo)
	return s.from + math.Max(0, math.Min(1, t))*(s.to-s.from)
}

func (s scale) label(v float64) string { return forPeople(v, s.decimals, false) }

// extent is the span of finite numbers.
type extent struct{ lo, hi float64 }

func newExtent() extent { return extent{math.Inf(1), math.Inf(-1)} }

func (e *extent) add(vs ...float64) {
	for _, v := range vs {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			e.lo, e.hi = math.Min(e.lo, v), math.Max(e.hi, v)
		}
	}
}

// coordinate writes a place in a picture with a tenth of a unit.
func coordinate(v float64) string {
	s := strconv.FormatFloat(v, 'f', 1, 64)
	s = strings.TrimSuffix(s, ".0")
	if s == "-0" {
		return "0"
	}
	return s
}
