package trend

import (
	"math"

	"shadedrill/scoring"
)

// bounded gives the estimate where the likelihood bounds the bias along an axis on both
// sides, and the bound that there is where it has one only.
func (f *seenFit) bounded(k int, e scoring.Estimate, level float64) scoring.Estimate {
	n := len(f.of)
	if n < 2 {
		return e
	}
	t := StudentQuantile(level, float64(max(1, n-1)))
	least := f.top - t*t/2
	open := func(side float64) bool {
		if end := max(side*e.Value, side*e.Lo, side*e.Hi); end < looksOpen { // NaN is not
			return false
		}
		at := f.at
		return f.profile(k, side*mostChoiceBias, &at) > least
	}
	up, down := open(1), open(-1)
	const ends = "the library ends: beyond this, no answer could tell"
	switch {
	case up && down:
		return scoring.Undefined(n, "the library offers too little to tell")
	case up:
		return scoring.AtLeast(f.end(k, -1, least), level, n, ends)
	case down:
		return scoring.AtMost(f.end(k, 1, least), level, n, ends)
	}
	return e
}

// withinOne gives an interval from one sitting the ends of the likelihood where those lie
// farther out. What few answers say one by one does not tell how far the estimate scatters
// where tabs lie far apart: intervals from that alone held in 0.88 to 0.95 of runs of 20
// answers (README.md of scoring/reports/history).
func (f *seenFit) withinOne(k int, e scoring.Estimate, level float64) scoring.Estimate {
	if e.HasInterval() {
		z := normalQuantile(level)
		e.Lo, e.Hi = min(e.Lo, f.farEnd(k, -1, z)), max(e.Hi, f.farEnd(k, 1, z))
	}
	return e
}

// A large bias nears the ends of a library, where the likelihood falls slowly on the far
// side: there the interval reaches at least as far out as the likelihood's own. And where
// few are on offer in a group, nothing tells a bias from a way of one's own to measure:
// whoever takes the nearest of all tabs at once, by a measure of their own, comes out up to
// a seventh smaller; along value in any library, since lightness then counts beside chroma
// and hue. So there the far end moves out by a share of the bias.
//
// For people who answer as taught such a far end fails in next to no runs, and the
// likelihood's own in half of (1 − level)/2. What it leaves of 1 − level is the near
// end's. Nothing of it jumps: the far end moves out while the bias grows from 1.25 to 1.5,
// the near end in from 2 to 2.5, where everybody whose estimate could be so large has the
// far end that makes up for it. House rules; measured: README.md of scoring/reports/history.
const (
	farFrom, farWhole   = 1.25, 1.5 // ΔE00
	nearFrom, nearWhole = 2.0, 2.5
	fewChoices          = 12   // on offer in a group, on average
	ownMeasure          = 0.15 // of the bias
)

// few says whether few were on offer in a group, on average.
func (f *seenFit) few() bool {
	offered := 0.0
	for i := range f.of {
		offered += float64(f.of[i].Choices) / float64(len(f.of))
	}
	return offered < fewChoices
}

// outward moves the far end of an interval out, by a share of the bias too where nothing
// tells it from a way of one's own to measure, and the near end in where it is that of the
// t interval of several sittings.
func (f *seenFit) outward(k int, e scoring.Estimate, sittings int, level float64, ownWay bool) scoring.Estimate {
	size := math.Abs(e.Value)
	out, in := share(size, farFrom, farWhole), share(size, nearFrom, nearWhole)
	if !e.HasInterval() || e.Open() != 0 || out == 0 {
		return e
	}
	fails, further := (1-level)/4, 0.0 // the share that the far end fails, and its share of the bias
	if ownWay {
		fails, further = 0, ownMeasure*size
	}
	side := math.Copysign(1, e.Value)
	far := f.farEnd(k, side, StudentQuantile(level, float64(max(1, len(f.of)-1))))
	tail := (1-level)/2*(1-in) + (1-level-fails)*in
	narrower := 1.0
	if free := float64(sittings - 1); free > 0 && in > 0 {
		narrower = StudentQuantile(1-2*tail, free) / StudentQuantile(level, free)
	}
	if side > 0 {
		e.Lo = e.Value - narrower*(e.Value-e.Lo)
		e.Hi += out * (max(0, far-e.Hi) + further)
	} else {
		e.Hi = e.Value + narrower*(e.Hi-e.Value)
		e.Lo -= out * (max(0, e.Lo-far) + further)
	}
	return e
}

// share is how far of the way between two sizes a size is, 0 to 1.
func share(size, from, whole float64) float64 {
	return max(0, min(1, (size-from)/(whole-from)))
}

// farEnd is where the profile has fallen by t²/2, on a side of the best bias: by two
// steps of the secant method on the root of the fall, which is nearly a straight line.
// All else is looked for from where the covariance has it go along with the bias.
func (f *seenFit) farEnd(k int, side, t float64) float64 {
	best, variance, at := f.at[k], max(0, f.covariance[k][k]), f.at
	fall := func(bias float64) float64 {
		along := bias - at[k]
		for a := range 2 * f.axes {
			if a != k && variance > 0 {
				least, most := f.ends(a)
				at[a] = max(least, min(most, at[a]+along*f.covariance[a][k]/variance))
			}
		}
		return math.Sqrt(max(0, 2*(f.top-f.profile(k, bias, &at))))
	}
	bias, last, lastFallen := best+side*min(3, t*math.Sqrt(variance)), best, 0.0
	for range 2 {
		fallen := fall(bias)
		if fallen-lastFallen < 1e-6 {
			break
		}
		next := bias + (t-fallen)*(bias-last)/(fallen-lastFallen)
		next = max(-mostChoiceBias, min(mostChoiceBias, best+side*max(0, min(4, side*(next-best)))))
		bias, last, lastFallen = next, bias, fallen
	}
	return bias
}

// profile is the likelihood of a bias, all else as suits it best: at is where to look for
// that from, and where it is.
func (f *seenFit) profile(k int, bias float64, at *parameters) float64 {
	at[k] = bias
	return f.climb(at, k).value
}

// end is where the profile falls to least, on a side of the best bias.
func (f *seenFit) end(k int, side, least float64) float64 {
	in, out := f.at[k], side*mostChoiceBias
	for math.Abs(in-out) > 0.01 {
		at := f.at
		if middle := (in + out) / 2; f.profile(k, middle, &at) > least {
			in = middle
		} else {
			out = middle
		}
	}
	return (in + out) / 2
}
