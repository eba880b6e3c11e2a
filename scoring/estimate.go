// Package scoring says how well it went: an attempt is an answered trial, a mark
// is what it was worth, an estimate is a number with its uncertainty.
package scoring

import "math"

// Estimate is a statistic together with its uncertainty. Every statistic of this
// project is one, so that no table can print a number without what is known of
// its uncertainty.
type Estimate struct {
	Value    float64  // the point estimate; NaN when Undefined
	Lo, Hi   float64  // the interval; NaN when there is none
	Level    float64  // coverage of the interval, 0.95 as a rule; 0 when none
	N        int      // how many observations went in
	Warnings []string // what a reader must know, printed beside the number
}

// Undefined is the Estimate of what cannot be computed; the reason is said in
// words and stands where the number would.
func Undefined(n int, reason string) Estimate {
	nan := math.NaN()
	return Estimate{Value: nan, Lo: nan, Hi: nan, N: n, Warnings: []string{reason}}
}

// Point is an Estimate without an interval.
func Point(value float64, n int, warnings ...string) Estimate {
	return Estimate{Value: value, Lo: math.NaN(), Hi: math.NaN(), N: n, Warnings: warnings}
}

// Interval is an Estimate with an interval at the given level.
func Interval(value, lo, hi, level float64, n int, warnings ...string) Estimate {
	return Estimate{Value: value, Lo: lo, Hi: hi, Level: level, N: n, Warnings: warnings}
}

// Defined reports whether there is a number at all.
func (e Estimate) Defined() bool { return !math.IsNaN(e.Value) && !math.IsInf(e.Value, 0) }

// HasInterval reports whether Lo and Hi mean anything.
func (e Estimate) HasInterval() bool {
	return e.Level > 0 && !math.IsNaN(e.Lo) && !math.IsNaN(e.Hi)
}

// Covers reports whether the interval contains x, ends included.
func (e Estimate) Covers(x float64) bool { return e.HasInterval() && e.Lo <= x && x <= e.Hi }

// FewItems is how many items an interval needs behind it at least; with fewer it is
// called rough. RoughInterval says so.
const (
	FewItems      = 20
	RoughInterval = "fewer than 20 behind it: the interval is rough"
)

// Rough reports whether there is an interval, and too little behind it.
func (e Estimate) Rough() bool { return e.HasInterval() && e.N > 0 && e.N < FewItems }

// RoughWord is what stands beside an interval in a sentence: ", rough", or nothing.
func (e Estimate) RoughWord() string {
	if e.Rough() {
		return ", rough"
	}
	return ""
}

// Warn returns the estimate with a further warning.
func (e Estimate) Warn(warning string) Estimate {
	e.Warnings = append(append([]string(nil), e.Warnings...), warning)
	return e
}

// Open is where an interval has no end: +1 upwards, −1 downwards, 0 nowhere. The number
// is then the end that it has, a bound: "at least 2.6".
func (e Estimate) Open() int {
	switch {
	case math.IsInf(e.Hi, 1):
		return 1
	case math.IsInf(e.Lo, -1):
		return -1
	}
	return 0
}

// AtLeast is an Estimate that bounds a number from below.
func AtLeast(bound, level float64, n int, warnings ...string) Estimate {
	return Interval(bound, bound, math.Inf(1), level, n, warnings...)
}

// AtMost is one that bounds it from above.
func AtMost(bound, level float64, n int, warnings ...string) Estimate {
	return Interval(bound, math.Inf(-1), bound, level, n, warnings...)
}

// Drawn is the estimate as a picture shows it: without an end that lies at no place.
func (e Estimate) Drawn() Estimate {
	if e.Open() != 0 {
		e.Lo, e.Hi = math.NaN(), math.NaN()
	}
	return e
}
